"""Candela from lux at distances, as data sheets and light meters give them.

Close to a head lux do not fall with the square of the distance from its front. Two descriptions with
one parameter each, beside the candela I, are fitted, and the better one is kept:

    position   E = I / (d - z)^2      a point at z on the axis, behind the front where z < 0
    size       E = I / (d^2 + r^2)    a disc of radius r that shines evenly; exact for a Lambertian one

The sum of squares of ln(measured / fitted) is made least: a reading is wrong by so many per cent
wherever it is taken. For a given z or r the best ln I is a mean, so one number is left to search for.

source  inverse-square law; E = pi L r^2 / (d^2 + r^2) on the axis of a Lambertian disc (textbook photometry)
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from renderer.errors import InputError
from renderer.photometry.flux import Floats

Kind = Literal["point", "position", "size"]
GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0
FAR = 100.0
"""How many times the largest distance a source may lie behind or measure across."""
NEAR = 1e-3
"""Share of the smallest distance that has to stay between it and a source in front of 0."""
SAME = 1e-9
"""Residuals [ln] that differ by less are one: two readings fit both ways."""


@dataclass(frozen=True)
class LuxFit:
    """What fits the readings.

    kind      point (a single reading: nothing to fit), position or size
    candela   far-field intensity on the axis
    position  of the source on the axis [m], from where distances count; below 0 is behind
    radius    of the source [m]
    residual  root mean square of measured over fitted lux [stops]; 0 for one or two readings says nothing
    off       measured over fitted lux less 1, for each reading in the order given
    """

    kind: Kind
    candela: float
    position: float
    radius: float
    residual: float
    off: tuple[float, ...]

    def lux(self, distance: float) -> float:
        """On the axis at a distance [m] in front of the source, on a meter that faces it."""
        return self.candela / ((distance - self.position) ** 2 + self.radius**2)

    def words(self) -> str:
        """The fit and how well it holds, in one line."""
        behind = "behind" if self.position < 0.0 else "before"
        where = {
            "point": "inverse square from the front",
            "position": f"as from {abs(self.position):.3g} m {behind} it",
            "size": f"as from a disc of radius {self.radius:.3g} m",
        }[self.kind]
        worst = max(abs(off) for off in self.off)
        count = len(self.off)
        tail = f"off by {worst:.2g} at most" if count < 3 else f"off by {worst:.1%} at most"
        free = " (too few readings to tell)" if count < 3 else ""
        return f"{self.candela:.4g} cd, {where}; {count} readings, {tail}{free}"


def fit_lux(readings: Sequence[tuple[float, float]], kind: Kind | None = None) -> LuxFit:
    """The candela behind readings on the axis.

    readings  (distance [m], lux), in any order
    kind      what to fit; None for the better of position and size
    Raises InputError for readings that are no positive numbers, one distance given twice, or lux that do not
    fall from the nearest to the farthest.
    """
    distance, lux = _checked(readings)
    if len(readings) == 1 or kind == "point":
        return _made("point", 0.0, distance, lux)
    if lux[distance.argmax()] >= lux[distance.argmin()]:
        raise InputError(
            f"lux at distances: expected less at {distance.max():g} m than at {distance.min():g} m; got"
            f" {lux[distance.argmax()]:g} and {lux[distance.argmin()]:g} lux"
        )
    nearest, farthest = float(distance.min()), float(distance.max())
    gap = _least(lambda gap: _spread(distance, lux, nearest - gap, 0.0), NEAR * nearest, FAR * farthest)
    if gap > 0.99 * FAR * farthest:
        raise InputError(
            f"lux at distances: expected them to fall with distance; from {nearest:g} to {farthest:g} m they"
            " hardly do, as from a source without end"
        )
    radius = _least(lambda r: _spread(distance, lux, 0.0, r), 1e-4 * nearest, FAR * farthest)
    if _spread(distance, lux, 0.0, 0.0) <= _spread(distance, lux, 0.0, radius):
        radius = 0.0  # lux times distance squared does not grow: no size helps
    fits = [_made("position", nearest - gap, distance, lux), _made("size", radius, distance, lux)]
    if kind is not None:
        return next(fit for fit in fits if fit.kind == kind)
    return fits[1] if fits[1].residual + SAME < fits[0].residual else fits[0]


def _checked(readings: Sequence[tuple[float, float]]) -> tuple[Floats, Floats]:
    if not readings:
        raise InputError("lux at distances: expected at least one [metres, lux]; got none")
    for i, (metres, lux) in enumerate(readings, 1):
        for value, name in ((metres, "distance [m]"), (lux, "lux")):
            if not 0.0 < value < 1e12:  # also for nan
                raise InputError(
                    f"lux at distances, reading {i}: {name}: expected a number above 0; got {value}"
                )
    distances = [metres for metres, _ in readings]
    for i, metres in enumerate(distances):
        if metres in distances[:i]:
            raise InputError(
                f"lux at distances, reading {i + 1}: {metres:g} m is there already: give it once"
            )
    return np.array(distances, float), np.array([lux for _, lux in readings], float)


def _logs(distance: Floats, lux: Floats, position: float, radius: float) -> Floats:
    """ln of the candela that each reading by itself asks for."""
    return np.asarray(np.log(lux * ((distance - position) ** 2 + radius**2)))


def _spread(distance: Floats, lux: Floats, position: float, radius: float) -> float:
    """Root mean square of ln(measured / fitted) with the best candela."""
    return float(_logs(distance, lux, position, radius).std())


def _made(kind: Kind, value: float, distance: Floats, lux: Floats) -> LuxFit:
    position, radius = (value if kind == "position" else 0.0), (value if kind == "size" else 0.0)
    logs = _logs(distance, lux, position, radius)
    residual = float(logs.std()) / math.log(2.0)
    off = tuple(float(x) for x in np.expm1(logs - logs.mean()))
    return LuxFit(kind, float(np.exp(logs.mean())), position, radius, residual, off)


def _least(cost: Callable[[float], float], low: float, high: float) -> float:
    """Where a cost is least between two positive numbers: a scan in even ratios, then golden sections."""
    grid = np.geomspace(low, high, 241)
    best = int(np.argmin([cost(float(x)) for x in grid]))
    a, b = math.log(grid[max(best - 1, 0)]), math.log(grid[min(best + 1, len(grid) - 1)])
    for _ in range(90):
        left, right = b - GOLDEN * (b - a), a + GOLDEN * (b - a)
        if cost(math.exp(left)) <= cost(math.exp(right)):
            b = right
        else:
            a = left
    return math.exp((a + b) / 2.0)
