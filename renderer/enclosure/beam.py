"""How a head throws its light: intensity about its axis, per lumen that it gives.

A beam answers two questions, both for arrays of angles from its axis [rad]: `intensity`, candela per
lumen, and `within`, the share of the flux inside the cone of that half angle. `within` is an exact
integral, 2 pi of intensity sin(theta), so what lands on rings and bands needs no quadrature.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from renderer.enclosure.check import number
from renderer.errors import InputError

Floats = NDArray[np.float64]
TWO_PI = 2.0 * math.pi


class Beam(Protocol):
    def intensity(self, theta: Floats) -> Floats:
        """Intensity [cd/lm] at `theta` from the axis [rad, 0 to pi]; any shape, answered in kind."""

    def within(self, theta: Floats) -> Floats:
        """Share of the flux, 0 to 1, nearer to the axis than `theta` [rad, 0 to pi]; any shape."""


@dataclass(frozen=True)
class CosineBeam:
    """Intensity I0 cos^n(theta) up to 90 degrees and nothing behind.

    The flux is 2 pi I0 / (n + 1), by integration; n = 1 is a Lambertian face, n = 0 an even half space.
    Raises InputError for an exponent below 0.
    """

    exponent: float

    def __post_init__(self) -> None:
        number("beam: exponent", self.exponent, 0.0)

    @classmethod
    def of_angle(cls, degrees: float) -> CosineBeam:
        """From the beam angle [degrees]: the full angle between the directions of half peak intensity.

        cos^n(beam / 2) = 1 / 2. 120 degrees is a Lambertian face. Raises InputError outside 1 to 179.
        """
        number("beam: angle", degrees, 1.0, 179.0, "degrees between the directions of half intensity")
        return cls(math.log(0.5) / math.log(math.cos(math.radians(degrees) / 2.0)))

    def intensity(self, theta: Floats) -> Floats:
        cosine = np.cos(theta)
        peak = (self.exponent + 1.0) / TWO_PI
        return np.where(cosine > 0.0, peak * np.maximum(cosine, 0.0) ** self.exponent, 0.0)

    def within(self, theta: Floats) -> Floats:
        result: Floats = 1.0 - np.maximum(np.cos(theta), 0.0) ** (self.exponent + 1.0)
        return result


class TableBeam:
    """Intensity given at angles, straight lines between them, nothing outside the table.

    degrees  angles from the axis, ascending, 0 to 180 (k,)
    candela  intensity there, in any unit: the flux is told by the head (k,)

    Raises InputError for a table that is short, not ascending, negative or dark.
    """

    def __init__(self, degrees: Sequence[float], candela: Sequence[float]) -> None:
        if len(degrees) != len(candela) or len(degrees) < 2:
            raise InputError(
                f"beam: expected as many intensities as angles, two or more; got {len(degrees)} angles"
                f" and {len(candela)} intensities"
            )
        for i, (angle, value) in enumerate(zip(degrees, candela, strict=True)):
            number(f"beam: angle {i}", angle, 0.0, 180.0, "degrees")
            number(f"beam: intensity {i}", value, 0.0)
            if i and angle <= degrees[i - 1]:
                raise InputError(
                    f"beam: angles have to ascend; got {angle:g} after {degrees[i - 1]:g} degrees"
                )
        self._theta = np.radians(np.asarray(degrees, float))
        table = np.asarray(candela, float)
        slope = np.diff(table) / np.diff(self._theta)
        self._line = np.stack([table[:-1] - slope * self._theta[:-1], slope])
        pieces = self._primitive(self._theta[1:]) - self._primitive(self._theta[:-1])
        self._sums = np.concatenate([[0.0], np.cumsum(pieces)])
        self._flux = float(self._sums[-1])
        if self._flux <= 0.0:
            raise InputError("beam: all intensities are 0: expected at least one above 0")
        self._table = table / self._flux

    def _primitive(self, theta: Floats, line: NDArray[np.intp] | None = None) -> Floats:
        """2 pi times the primitive of (a + b t) sin t, which is -(a + b t) cos t + b sin t."""
        a, b = self._line if line is None else self._line[:, line]
        return np.asarray(TWO_PI * (b * np.sin(theta) - (a + b * theta) * np.cos(theta)))

    def intensity(self, theta: Floats) -> Floats:
        return np.asarray(np.interp(theta, self._theta, self._table, left=0.0, right=0.0))

    def within(self, theta: Floats) -> Floats:
        inside = np.clip(np.asarray(theta, float), self._theta[0], self._theta[-1])
        line = np.clip(np.searchsorted(self._theta, inside, side="right") - 1, 0, len(self._theta) - 2)
        part = self._primitive(inside, line) - self._primitive(self._theta[line], line)
        return np.asarray((self._sums[line] + part) / self._flux)


@dataclass(frozen=True)
class Head:
    """A head small against what it lights: a point with a beam. Raises InputError for no flux.

    lumens  flux that leaves it
    """

    lumens: float
    beam: Beam

    def __post_init__(self) -> None:
        number("head: lumens", self.lumens, 0.0, 1e9, "lumens", above=True)
