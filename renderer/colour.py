"""Colour of light: Rec. 709 luminance, transfer curves, the white of a colour temperature, white balance.

Linear RGB has the Rec. 709 primaries and D65 white throughout. Arrays are (..., 3), last axis R, G, B.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from renderer.errors import InputError
from renderer.units import mired

Array = NDArray[np.float64]

Y_WEIGHTS: Array = np.array([0.2126, 0.7152, 0.0722])
"""Luminance of linear Rec. 709 RGB. ITU-R BT.709-6, as rounded in IEC 61966-2-1."""
RGB_TO_XYZ: Array = np.array([[0.4124, 0.3576, 0.1805], Y_WEIGHTS, [0.0193, 0.1192, 0.9505]])
"""Linear Rec. 709 RGB to CIE 1931 XYZ. IEC 61966-2-1, four decimals as printed there."""
XYZ_TO_RGB: Array = np.linalg.inv(RGB_TO_XYZ).astype(np.float64)
D65_XYZ: Array = RGB_TO_XYZ @ np.ones(3)
_BRADFORD: Array = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])

CCT_RANGE = (1000.0, 25000.0)
"""Colour temperatures answered for [K]: the reach of the two loci below."""
PLANCK_RANGE = (1000.0, 6700.0)
DAYLIGHT_RANGE = (4000.0, 25000.0)
_BLEND_FROM, _BLEND_TO = 4000.0, 5000.0

# Own least-squares fit, in powers of 1000 / T (mired / 1000) and highest power first, to the chromaticity
# of Planck's law (c2 = 1.4388e-2 m K) summed with the CIE 1931 colour matching functions from 360 to
# 830 nm in steps of 1 nm. Largest error from 1000 to 6700 K: 3.3e-5. The published fits tried were ten
# times coarser (coefficients from memory): Kim et al.'s cubic spline 5.5e-4, Krystek 1985 3.7e-4, Wyman
# et al. 2013 1.3e-3.
_PLANCK_X = (-0.487109, 3.760846, -10.848011, 15.76655, -12.349012, 4.655254, -0.101788, 0.256035)
_PLANCK_Y = (-4.377042, 20.73301, -40.615711, 41.663243, -22.743737, 5.327343, 0.114738, 0.242594)


def luminance(rgb: ArrayLike) -> Array:
    """Y of linear RGB, (..., 3) -> (...). In cd/m2 where the radiance is scaled to cd/m2."""
    result: Array = np.asarray(rgb) @ Y_WEIGHTS
    return result


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


def planck_xy(cct: float) -> Array:
    """CIE 1931 x, y of a black body at `cct` [K, 1000 to 6700], to 3.3e-5 (own fit, see above)."""
    _check(cct, PLANCK_RANGE)
    t = mired(cct) / 1000.0
    return np.array([np.polyval(_PLANCK_X, t), np.polyval(_PLANCK_Y, t)])


def daylight_xy(cct: float) -> Array:
    """CIE 1931 x, y on the daylight locus at `cct` [K, 4000 to 25000]. CIE 15, method for illuminants D."""
    _check(cct, DAYLIGHT_RANGE)
    t = 1000.0 / cct
    if cct <= 7000.0:
        x = 0.244063 + 0.09911 * t + 2.9678 * t**2 - 4.6070 * t**3
    else:
        x = 0.237040 + 0.24748 * t + 1.9018 * t**2 - 2.0064 * t**3
    return np.array([x, -3.0 * x * x + 2.870 * x - 0.275])


def xy_of_cct(cct: float) -> Array:
    """CIE 1931 x, y of the white that a lamp of this colour temperature is taken to have [K].

    Black body up to 4000 K (tungsten, and lamps that imitate it), CIE daylight from 5000 K, and between
    them the two mixed at equal luminance, the share going evenly with the mired. Reference illuminants
    are mixed over the same stretch in ANSI/IES TM-30 (from memory; there evenly with the kelvin).
    Raises InputError outside 1000 to 25000 K.
    """
    _check(cct, CCT_RANGE)
    if cct <= _BLEND_FROM:
        return planck_xy(cct)
    if cct >= _BLEND_TO:
        return daylight_xy(cct)
    share = (mired(_BLEND_FROM) - mired(cct)) / (mired(_BLEND_FROM) - mired(_BLEND_TO))
    mixed = (1.0 - share) * xyz_of_xy(planck_xy(cct)) + share * xyz_of_xy(daylight_xy(cct))
    result: Array = mixed[:2] / mixed.sum()
    return result


def xyz_of_xy(xy: ArrayLike) -> Array:
    """XYZ with Y = 1 of a chromaticity."""
    x, y = np.asarray(xy, dtype=np.float64)
    return np.array([x / y, 1.0, (1.0 - x - y) / y])


def rgb_of_xy(xy: ArrayLike) -> Array:
    """Linear Rec. 709 RGB with Y = 1 of a chromaticity; negative where it lies outside those primaries."""
    result: Array = XYZ_TO_RGB @ xyz_of_xy(xy)
    return result


def rgb_of_cct(cct: float) -> Array:
    """Linear Rec. 709 RGB with Y = 1 of a lamp's white [K]. Blue is negative below about 1900 K (true,
    and kept: such a flame lies outside the Rec. 709 primaries; `develop` brings it back)."""
    return rgb_of_xy(xy_of_cct(cct))


def white_balance_matrix(cct: float) -> Array:
    """(3, 3) that makes the white of `cct` [K] neutral: rgb_balanced = matrix @ rgb, linear Rec. 709.

    Bradford adaptation from that white to D65. A neutral surface in that light keeps its luminance.
    """
    result: Array = XYZ_TO_RGB @ bradford(xyz_of_xy(xy_of_cct(cct)), D65_XYZ) @ RGB_TO_XYZ
    return result


def bradford(source: ArrayLike, target: ArrayLike) -> Array:
    """(3, 3) in XYZ that takes the white `source` to the white `target`: linear Bradford (von Kries type).

    Its matrix: K. Lam 1985, as in the ICC specification, annex E (from memory).
    """
    scale = (_BRADFORD @ np.asarray(target)) / (_BRADFORD @ np.asarray(source))
    result: Array = np.linalg.inv(_BRADFORD) @ np.diag(scale) @ _BRADFORD
    return result


def _check(cct: float, valid: tuple[float, float]) -> None:
    low, high = valid
    if not low <= cct <= high:
        nearest = f"; nearest is {low if cct < low else high:g}" if not np.isnan(cct) else ""
        raise InputError(f"cct: {cct:g} K is outside {low:g} to {high:g} K{nearest}")
