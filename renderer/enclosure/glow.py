"""What a lit cylinder sends out, and where the rest of its light stays."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from renderer.enclosure.fabric import FULL_TURN, WALLS, Wall
from renderer.enclosure.grid import Grid

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Glow:
    """A solved cylinder. Patches are (rows, sectors), rows and sectors as in `grid`.

    grid        how it is cut
    lumens      flux of the head [lm]
    incident    illuminance from inside [lx] (rows, sectors)
    bare        share of a patch that no sleeve covers, 0 to 1 (rows, sectors)
    passes      transmittance of the fabric of every row (rows, 1)
    in_sleeves  share of incident light that ends in sleeves (rows, sectors)
    in_fabric   share of incident light that ends in fabric (rows, sectors)
    """

    grid: Grid
    lumens: float
    incident: Floats
    bare: Floats
    passes: Floats
    in_sleeves: Floats
    in_fabric: Floats

    @property
    def areas(self) -> Floats:
        """Area of the patches [m2] (rows, 1)."""
        return self.grid.row_areas()[:, None] / self.grid.sectors

    @property
    def exitance(self) -> Floats:
        """Of bare fabric, outward: M = tau E [lm/m2] (rows, sectors); 0 where all is covered."""
        return np.asarray(np.where(self.bare > 0.0, self.passes * self.incident, 0.0))

    @property
    def luminance(self) -> Floats:
        """Of bare fabric from outside, Lambertian: M / pi [cd/m2] (rows, sectors); 0 where all is covered."""
        return self.exitance / math.pi

    def luminance_of(self, wall: Wall) -> Floats:
        """[cd/m2] of the side (bands, sectors) or of an end (rings, sectors)."""
        return self.luminance[self.grid.rows_of(wall)]

    def mean_luminance(self, wall: Wall) -> float:
        """Mean over the bare part of a wall [cd/m2]; 0 if nothing of it is bare."""
        rows = self.grid.rows_of(wall)
        weight = (self.areas * self.bare)[rows]
        total = float(weight.sum())
        return float((weight * self.luminance[rows]).sum()) / total if total > 0.0 else 0.0

    def emitted(self, wall: Wall | None = None) -> float:
        """Flux [lm] that leaves through a wall, or through all."""
        return self._sum(self.bare * self.passes, wall)

    def absorbed_by_sleeves(self, wall: Wall | None = None) -> float:
        """Flux [lm] that ends in the sleeves on a wall, or on all."""
        return self._sum(self.in_sleeves, wall)

    def absorbed_by_fabric(self, wall: Wall | None = None) -> float:
        """Flux [lm] that ends in the fabric of a wall, or of all."""
        return self._sum(self.in_fabric, wall)

    def _sum(self, share: Floats, wall: Wall | None) -> float:
        flux = np.broadcast_to(self.areas * share * self.incident, self.incident.shape)
        return float((flux if wall is None else flux[self.grid.rows_of(wall)]).sum())

    @property
    def efficiency(self) -> float:
        """Flux out over flux of the head, 0 to 1."""
        return self.emitted() / self.lumens

    @property
    def balance_error(self) -> float:
        """(out + absorbed - flux of the head) / flux of the head: what the solution misses."""
        parts = (self.emitted(), self.absorbed_by_sleeves(), self.absorbed_by_fabric())
        return (sum(parts) - self.lumens) / self.lumens

    def side_profile(self) -> tuple[Floats, Floats]:
        """Heights of the middles of the bands [m] (bands,), and the mean luminance of what is bare there
        [cd/m2] (bands,); not a number where all is covered."""
        heights = np.array(self.grid.heights)
        return np.asarray((heights[1:] + heights[:-1]) / 2.0), self._row_means("side")

    def end_profile(self, wall: Wall = "bottom") -> tuple[Floats, Floats]:
        """Radii of the middles of the rings of an end [m] (rings,), and their luminance as `side_profile`."""
        radii = np.array(self.grid.radii)
        return np.asarray((radii[1:] + radii[:-1]) / 2.0), self._row_means(wall)

    def turn_profile(self) -> tuple[Floats, Floats]:
        """Angles of the middles of the sectors [degrees] (sectors,), and the mean luminance of what is bare
        of the side there [cd/m2] (sectors,); not a number where all is covered."""
        rows, sectors = self.grid.rows_of("side"), self.grid.sectors
        weight = (self.areas * self.bare)[rows]
        middles = np.asarray((np.arange(sectors) + 0.5) * (FULL_TURN / sectors), float)
        return middles, _mean(self.luminance[rows], weight, 0)

    def _row_means(self, wall: Wall) -> Floats:
        rows = self.grid.rows_of(wall)
        return _mean(self.luminance[rows], self.bare[rows], 1)

    def summary(self) -> dict[str, float]:
        """The main numbers by name: mean luminances [cd/m2], fluxes [lm], shares."""
        numbers = {f"{wall}_luminance": self.mean_luminance(wall) for wall in WALLS}
        numbers |= {f"{wall}_lumens": self.emitted(wall) for wall in WALLS}
        return numbers | {
            "emitted": self.emitted(),
            "absorbed_by_sleeves": self.absorbed_by_sleeves(),
            "absorbed_by_fabric": self.absorbed_by_fabric(),
            "efficiency": self.efficiency,
            "balance_error": self.balance_error,
        }


def _mean(values: Floats, weight: Floats, axis: int) -> Floats:
    total = weight.sum(axis=axis)
    some = total > 0.0
    sums = (values * weight).sum(axis=axis)
    return np.asarray(np.where(some, sums / np.where(some, total, 1.0), np.nan), float)
