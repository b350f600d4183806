"""Colour of light: Rec. 709 luminance, transfer curves, the white of a colour temperature, white balance.

Linear RGB has the Rec. 709 primaries and D65 white throughout. Arrays are (..., 3), last axis R, G, B.
"""

from renderer.colour.locus import DAYLIGHT_RANGE, PLANCK_RANGE, daylight_xy, planck_xy
from renderer.colour.space import (
    D65_XYZ,
    RGB_TO_XYZ,
    XYZ_TO_RGB,
    Y_WEIGHTS,
    Array,
    bradford,
    luminance,
    rgb_of_xy,
    xy_of_rgb,
    xyz_of_xy,
)
from renderer.colour.tint import DUV_LIMIT, cct_and_duv, uv_of_xy, xy_of_uv
from renderer.colour.transfer import bt709_signal, lightness, srgb_decode, srgb_encode
from renderer.colour.white import CCT_RANGE, Locus, rgb_of_cct, white_balance_matrix, xy_of_cct

__all__ = [
    "CCT_RANGE",
    "D65_XYZ",
    "DAYLIGHT_RANGE",
    "DUV_LIMIT",
    "PLANCK_RANGE",
    "RGB_TO_XYZ",
    "XYZ_TO_RGB",
    "Y_WEIGHTS",
    "Array",
    "Locus",
    "bradford",
    "bt709_signal",
    "cct_and_duv",
    "daylight_xy",
    "lightness",
    "luminance",
    "planck_xy",
    "rgb_of_cct",
    "rgb_of_xy",
    "srgb_decode",
    "srgb_encode",
    "uv_of_xy",
    "white_balance_matrix",
    "xy_of_cct",
    "xy_of_rgb",
    "xy_of_uv",
    "xyz_of_xy",
]
