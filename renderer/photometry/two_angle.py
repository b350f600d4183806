"""Beams from what a data sheet says: beam angle, and perhaps field angle.

The curve, with theta from the axis, b half the beam angle and f half the field angle:

    I(theta) = I0 exp(-ln 2 (ln cos theta / ln cos b)^q),   q = ln(ln 10 / ln 2) / ln(ln cos f / ln cos b)

It is half of I0 at b and a tenth at f, falls all the way from the axis and is 0 from 90 degrees on. q =
1 is the lobe I0 cos^n theta with n = ln(1/2) / ln cos b, flux 2 pi I0 / (n + 1), which is what a beam
angle alone is taken for. A larger q has a flat top and a sharp edge (a lens, a deep reflector), a
smaller one a hot middle and wide wings; below q = 1/2 the middle comes to a point. The curve is this
project's own choice; only the two shares are standard.
"""

from __future__ import annotations

import math

import numpy as np

from renderer.errors import InputError
from renderer.photometry.flux import Floats
from renderer.photometry.table import CandelaTable

FINE = 1e-5
"""Share of the peak by which the table may leave the curve halfway between its gammas."""
NARROW = 1e-5
"""Degrees below which no step is cut: a beam of small q falls to 0 ever more steeply towards 90."""
EDGE = 90.0
"""Degrees from the axis where the light ends."""
LEAST, MOST = 0.5, 179.0
"""Full angles [degrees] that a beam may have."""
TIGHT = 1.001
"""Field over beam angle, at least: below it the edge is a step, which `even_cone` is for."""


def beam_of_angles(
    beam: float, field: float | None = None, *, lumens: float | None = None, candela: float | None = None
) -> CandelaTable:
    """A beam about its axis with exactly this beam angle (50 %) and field angle (10 %) [degrees, full].

    field             None for a cos^n lobe
    lumens, candela   one of them: all its flux, or its peak, on the axis

    Raises InputError for angles outside 0.5 to 179, a field no wider than the beam, or no or two levels.
    """
    _angle("beam angle", beam)
    if field is not None:
        _angle("field angle", field)
        if field < beam * TIGHT:
            raise InputError(
                f"field angle: expected more than the beam angle, {beam:g} degrees (at a tenth of the peak a"
                f" beam is wider than at half); got {field:g}"
            )
    exponent = 1.0 if field is None else _exponent(beam / 2.0, field / 2.0)
    corners = [0.0, beam / 2.0, EDGE] if field is None else [0.0, beam / 2.0, field / 2.0, EDGE]
    gammas = _knots(np.unique([*corners, *np.linspace(0.0, EDGE, 17)]), beam / 2.0, exponent)
    share = curve(gammas, beam / 2.0, exponent)
    share[gammas == beam / 2.0] = 0.5
    if field is not None:
        share[gammas == field / 2.0] = 0.1
    return _levelled(CandelaTable([0.0], gammas, share[None, :]), lumens, candela)


def even_cone(angle: float, *, lumens: float | None = None, candela: float | None = None) -> CandelaTable:
    """One intensity in a cone of full angle [degrees], nothing outside: I = flux / (2 pi (1 - cos half)).

    Raises InputError for an angle outside 0.5 to 360, or no or two levels.
    """
    _angle("angle of the cone", angle, 360.0)
    return _levelled(CandelaTable([0.0], [0.0, angle / 2.0], [[1.0, 1.0]]), lumens, candela)


def curve(degrees: Floats, half_beam: float, exponent: float) -> Floats:
    """The curve of this file over its peak, at gamma [degrees]; any shape."""
    theta = np.radians(np.minimum(np.asarray(degrees, float), EDGE))
    inside = theta < math.radians(EDGE)
    depth = np.where(inside, _depth(np.where(inside, theta, 0.0)), np.inf) / _depth(np.radians(half_beam))
    with np.errstate(over="ignore"):  # far outside a sharp beam the power is infinite, and the light 0
        return np.asarray(np.exp2(-(depth**exponent)))


def _depth(theta: Floats) -> Floats:
    """-ln cos theta, without loss of digits near the axis: cos = 1 - 2 sin^2(theta / 2)."""
    return np.asarray(-np.log1p(-2.0 * np.sin(theta / 2.0) ** 2))


def _exponent(half_beam: float, half_field: float) -> float:
    ratio = _depth(np.radians(half_field)) / _depth(np.radians(half_beam))
    return math.log(math.log(10.0) / math.log(2.0)) / math.log(float(ratio))


def _knots(gammas: Floats, half_beam: float, exponent: float) -> Floats:
    """Gammas [degrees] so close that straight lines between follow the curve to `FINE` of its peak."""
    for _ in range(48):
        middle = (gammas[:-1] + gammas[1:]) / 2.0
        at = curve(gammas, half_beam, exponent)
        off = np.abs(curve(middle, half_beam, exponent) - (at[:-1] + at[1:]) / 2.0)
        cut = (off > FINE) & (np.diff(gammas) > NARROW)
        if not cut.any():
            break
        gammas = np.sort(np.concatenate([gammas, middle[cut]]))
    return gammas


def _angle(name: str, degrees: float, most: float = MOST) -> None:
    if not LEAST <= degrees <= most:  # also for nan
        raise InputError(f"{name}: expected {LEAST:g} to {most:g} degrees, edge to edge; got {degrees:g}")


def _levelled(table: CandelaTable, lumens: float | None, candela: float | None) -> CandelaTable:
    if (lumens is None) == (candela is None):
        found = "neither" if lumens is None else "both"
        raise InputError(f"beam: expected lumens or peak candela; got {found}")
    name, level = ("lumens", lumens) if candela is None else ("peak candela", candela)
    if level is None or not 0.0 < level < 1e12:
        raise InputError(f"beam: {name}: expected a number above 0 and below 1e12; got {level}")
    return table.with_lumens(level) if candela is None else table.with_peak(level)
