"""Linear Rec. 709 RGB and CIE XYZ: luminance, chromaticity, adaptation from one white to another.

Linear RGB has the Rec. 709 primaries and D65 white throughout. Arrays are (..., 3), last axis R, G, B.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

Y_WEIGHTS: Array = np.array([0.2126, 0.7152, 0.0722])
"""Luminance of linear Rec. 709 RGB. ITU-R BT.709-6, as rounded in IEC 61966-2-1."""
RGB_TO_XYZ: Array = np.array([[0.4124, 0.3576, 0.1805], Y_WEIGHTS, [0.0193, 0.1192, 0.9505]])
"""Linear Rec. 709 RGB to CIE 1931 XYZ. IEC 61966-2-1, four decimals as printed there."""
XYZ_TO_RGB: Array = np.linalg.inv(RGB_TO_XYZ).astype(np.float64)
D65_XYZ: Array = RGB_TO_XYZ @ np.ones(3)
_BRADFORD: Array = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])


def luminance(rgb: ArrayLike) -> Array:
    """Y of linear RGB, (..., 3) -> (...). In cd/m2 where the radiance is scaled to cd/m2."""
    result: Array = np.asarray(rgb) @ Y_WEIGHTS
    return result


def xyz_of_xy(xy: ArrayLike) -> Array:
    """XYZ with Y = 1 of a chromaticity."""
    x, y = np.asarray(xy, dtype=np.float64)
    return np.array([x / y, 1.0, (1.0 - x - y) / y])


def xy_of_rgb(rgb: ArrayLike) -> Array:
    """CIE 1931 x, y of linear Rec. 709 RGB, (3,) -> (2,). Black has none: not numbers."""
    xyz = RGB_TO_XYZ @ np.asarray(rgb, dtype=np.float64)
    total = xyz.sum()
    result: Array = xyz[:2] / total if total else np.full(2, np.nan)
    return result


def rgb_of_xy(xy: ArrayLike) -> Array:
    """Linear Rec. 709 RGB with Y = 1 of a chromaticity; negative where it lies outside those primaries."""
    result: Array = XYZ_TO_RGB @ xyz_of_xy(xy)
    return result


def bradford(source: ArrayLike, target: ArrayLike) -> Array:
    """(3, 3) in XYZ that takes the white `source` to the white `target`: linear Bradford (von Kries type).

    Its matrix: K. Lam 1985, as in the ICC specification, annex E (from memory).
    """
    scale = (_BRADFORD @ np.asarray(target)) / (_BRADFORD @ np.asarray(source))
    result: Array = np.linalg.inv(_BRADFORD) @ np.diag(scale) @ _BRADFORD
    return result
