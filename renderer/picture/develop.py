"""Radiance to a picture: exposure, white balance, a highlight shoulder, sRGB."""

from __future__ import annotations

from functools import cache
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from renderer.colour import Y_WEIGHTS, srgb_encode, white_balance_matrix
from renderer.errors import InputError
from renderer.film.place import Place
from renderer.kernels import develop as kernel
from renderer.units import MID_GREY, stops_to_ratio

Array = NDArray[np.float32]
Shoulder = Literal["gentle", "none"]

FAULT_COLOUR = (255, 0, 255)
"""What a pixel that is not a number is painted in: a fault is to be seen, not taken for black."""


def develop(
    radiance: NDArray[np.floating],
    grey_luminance: float,
    white_balance: float | NDArray[np.float64] | None = None,
    shoulder: Shoulder = "gentle",
) -> NDArray[np.uint8]:
    """A picture, (h, w, 3) uint8 sRGB, of linear Rec. 709 `radiance`, (h, w, 3), scaled to cd/m2.

    grey_luminance  scene luminance that becomes 0.18 linear, sRGB code 118 [cd/m2]
    white_balance   colour temperature to be neutral [K], or a (3, 3) matrix such as that of
                    `white_balance_matrix`; None leaves D65 neutral
    shoulder        "gentle": see below; "none": clips at 1.0, where the stops map says so

    The gentle highlight shoulder is our own curve. Of one level x: itself up to s = 0.5, then
    s + (1 - s)(1 - exp(-(x - s) / (1 - s))): slope 1 where it begins, never over 1. A level of 1.0 becomes
    0.82; white is all but reached 1.5 stop over that. Of a colour: the strongest channel goes by the curve
    and the others keep their proportion, so that hue stands; by the share of light that the curve took away
    the colour moves to what the channels would be each by itself, so that a lamp far over clip is white, not
    a flat patch of its colour.

    Colours outside Rec. 709 are mixed with the grey of their own luminance until no channel is negative.
    Pixels that are not finite come out in FAULT_COLOUR.
    """
    if radiance.ndim != 3 or radiance.shape[2] != 3:
        raise ValueError(f"radiance: expected (h, w, 3), got {radiance.shape}")
    flat = np.ascontiguousarray(radiance, np.float32).reshape(-1, 3)
    pixels = developed(Place(), flat, grey_luminance, white_balance, shoulder)
    return pixels.reshape(radiance.shape)


def developed(
    place: Place,
    radiance: Any,
    grey_luminance: float,
    white_balance: float | NDArray[np.float64] | None = None,
    shoulder: Shoulder = "gentle",
) -> NDArray[np.uint8]:
    """As `develop`, (n, 3) of (n, 3) float32 radiance that lies in a place."""
    if not 0.0 < grey_luminance < np.inf:
        raise ValueError(f"grey_luminance: expected more than 0 cd/m2, got {grey_luminance}")
    matrix = np.eye(3) if white_balance is None else np.asarray(white_balance, dtype=np.float64)
    if matrix.ndim == 0:
        matrix = white_balance_matrix(float(matrix))
    scaled = (matrix * (MID_GREY / grey_luminance)).astype(np.float32)
    by = place.bring(scaled), shoulder == "gentle", place.bring(_fault()), place.bring(_codes())
    picture = place.empty(radiance.shape, np.uint8)
    place.do(kernel.developed, len(radiance), radiance, *by, picture)
    return place.back(picture)


def auto_grey_luminance(
    radiance: NDArray[np.floating], mask: NDArray[np.bool_] | None = None, stops_over_grey: float = 0.0
) -> float:
    """Grey luminance for automatic exposure [cd/m2]: puts the average of an area at a given level.

    The average is the mean luminance over `mask`, (h, w), or the whole picture, as an averaging
    reflected-light meter reads it, without the brightest 2 % (lamps in shot, highlights on skin).
    `stops_over_grey` says where it is to come, e.g. +1 for skin of reflectance .36. Raises InputError
    where there is no light to go by.
    """
    y = np.asarray(radiance @ Y_WEIGHTS, dtype=np.float64)
    y = y[np.isfinite(y) & (True if mask is None else mask)]
    if y.size:
        y = y[y <= np.quantile(y, 0.98)]
    mean = float(y.mean()) if y.size else 0.0
    if not mean > 0.0:
        raise InputError(
            "automatic exposure: no light in the area to be exposed for; give t_stop, iso and shutter"
        )
    return mean / stops_to_ratio(stops_over_grey)


@cache
def _codes() -> Array:
    levels = (np.arange(kernel.STEPS + 1) / kernel.STEPS) ** 2
    return (255.0 * srgb_encode(levels)).astype(np.float32)


@cache
def _fault() -> NDArray[np.uint8]:
    return np.array(FAULT_COLOUR, np.uint8)
