"""The two lines of whites: black bodies (Planck) and daylights (CIE D), as CIE 1931 x, y.

The black body's is a fit of our own, a ratio of polynomials in t = 1000 K / T (mired / 1000), to the
chromaticity of Planck's law (c2 = 1.4388e-2 m K) summed with the CIE 1931 colour matching functions from
360 to 830 nm in steps of 1 nm. Largest error from 1000 to 100 000 K: 1.9e-6 in x and in y. The published
fits tried were a hundred times coarser (coefficients from memory): Kim et al.'s cubic spline 5.5e-4,
Krystek 1985 3.7e-4, Wyman et al. 2013 1.3e-3.
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial.polynomial import polyder, polyval

from renderer.colour.space import Array
from renderer.errors import InputError
from renderer.units import mired

PLANCK_RANGE = (1000.0, 100000.0)
DAYLIGHT_RANGE = (4000.0, 25000.0)
"""Colour temperatures that each line is answered for [K]; that of daylight is CIE 15's own."""

# x = X / W and y = Y / W, powers of t from 0 up.
_X = np.array([0.239870, -0.004944, 6.905872, 2.699636, 37.722923, 21.212963, 39.971873])
_Y = np.array([0.234046, 0.123621, 7.163788, 2.468459, 32.125740, 1.567179, 13.703713])
_W = np.array([1.0, -1.090644, 24.048169, -17.895499, 93.366378, 11.247421, 55.923278])
# The same in CIE 1960 u, v: u = 4x / (-2x + 12y + 3), v = 6y / (-2x + 12y + 3).
_U, _V, _UV_W = 4.0 * _X, 6.0 * _Y, -2.0 * _X + 12.0 * _Y + 3.0 * _W
_DU, _DV, _DUV_W = polyder(_U), polyder(_V), polyder(_UV_W)


def planck_xy(cct: float) -> Array:
    """CIE 1931 x, y of a black body at `cct` [K, 1000 to 100 000], to 1.9e-6. Raises InputError."""
    check_cct(cct, PLANCK_RANGE)
    t = mired(cct) / 1000.0
    result: Array = np.array([polyval(t, _X), polyval(t, _Y)]) / polyval(t, _W)
    return result


def planck_uv(t: float | Array) -> Array:
    """CIE 1960 u, v (2, ...) of black bodies at t = 1000 K / T, 0.01 to 1."""
    result: Array = np.array([polyval(t, _U), polyval(t, _V)]) / polyval(t, _UV_W)
    return result


def planck_direction(t: float) -> Array:
    """(2,) tangent (unit) of that line in u, v, towards the red: u always rises with t."""
    w, dw = polyval(t, _UV_W), polyval(t, _DUV_W)
    slope = np.array([polyval(t, d) * w - polyval(t, top) * dw for top, d in ((_U, _DU), (_V, _DV))])
    result: Array = slope / np.hypot(*slope)
    return result


def daylight_xy(cct: float) -> Array:
    """CIE 1931 x, y on the daylight locus at `cct` [K, 4000 to 25000]. CIE 15, method for illuminants D.

    The formula is older than today's c2: D65 is meant at 6500 x 1.4388 / 1.4380 = 6504 K. Raises InputError.
    """
    check_cct(cct, DAYLIGHT_RANGE)
    t = 1000.0 / cct
    if cct <= 7000.0:
        x = 0.244063 + 0.09911 * t + 2.9678 * t**2 - 4.6070 * t**3
    else:
        x = 0.237040 + 0.24748 * t + 1.9018 * t**2 - 2.0064 * t**3
    return np.array([x, -3.0 * x * x + 2.870 * x - 0.275])


def check_cct(cct: float, valid: tuple[float, float]) -> None:
    """Raises InputError for a colour temperature [K] outside `valid`."""
    low, high = valid
    if not low <= cct <= high:
        nearest = f"; nearest is {low if cct < low else high:g}" if not np.isnan(cct) else ""
        raise InputError(f"cct: {cct:g} K is outside {low:g} to {high:g} K{nearest}")
