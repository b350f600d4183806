"""What sleeves do to the part that stays open, in stops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from renderer.enclosure.beam import Head
from renderer.enclosure.cylinder import FabricCylinder, cylinder_grid, solve_on
from renderer.enclosure.fabric import WALLS, Sleeve, Wall
from renderer.enclosure.glow import Glow
from renderer.enclosure.landing import Points
from renderer.units import ratio_to_stops


@dataclass(frozen=True)
class Gain:
    """A cylinder with its first sleeves on, against the same without any.

    glow     it, solved
    stops    how much brighter the part of each wall that is bare now has become; a wall without bare
             fabric that passes light is left out
    flux     its total flux against that without sleeves [stops]; minus infinity if nothing leaves
    """

    glow: Glow
    stops: dict[Wall, float]
    flux: float


def sleeve_gains(
    cylinder: FabricCylinder,
    sleeves: Sequence[Sleeve],
    head: Head,
    at: float,
    points: Points = "down",
    bands: int = 24,
    rings: int = 8,
    sectors: int | None = None,
) -> list[Gain]:
    """The cylinder with none, one, two, ... of `sleeves` put on in this order; its own are taken off.

    The part compared is the same patches in both: those still bare (by area) with the sleeves on.
    Arguments as in `solve`; all steps share one grid. Raises InputError.
    """
    full = cylinder.with_sleeves(sleeves)  # faults are told before anything is solved
    grid = cylinder_grid(full, sleeves, bands, rings, sectors)
    glows = [
        solve_on(grid, cylinder.with_sleeves(sleeves[:n]), head, at, points) for n in range(len(sleeves) + 1)
    ]
    return [_gain(glow, glows[0]) for glow in glows]


def _gain(glow: Glow, without: Glow) -> Gain:
    stops: dict[Wall, float] = {}
    weight = glow.areas * glow.bare
    for wall in WALLS:
        rows = glow.grid.rows_of(wall)
        now = float((weight * glow.exitance)[rows].sum())
        before = float((weight * without.exitance)[rows].sum())
        if now > 0.0 and before > 0.0:
            stops[wall] = ratio_to_stops(now / before)
    emitted = without.emitted()
    return Gain(glow, stops, ratio_to_stops(glow.emitted() / emitted) if emitted > 0.0 else 0.0)
