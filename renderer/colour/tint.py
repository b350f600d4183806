"""Duv, how far a white lies off the black-body line: to green above it, to pink (magenta) below it.

Measured in the CIE 1960 (u, v) diagram, square to the line, positive above (Ohno, Leukos 10(1), 2014;
ANSI C78.377). A correlated colour temperature is that of the nearest black body there (CIE 15).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from renderer.colour.locus import PLANCK_RANGE, check_cct, planck_direction, planck_uv
from renderer.colour.space import Array
from renderer.errors import InputError
from renderer.units import mired

DUV_LIMIT = 0.05
"""Beyond it a correlated colour temperature has no meaning. CIE 15 (from memory)."""
_STEPS = np.linspace(1000.0 / PLANCK_RANGE[1], 1000.0 / PLANCK_RANGE[0], 397)  # 2.5 mired
_HALVINGS = 36  # from 5 mired to 1e-10


def uv_of_xy(xy: ArrayLike) -> Array:
    """CIE 1960 u, v of CIE 1931 x, y; both (2,)."""
    x, y = np.asarray(xy, dtype=np.float64)
    result: Array = np.array([4.0 * x, 6.0 * y]) / (-2.0 * x + 12.0 * y + 3.0)
    return result


def xy_of_uv(uv: ArrayLike) -> Array:
    """CIE 1931 x, y of CIE 1960 u, v; both (2,)."""
    u, v = np.asarray(uv, dtype=np.float64)
    result: Array = np.array([3.0 * u, 2.0 * v]) / (2.0 * u - 8.0 * v + 4.0)
    return result


def xy_off_planck(cct: float, duv: float) -> Array:
    """CIE 1931 x, y at a correlated colour temperature [K, 1000 to 100 000] and Duv, -0.05 to 0.05.

    Far to green under 2500 K there are no such colours: x + y is then over 1. Raises InputError.
    """
    check_cct(cct, PLANCK_RANGE)
    if not abs(duv) <= DUV_LIMIT:
        nearest = "" if np.isnan(duv) else f"; nearest is {np.copysign(DUV_LIMIT, duv):g}"
        raise InputError(f"duv: {duv:g} is outside {-DUV_LIMIT:g} to {DUV_LIMIT:g}{nearest}")
    t = mired(cct) / 1000.0
    along = planck_direction(t)
    return xy_of_uv(planck_uv(t) + duv * np.array([-along[1], along[0]]))


def cct_and_duv(xy: ArrayLike) -> tuple[float, float]:
    """Correlated colour temperature [K] and Duv of a white, CIE 1931 x, y.

    The nearest point of the line is looked for on a grid of 2.5 mired and then closed in on, until the
    way to it is square to the line: exact but for the fit of that line, which is good to 0.01 mired (0.3 K
    at 5600 K) from 1500 to 20 000 K while Duv is within 0.006, and to 2e-6 in Duv. Raises InputError where
    it lies over 0.05 off the line, or nearest to one of its ends, 1000 and 100 000 K.
    """
    if not np.isfinite(np.asarray(xy, dtype=np.float64)).all():
        raise InputError(f"xy: expected a chromaticity [x, y]; got {_shown(xy)}")
    uv = uv_of_xy(xy)
    grid = planck_uv(_STEPS) - uv[:, None]
    nearest = int(np.argmin((grid**2).sum(axis=0)))
    low = float(_STEPS[max(nearest - 1, 0)])
    high = float(_STEPS[min(nearest + 1, len(_STEPS) - 1)])
    ahead_of_low, ahead_of_high = _ahead(uv, low), _ahead(uv, high)
    if not ahead_of_low >= 0.0 >= ahead_of_high:
        end = PLANCK_RANGE[1] if ahead_of_low < 0.0 else PLANCK_RANGE[0]
        raise InputError(f"xy: {_shown(xy)} has no colour temperature: it lies beyond {end:g} K")
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if _ahead(uv, middle) > 0.0:
            low = middle
        else:
            high = middle
    t = (low + high) / 2.0
    along, away = planck_direction(t), uv - planck_uv(t)
    duv = float(along[0] * away[1] - along[1] * away[0])
    if abs(duv) > DUV_LIMIT + 1e-9:
        side = "green" if duv > 0.0 else "pink"
        raise InputError(
            f"xy: {_shown(xy)} has no colour temperature: it lies {abs(duv):.3f} to the {side} side of the"
            f" black bodies, and from {DUV_LIMIT:g} on it is a colour, no white"
        )
    return 1000.0 / t, duv


def _ahead(uv: Array, t: float) -> float:
    """How far `uv` lies ahead of the point t of the line, along the line there: 0 at the nearest point."""
    return float((uv - planck_uv(t)) @ planck_direction(t))


def _shown(xy: ArrayLike) -> str:
    return f"[{', '.join(f'{value:.4g}' for value in np.asarray(xy, dtype=np.float64))}]"
