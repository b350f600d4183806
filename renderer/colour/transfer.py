"""Transfer curves: linear light to code values, camera signal and lightness, and back. Any shape of array."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from renderer.colour.space import Array


def lightness(y: ArrayLike) -> Array:
    """CIE L* of a relative luminance (white is 1). CIE 15."""
    y = np.asarray(y, dtype=np.float64)
    knee = (6.0 / 29.0) ** 3
    return np.where(y > knee, 116.0 * np.cbrt(np.maximum(y, 0.0)) - 16.0, y * (29.0 / 3.0) ** 3)


def srgb_encode(linear: ArrayLike) -> Array:
    """sRGB code value, 1 is white, of linear light. IEC 61966-2-1. Below 0 it stays on the straight part."""
    x = np.asarray(linear, dtype=np.float64)
    return np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.maximum(x, 0.0031308) ** (1.0 / 2.4) - 0.055)


def srgb_decode(code: ArrayLike) -> Array:
    """Linear light of an sRGB code value, 1 is white. IEC 61966-2-1."""
    v = np.asarray(code, dtype=np.float64)
    return np.where(v <= 0.04045, v / 12.92, ((np.maximum(v, 0.04045) + 0.055) / 1.055) ** 2.4)


def bt709_signal(linear: ArrayLike) -> Array:
    """Camera signal, 1 is 100 %, of linear light (18 % grey is 0.18). ITU-R BT.709-6, item 1.2, no knee."""
    x = np.asarray(linear, dtype=np.float64)
    return np.where(x < 0.018, 4.5 * x, 1.099 * np.maximum(x, 0.018) ** 0.45 - 0.099)
