"""Candela over C and gamma: what every description of a beam is turned into."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from renderer.errors import InputError
from renderer.photometry.flux import Floats, FluxTable, zone_flux
from renderer.photometry.record import Photometry
from renderer.photometry.symmetry import full_turn

Places = NDArray[np.intp]


class CandelaTable:
    """Intensity, straight between the angles both ways (bilinear), nothing outside the gammas.

    planes   C [degrees], 0 to 360, both ends there (p,); or 0 alone, for all (1,)
    gammas   from the axis [degrees], ascending, within 0 to 180 (g,)
    candela  intensities, none below 0, not all 0 (p, g)

    Raises InputError for arrays that are not of this kind.
    """

    def __init__(self, planes: ArrayLike, gammas: ArrayLike, candela: ArrayLike) -> None:
        try:
            self.planes: Floats = np.atleast_1d(np.array(planes, float))
            self.gammas: Floats = np.atleast_1d(np.array(gammas, float))
            self.candela: Floats = np.array(candela, float)
        except ValueError:
            raise InputError("candela table: expected numbers, the same count in each row") from None
        shape = (len(self.planes), len(self.gammas))
        if self.candela.shape != shape or len(self.gammas) < 2:
            raise InputError(
                f"candela table: expected a row for each of {shape[0]} C-planes, of {shape[1]} (two or more)"
                f" intensities; got the shape {self.candela.shape}"
            )
        if not np.isfinite(self.candela).all() or self.candela.min() < 0.0 or self.candela.max() <= 0.0:
            raise InputError("candela table: expected finite intensities of 0 or more, not all of them 0")
        if (np.diff(self.gammas) <= 0.0).any() or self.gammas[0] < 0.0 or self.gammas[-1] > 180.0:
            raise InputError("candela table: expected gammas that ascend within 0 to 180 degrees")
        turn = len(self.planes) > 1 and self.planes[-1] == 360.0 and (np.diff(self.planes) > 0.0).all()
        if self.planes[0] != 0.0 or not (turn or len(self.planes) == 1):
            raise InputError("candela table: expected C-planes that ascend from 0 to 360 degrees, or 0 alone")
        for array in (self.planes, self.gammas, self.candela):
            array.flags.writeable = False

    @classmethod
    def of(cls, photometry: Photometry) -> CandelaTable:
        """Of a measured distribution, its symmetry unfolded. Raises InputError for a dark one."""
        if not any(any(row) for row in photometry.candela):
            raise InputError(f"{photometry.name}: all candela are 0: expected at least one above 0")
        planes, rows = full_turn(photometry.planes, photometry.candela, photometry.symmetry)
        return cls(planes, photometry.gammas, rows)

    def value(self, c: ArrayLike, gamma: ArrayLike) -> Floats:
        """Intensity [cd] at C and gamma [degrees], which are broadcast; any turn of C will do."""
        turn, gamma = np.broadcast_arrays(np.asarray(c, float) % 360.0, np.asarray(gamma, float))
        row = np.clip(np.searchsorted(self.gammas, gamma, side="right") - 1, 0, len(self.gammas) - 2)
        across = (gamma - self.gammas[row]) / np.diff(self.gammas)[row]
        if len(self.planes) == 1:
            result = self._between(np.zeros_like(row), row, across)
        else:
            plane = np.clip(np.searchsorted(self.planes, turn, side="right") - 1, 0, len(self.planes) - 2)
            part = (turn - self.planes[plane]) / np.diff(self.planes)[plane]
            low, high = self._between(plane, row, across), self._between(plane + 1, row, across)
            result = low + part * (high - low)
        return np.where((gamma >= self.gammas[0]) & (gamma <= self.gammas[-1]), result, 0.0)

    def _between(self, plane: Places, row: Places, across: Floats) -> Floats:
        low, high = self.candela[plane, row], self.candela[plane, row + 1]
        return np.asarray(low + across * (high - low))

    def along(self, direction: ArrayLike, axis: ArrayLike, c0: ArrayLike, c90: ArrayLike) -> Floats:
        """Intensity [cd] towards directions (..., 3) of any length; answers (...).

        axis, c0, c90  unit vectors (3,), each at right angles to the others: gamma 0, C0 and C90 at gamma 90
        """
        vector = np.asarray(direction, float)
        forward, first, second = (vector @ np.asarray(unit, float) for unit in (axis, c0, c90))
        gamma = np.degrees(np.arctan2(np.hypot(first, second), forward))
        return self.value(np.degrees(np.arctan2(second, first)), gamma)

    @cached_property
    def mean(self) -> Floats:
        """Intensity [cd] averaged over C at each gamma (g,): exact, since it runs straight between planes."""
        if len(self.planes) == 1:
            return np.asarray(self.candela[0])
        return np.asarray(np.diff(self.planes) @ (self.candela[:-1] + self.candela[1:]) / 720.0)

    @cached_property
    def _sums(self) -> Floats:
        theta = np.radians(self.gammas)
        zones = zone_flux(theta[:-1], theta[1:], self.mean[:-1], self.mean[1:])
        return np.concatenate([[0.0], np.cumsum(np.maximum(zones, 0.0))])

    @property
    def lumens(self) -> float:
        """All its flux: the exact integral of the interpolated table over solid angle."""
        return float(self._sums[-1])

    def within(self, gamma: ArrayLike) -> Floats:
        """Lumens nearer to the axis than gamma [degrees, 0 to 180]; any shape. Exact."""
        inside = np.clip(np.asarray(gamma, float), self.gammas[0], self.gammas[-1])
        row = np.clip(np.searchsorted(self.gammas, inside, side="right") - 1, 0, len(self.gammas) - 2)
        at = np.interp(inside, self.gammas, self.mean)
        part = zone_flux(np.radians(self.gammas[row]), np.radians(inside), self.mean[row], at)
        return np.asarray(self._sums[row] + part)

    def zonal_lumens(self, edges: ArrayLike) -> Floats:
        """Lumens between neighbouring cones; edges [degrees] (n + 1,), answers (n,)."""
        return np.diff(self.within(edges))

    def flux_table(self, step: float = 1.0) -> FluxTable:
        """Cumulative flux at the gammas of the table and between, no zone wider than `step` degrees."""
        counts = np.maximum(np.ceil(np.diff(self.gammas) / step - 1e-9).astype(int), 1)
        zones = zip(self.gammas[:-1], self.gammas[1:], counts, strict=True)
        cut = [np.linspace(low, high, count, endpoint=False) for low, high, count in zones]
        degrees = np.concatenate([*cut, self.gammas[-1:]])
        return FluxTable(degrees, np.maximum.accumulate(self.within(degrees)))

    def maximum(self) -> tuple[float, float, float]:
        """The largest intensity [cd], and C and gamma [degrees] of the first place that has it."""
        plane, row = np.unravel_index(int(self.candela.argmax()), self.candela.shape)
        return float(self.candela[plane, row]), float(self.planes[plane]), float(self.gammas[row])

    def axial(self) -> CandelaTable:
        """Averaged over C: the same lumens in every zone, turned about the axis."""
        return CandelaTable([0.0], self.gammas, self.mean[None, :])

    def flipped(self) -> CandelaTable:
        """Turned over about the direction of C0, so that what was behind is in front."""
        return CandelaTable(
            360.0 - self.planes[::-1] if len(self.planes) > 1 else [0.0],
            180.0 - self.gammas[::-1],
            self.candela[::-1, ::-1],
        )

    def scaled(self, factor: float) -> CandelaTable:
        """Every intensity times a factor above 0. Raises InputError for one that leaves no light."""
        return CandelaTable(self.planes, self.gammas, self.candela * factor)

    def with_lumens(self, lumens: float) -> CandelaTable:
        """The same distribution with so many lumens."""
        return self.scaled(lumens / self.lumens)

    def with_peak(self, candela: float) -> CandelaTable:
        """The same distribution with such a largest intensity."""
        return self.scaled(candela / self.maximum()[0])
