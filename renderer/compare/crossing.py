"""Where along a walk something changes: the shadow pattern, and a measure that meets or leaves its target."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from renderer.compare.name import in_stops

if TYPE_CHECKING:
    from renderer.compare.stepping import Step, Walk


@dataclass(frozen=True)
class Crossing:
    """A measure passes a limit of its target between two steps.

    at, error  place on the axis by straight interpolation, its standard error: the noise of both readings and
               how far a parabola through a third step misses there; nan where the axis has no numbers
    limit      in the unit of the measure, of a ratio in stops; met_after  whether the target is met after it
    """

    name: str
    between: tuple[int, int]
    limit: float
    met_after: bool
    at: float
    error: float


@dataclass(frozen=True)
class Change:
    """A word changes between two steps: the shadow pattern."""

    between: tuple[int, int]
    before: str
    after: str


def changes(line: Sequence[tuple[int, Step]]) -> list[Change]:
    """Where the shadow pattern changes along finished steps."""
    return [
        Change((i, j), a.pattern, b.pattern) for (i, a), (j, b) in pairwise(line) if a.pattern != b.pattern
    ]


def crossings(walk: Walk, other: int = 0) -> list[Crossing]:
    """Where measures pass the limits of their targets, along the first key at one value of the second."""
    line = walk.line(other)
    names = dict.fromkeys(name for _, step in line for name in step.wanted)
    places = walk.varied[0].places
    found = []
    for name in names:
        points = [_point(places[i], i, step, name) for i, step in line]
        for k, (a, b) in enumerate(pairwise(points)):
            if a is None or b is None:
                continue
            near = points[k + 2] if k + 2 < len(points) else points[k - 1] if k > 0 else None
            for limit in a.limits:
                if (a.y - limit) * (b.y - limit) < 0.0:
                    at, error = interpolated(a, b, limit, near)
                    if not walk.varied[0].numeric:
                        at = error = math.nan
                    found.append(Crossing(name, (a.number, b.number), limit, b.met, at, error))
    return found


@dataclass(frozen=True)
class Point:
    """A measure at a step: place, value, error, its number, limits of its target, whether it is met."""

    x: float
    y: float
    error: float
    number: int = 0
    limits: tuple[float, ...] = ()
    met: bool = False


def _point(x: float, number: int, step: Step, name: str) -> Point | None:
    finding, wanted = step.findings.get(name), step.wanted.get(name)
    if finding is None or wanted is None or isinstance(finding.value, str):
        return None
    shown = in_stops(finding)
    if not math.isfinite(shown.number):
        return None
    limits = tuple(it for it in (wanted.low, wanted.high) if math.isfinite(it))
    met = wanted.low <= shown.number <= wanted.high
    return Point(x, shown.number, 0.0 if math.isnan(shown.error) else shown.error, number, limits, met)


def interpolated(a: Point, b: Point, limit: float, near: Point | None = None) -> tuple[float, float]:
    """Where the straight line from `a` to `b` meets `limit`, and its standard error.

    near  a third point: how far the parabola through all three misses the limit there counts as an error too
    source  Newton's divided differences, as in any numerical text
    """
    slope = (b.y - a.y) / (b.x - a.x)
    share = (limit - a.y) / (b.y - a.y)
    x = a.x + share * (b.x - a.x)
    miss = math.hypot((1.0 - share) * a.error, share * b.error)
    if near is not None:
        bend = ((near.y - b.y) / (near.x - b.x) - slope) / (near.x - a.x)
        miss = math.hypot(miss, bend * (x - a.x) * (x - b.x))
    return x, abs(miss / slope)
