"""The inside of a cylinder cut into patches: bands and sectors of the side, rings and sectors of the ends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from renderer.enclosure.check import SAME
from renderer.enclosure.fabric import FULL_TURN, Sleeve, Wall

Floats = NDArray[np.float64]
MOST_SECTORS = 72


@dataclass(frozen=True)
class Grid:
    """Plain numbers only, so that factors can be kept by grid.

    radius   of the cylinder [m]
    heights  edges of the bands, upward from 0 at the bottom [m]
    radii    edges of the rings of both ends, outward from 0 [m]
    sectors  equal sectors of the turn; the first starts at 0 degrees

    A row is one band or ring, all sectors of it: bands upward, rings of the bottom outward, of the top
    outward. Patches are arrays (rows, sectors).
    """

    radius: float
    heights: tuple[float, ...]
    radii: tuple[float, ...]
    sectors: int

    @property
    def bands(self) -> int:
        return len(self.heights) - 1

    @property
    def rings(self) -> int:
        return len(self.radii) - 1

    @property
    def rows(self) -> int:
        return self.bands + 2 * self.rings

    def rows_of(self, wall: Wall) -> slice:
        first = {"side": 0, "bottom": self.bands, "top": self.bands + self.rings}[wall]
        return slice(first, first + (self.bands if wall == "side" else self.rings))

    def row_areas(self) -> Floats:
        """Area of whole rows [m2] (rows,)."""
        side = 2.0 * math.pi * self.radius * np.diff(self.heights)
        end = math.pi * np.diff(np.square(self.radii))
        return np.concatenate([side, end, end])


def make_grid(
    radius: float, height: float, sleeves: Sequence[Sleeve], bands: int, rings: int, sectors: int | None
) -> Grid:
    """A grid whose bands end where sleeves end, and whose sectors do if some count up to 72 allows.

    Bands, rings and sectors are at least as many as asked for. Unless told, the turn is one sector if all
    sleeves go round and at least 24 if not.
    """
    cuts = sorted({0.0, height, *(min(e, height) for s in sleeves if s.height for e in s.height)})
    edges = [0.0]
    for low, high in pairwise(cuts):
        if high - low > SAME:
            pieces = max(1, math.ceil((high - low) / height * bands - SAME))
            edges += [low + (high - low) * k / pieces for k in range(1, pieces)] + [high]
    radii = tuple(radius * k / rings for k in range(rings + 1))
    if sectors is None:
        sectors = 1 if all(sleeve.goes_round() for sleeve in sleeves) else _fitting_sectors(sleeves)
    return Grid(radius, tuple(edges), radii, sectors)


def _fitting_sectors(sleeves: Sequence[Sleeve], least: int = 24) -> int:
    """The first count from `least` at whose edges all sleeves end; `least` if none up to 72 has that."""
    ends = [edge for sleeve in sleeves if not sleeve.goes_round() for edge in sleeve.covers]
    for sectors in range(least, MOST_SECTORS + 1):
        places = [edge * sectors / FULL_TURN for edge in ends]
        if all(abs(place - round(place)) < SAME * sectors for place in places):
            return sectors
    return least


def coverage(grid: Grid, sleeves: Sequence[Sleeve]) -> Floats:
    """Share of every patch that lies bare (first) or under each sleeve, (1 + sleeves, rows, sectors).

    Sums to 1 over the first axis. Where sleeves overlap, the earlier, inner one counts. Bands of
    `make_grid` lie wholly under a sleeve or not at all; a sector can do so in part.
    """
    wide = FULL_TURN / grid.sectors
    ends = [edge % FULL_TURN for sleeve in sleeves for edge in sleeve.covers]
    cuts = np.unique([*(np.arange(grid.sectors + 1) * wide), *ends])
    widths, middles = np.diff(cuts), (cuts[1:] + cuts[:-1]) / 2.0
    sector = np.minimum((middles / wide).astype(int), grid.sectors - 1)
    shares = np.zeros((1 + len(sleeves), grid.rows, grid.sectors))
    bare = np.ones((grid.rows, len(middles)), bool)
    for which, sleeve in enumerate(sleeves, 1):
        start = sleeve.covers[0]
        turned = (middles - start) % FULL_TURN < sleeve.covers[1] - start
        here = bare & _rows_under(grid, sleeve)[:, None] & turned
        bare &= ~here
        for piece, place in enumerate(sector):
            shares[which, :, place] += here[:, piece] * widths[piece] / wide
    shares[np.abs(shares) < SAME] = 0.0
    shares[0] = np.clip(1.0 - shares[1:].sum(axis=0), 0.0, 1.0)
    shares[0][shares[0] < SAME] = 0.0
    return np.asarray(shares / shares.sum(axis=0))


def _rows_under(grid: Grid, sleeve: Sleeve) -> NDArray[np.bool_]:
    """Which rows lie at the height of the sleeve (rows,)."""
    under = np.zeros(grid.rows, bool)
    rows = grid.rows_of(sleeve.on)
    under[rows] = True
    if sleeve.height is not None:
        middle = (np.array(grid.heights[1:]) + np.array(grid.heights[:-1])) / 2.0
        under[rows] = (middle > sleeve.height[0]) & (middle < sleeve.height[1])
    return under
