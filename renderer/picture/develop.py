"""Radiance to a picture: exposure, white balance, a highlight shoulder, sRGB."""

from __future__ import annotations

from functools import cache
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from renderer.colour import Y_WEIGHTS, srgb_encode, white_balance_matrix
from renderer.errors import InputError
from renderer.film.share import shared_out
from renderer.units import MID_GREY, stops_to_ratio

Array = NDArray[np.float32]
Shoulder = Literal["gentle", "none"]

SHOULDER_START = 0.5
"""Linear level up to which the gentle shoulder changes nothing: 1 stop under clip, 1.47 over middle grey."""
FAULT_COLOUR = (255, 0, 255)
"""What a pixel that is not a number is painted in: a fault is to be seen, not taken for black."""
_ROWS = 16  # at a time: their numbers stay near the processor
_STEPS = 4096  # of the sRGB table over the square root of linear light; under 1/3 of a code apart


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
    shoulder        "gentle": see `roll_off`; "none": clips at 1.0, where the stops map says so

    Colours outside Rec. 709 are mixed with the grey of their own luminance until no channel is negative.
    Pixels that are not finite come out in FAULT_COLOUR.
    """
    if radiance.ndim != 3 or radiance.shape[2] != 3:
        raise ValueError(f"radiance: expected (h, w, 3), got {radiance.shape}")
    if not 0.0 < grey_luminance < np.inf:
        raise ValueError(f"grey_luminance: expected more than 0 cd/m2, got {grey_luminance}")
    matrix = np.eye(3) if white_balance is None else np.asarray(white_balance, dtype=np.float64)
    if matrix.ndim == 0:
        matrix = white_balance_matrix(float(matrix))
    scaled: Array = (matrix * (MID_GREY / grey_luminance)).T.astype(np.float32)
    pixels = np.empty(radiance.shape, np.uint8)

    def work(first: int, end: int) -> None:
        for top in range(first, end, _ROWS):
            rows = slice(top, min(end, top + _ROWS))
            pixels[rows] = _developed(radiance[rows], scaled, shoulder)

    shared_out(work, len(pixels))
    return pixels


def _developed(radiance: NDArray[np.floating], matrix: Array, shoulder: Shoulder) -> NDArray[np.uint8]:
    with np.errstate(invalid="ignore", over="ignore"):
        linear = radiance.astype(np.float32) @ matrix
    finite = _of_channels(np.logical_and, np.isfinite(linear))
    if not finite.all():
        linear[~finite] = 0.0
    linear = _into_gamut(linear)
    if shoulder == "gentle":
        linear = roll_off(linear)
    pixels = _encode(linear)
    pixels[~finite] = FAULT_COLOUR
    return pixels


def _of_channels(operation: np.ufunc, rgb: NDArray[Any]) -> NDArray[Any]:
    """`operation` over the last axis: channel by channel, which is many times sooner done than along it."""
    return np.asarray(operation(operation(rgb[..., 0], rgb[..., 1]), rgb[..., 2]))


def roll_off(linear: Array) -> Array:
    """Gentle highlight shoulder (own curve) of non-negative linear RGB, (..., 3).

    Of one level x: itself up to s = 0.5, then s + (1 - s)(1 - exp(-(x - s) / (1 - s))): slope 1 where it
    begins, never over 1. A level of 1.0 becomes 0.82; white is all but reached 1.5 stop over that.
    Of a colour: the strongest channel goes by the curve and the others keep their proportion, so that
    hue stands; by the share of light that the curve took away the colour moves to what the channels would
    be each by itself, so that a lamp far over clip is white, not a flat patch of its colour.
    """
    strongest = _of_channels(np.maximum, linear)
    hot = strongest > SHOULDER_START
    if not hot.any():
        return linear
    rgb, top = linear[hot], strongest[hot][:, np.newaxis]
    keep = _curve(top) / top
    result = linear.copy()
    result[hot] = keep * (keep * rgb) + (1.0 - keep) * _curve(rgb)
    return result


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


def _into_gamut(linear: Array) -> Array:
    lowest = _of_channels(np.minimum, linear)
    out = lowest < 0.0
    if not out.any():
        return linear
    rgb, low = linear[out], lowest[out]
    y = np.maximum(rgb @ Y_WEIGHTS.astype(np.float32), 0.0)
    # Where luminance itself is negative nothing can be kept: y = 0 makes the pixel black.
    share = y / (y - low)
    grey = y[:, np.newaxis]
    linear[out] = np.maximum(grey + share[:, np.newaxis] * (rgb - grey), 0.0) * (grey > 0.0)
    return linear


def _curve(x: Array) -> Array:
    span = np.float32(1.0 - SHOULDER_START)
    over = np.maximum(x - np.float32(SHOULDER_START), 0.0)
    result: Array = np.minimum(x, np.float32(SHOULDER_START)) - span * np.expm1(-over / span)
    return result


def _encode(linear: Array) -> NDArray[np.uint8]:
    # A power for every channel is most of the time of developing. The table is even in the square root
    # of light, where the curve is nearly straight; tested to match the formula in every code.
    codes = _codes()
    place = np.sqrt(np.clip(linear, 0.0, 1.0)) * np.float32(_STEPS)
    left = np.minimum(place.astype(np.int32), _STEPS - 1)
    value = codes[left] + (place - left) * (codes[left + 1] - codes[left])
    result: NDArray[np.uint8] = (value + np.float32(0.5)).astype(np.uint8)
    return result


@cache
def _codes() -> Array:
    return (255.0 * srgb_encode((np.arange(_STEPS + 1) / _STEPS) ** 2)).astype(np.float32)
