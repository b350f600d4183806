"""The white of a colour temperature, and the camera's white balance."""

from __future__ import annotations

from typing import Literal

from renderer.colour.locus import DAYLIGHT_RANGE, check_cct, daylight_xy, planck_xy
from renderer.colour.space import D65_XYZ, RGB_TO_XYZ, XYZ_TO_RGB, Array, bradford, rgb_of_xy, xyz_of_xy
from renderer.colour.tint import xy_off_planck
from renderer.units import mired

Locus = Literal["blend", "planckian", "daylight"]
"""Which line the white of a colour temperature is taken from.

blend      black body up to 4000 K (tungsten, and lamps that imitate it), CIE daylight from 5000 K, and
           between them the two mixed at equal luminance, the share going evenly with the mired. Reference
           illuminants are mixed over the same stretch in ANSI/IES TM-30 (from memory; there evenly with
           the kelvin). A slider moves over it without a step.
planckian  black body throughout
daylight   CIE daylight from 4000 K, black body under that; at 4000 K it steps by 0.003 in Duv
"""
CCT_RANGE = (1000.0, 25000.0)
"""Colour temperatures answered for [K]."""
_BLEND_FROM, _BLEND_TO = 4000.0, 5000.0


def xy_of_cct(cct: float, locus: Locus = "blend", duv: float | None = None) -> Array:
    """CIE 1931 x, y of the white that a lamp of this colour temperature is taken to have [K].

    locus  the line it lies on
    duv    its place off the black-body line instead (as a colour meter gives it), whatever the locus;
           positive is to green, negative to pink
    Raises InputError outside 1000 to 25000 K, or 0.05 in duv.
    """
    check_cct(cct, CCT_RANGE)
    if duv is not None:
        return xy_off_planck(cct, duv)
    daylight_from = {"blend": _BLEND_TO, "planckian": float("inf"), "daylight": DAYLIGHT_RANGE[0]}[locus]
    if cct >= daylight_from:
        return daylight_xy(cct)
    if locus != "blend" or cct <= _BLEND_FROM:
        return planck_xy(cct)
    share = (mired(_BLEND_FROM) - mired(cct)) / (mired(_BLEND_FROM) - mired(_BLEND_TO))
    mixed = (1.0 - share) * xyz_of_xy(planck_xy(cct)) + share * xyz_of_xy(daylight_xy(cct))
    result: Array = mixed[:2] / mixed.sum()
    return result


def rgb_of_cct(cct: float, locus: Locus = "blend", duv: float | None = None) -> Array:
    """Linear Rec. 709 RGB with Y = 1 of a lamp's white [K]; arguments and errors as `xy_of_cct`. Blue is
    negative below about 1900 K (true, and kept: such a flame lies outside the Rec. 709 primaries;
    `develop` brings it back)."""
    return rgb_of_xy(xy_of_cct(cct, locus, duv))


def white_balance_matrix(cct: float, locus: Locus = "blend", duv: float | None = None) -> Array:
    """(3, 3) that makes the white of `cct` [K] neutral: rgb_balanced = matrix @ rgb, linear Rec. 709.

    Bradford adaptation from that white to D65. A neutral surface in that light keeps its luminance.
    Arguments and errors as `xy_of_cct`.
    """
    white = xyz_of_xy(xy_of_cct(cct, locus, duv))
    result: Array = XYZ_TO_RGB @ bradford(white, D65_XYZ) @ RGB_TO_XYZ
    return result
