"""A head in a closed cylinder of fabric, with opaque sleeves over parts of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from renderer.enclosure.beam import Head
from renderer.enclosure.check import SAME, count, number
from renderer.enclosure.exchange import exchange_areas
from renderer.enclosure.fabric import WALLS, Fabric, Fate, Sleeve, Wall, fate
from renderer.enclosure.glow import Glow
from renderer.enclosure.grid import MOST_SECTORS, Grid, coverage, make_grid
from renderer.enclosure.landing import Points, first_light
from renderer.enclosure.radiosity import incident
from renderer.errors import InputError

FLATTEST, TALLEST = 0.05, 100.0
"""Height over radius within which the factors were checked."""


@dataclass(frozen=True)
class FabricCylinder:
    """An upright closed cylinder, in its own frame: the axis upward, the lower edge at height 0.

    radius, height     [m]
    side, bottom, top  fabric of each wall
    sleeves            opaque cloth over parts of it; where two overlap, the earlier is the inner one

    Raises InputError for sizes or sleeves that cannot be.
    """

    radius: float
    height: float
    side: Fabric
    bottom: Fabric
    top: Fabric
    sleeves: tuple[Sleeve, ...] = ()

    def __post_init__(self) -> None:
        number("cylinder: radius", self.radius, 0.0, 100.0, "metres", above=True)
        least, most = FLATTEST * self.radius, TALLEST * self.radius
        number("cylinder: height", self.height, least, most, f"metres at radius {self.radius:g}")
        for i, sleeve in enumerate(self.sleeves):
            if sleeve.height is not None and sleeve.height[1] > self.height + SAME:
                low, high = sleeve.height
                raise InputError(
                    f"sleeve {i}: leaves the side: expected 0 to {self.height:g} metres;"
                    f" got [{low:g}, {high:g}]"
                )

    def with_sleeves(self, sleeves: Sequence[Sleeve]) -> FabricCylinder:
        """The same with other sleeves."""
        return replace(self, sleeves=tuple(sleeves))

    def fabric(self, wall: Wall) -> Fabric:
        """The fabric of a wall."""
        return {"side": self.side, "bottom": self.bottom, "top": self.top}[wall]


def solve(
    cylinder: FabricCylinder,
    head: Head,
    at: float,
    points: Points = "down",
    bands: int = 24,
    rings: int = 8,
    sectors: int | None = None,
) -> Glow:
    """The light of a head on the axis, `at` metres above the lower edge, after all reflections inside.

    bands    of the side, at least; more are made where sleeves end between
    rings    of either end
    sectors  of the turn; unless given, 1 if everything goes round, else 24 or the first count up to 72 at
             whose edges all sleeves end. A sector covered in part returns light evenly over its width

    What is left out: the head's body, which hides and returns nothing; light that comes in from outside;
    any gloss of fabric or sleeve (all are Lambertian). Raises InputError.
    """
    grid = cylinder_grid(cylinder, cylinder.sleeves, bands, rings, sectors)
    return solve_on(grid, cylinder, head, at, points)


def cylinder_grid(
    cylinder: FabricCylinder, sleeves: Sequence[Sleeve], bands: int, rings: int, sectors: int | None
) -> Grid:
    """A grid that fits all `sleeves`, whether the cylinder wears them or not. Raises InputError."""
    count("bands", bands, 1, 400)
    count("rings", rings, 1, 100)
    if sectors is not None:
        count("sectors", sectors, 1, MOST_SECTORS)
    return make_grid(cylinder.radius, cylinder.height, sleeves, bands, rings, sectors)


def solve_on(grid: Grid, cylinder: FabricCylinder, head: Head, at: float, points: Points) -> Glow:
    """As `solve`, on a grid that fits the sleeves (`cylinder_grid`)."""
    shares = coverage(grid, cylinder.sleeves)
    fates = _fates(grid, cylinder)
    returned, in_sleeves, passed = (
        np.einsum("krs,kr->rs", shares, np.array([[getattr(f, name) for f in rows] for rows in fates]))
        for name in ("returned", "in_sleeve", "passed")
    )
    areas = grid.row_areas()[:, None] / grid.sectors
    first = np.broadcast_to(first_light(grid, head, at, points), returned.shape)
    light = incident(exchange_areas(grid), areas, returned, first)
    passes = np.array([[f.passed] for f in fates[0]])
    in_fabric = np.clip(1.0 - returned - in_sleeves - passed, 0.0, None)
    return Glow(grid, head.lumens, light, shares[0], passes, in_sleeves, in_fabric)


def _fates(grid: Grid, cylinder: FabricCylinder) -> list[list[Fate]]:
    """Of light on every row, bare (first) and under each sleeve."""
    fates: list[list[Fate]] = []
    for sleeve in (None, *cylinder.sleeves):
        rows: list[Fate] = []
        for wall in WALLS:
            here = grid.rows_of(wall)
            rows += [fate(cylinder.fabric(wall), sleeve)] * (here.stop - here.start)
        fates.append(rows)
    return fates
