"""From candela over directions to what a flat aperture shows: the luminance factor I / (I_max cos gamma).

Loaded only when a head's light is worked out: it needs numpy.
"""

from __future__ import annotations

import math

import numpy as np

from renderer.photometry.angle import beam_angle, field_angle
from renderer.photometry.table import CandelaTable
from renderer.scene.beam import COLUMNS, ROWS, Beam

STEEPEST = 88.0
"""Gamma [deg] past which cos gamma is held: towards 90 a flat face would need a luminance without end for the
light that really comes from its rim. What is lost of it is in `left_out`."""
ROUND = 0.1
"""Share by which beam angles across each other may differ in a beam that is called round."""


def beam_of(table: CandelaTable) -> Beam:
    """The factor is 1 where the intensity is the largest of the table and goes straight ahead."""
    gammas = np.linspace(0.0, 90.0, ROWS)[:, None]
    turns = np.arange(COLUMNS)[None, :] * (360.0 / COLUMNS)
    candela = table.value(turns, gammas) / table.maximum()[0]
    factors = candela / np.cos(np.radians(np.minimum(gammas, STEEPEST)))
    return Beam(tuple(tuple(float(x) for x in row) for row in factors))


def left_out(table: CandelaTable, beam: Beam) -> float:
    """Share of the table's lumens that the aperture does not send: behind it, beside it, between its degrees.

    Below 0 where the table of whole degrees makes more of a narrow beam.
    """
    return 1.0 - table.maximum()[0] * beam.within() / table.lumens


def behind(table: CandelaTable) -> float:
    """Share of the lumens that go past 90 degrees."""
    return max(0.0, 1.0 - float(table.within(90.0)) / table.lumens)


def widths(table: CandelaTable) -> str:
    """Beam and field angle in words, along C0 and across it where they differ."""
    told = []
    for name, share, angle in (("beam", "half", beam_angle), ("field", "a tenth", field_angle)):
        along, across = angle(table, 0.0), angle(table, 90.0)
        size = f"{along:.0f}"
        if abs(along - across) > ROUND * max(along, across):
            size = f"{along:.0f} (C0) x {across:.0f} (C90)"
        told.append(f"{name} {size} degrees at {share} of the peak")
    return ", ".join(told)


def candela_of_readings(readings: tuple[tuple[float, float], ...], radius: float, beam: Beam) -> float:
    """Largest intensity [cd] with which an aperture of a radius [m] reads best: as much over as under.

    readings  (metres, lux) on the axis
    """
    asked = [math.log(lux / lux_on_axis(1.0, metres, radius, beam)) for metres, lux in readings]
    return math.exp(sum(asked) / len(asked))


def lux_on_axis(candela: float, metres: float, radius: float, beam: Beam) -> float:
    """On a meter that faces the middle of an aperture of a radius [m]: exact for the traced light.

    E = L times the integral of factor cos over the cone in which the meter has the aperture,
    L = I_max / area.
    """
    return candela / (math.pi * radius**2) * beam.within(math.atan(radius / metres))
