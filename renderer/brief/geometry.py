"""Plane geometry of drawings: hulls, arcs, ellipses, lines cut at a box; metres on paper at full size."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

Point = tuple[float, float]
Box = tuple[Point, Point]
"""Lowest and highest corner."""

ROUND = 72
"""Corners of a circle: at 1:20 a disc 1 m across is then off by 0.03 mm."""


def hull(points: Iterable[Point]) -> list[Point]:
    """Convex hull, counter-clockwise; a line or a point where all lie on one.

    source  A. M. Andrew, Another efficient algorithm for convex hulls in two dimensions, 1979 (from memory)
    """
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return ordered

    def half(several: Sequence[Point]) -> list[Point]:
        kept: list[Point] = []
        for point in several:
            while len(kept) > 1 and _turn(kept[-2], kept[-1], point) <= 1e-12:
                kept.pop()
            kept.append(point)
        return kept

    return half(ordered)[:-1] + half(ordered[::-1])[:-1]


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def arc(centre: Point, radius: float, start: float, end: float) -> list[Point]:
    """Points of an arc from `start` to `end` [deg], counter-clockwise from paper right."""
    steps = max(2, math.ceil(abs(end - start) / 360.0 * ROUND))
    turns = [math.radians(start + (end - start) * k / steps) for k in range(steps + 1)]
    return [(centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t)) for t in turns]


def ellipse(centre: Point, half: Point, turn: float = 0.0) -> list[Point]:
    """Closed outline of an ellipse, its first half axis turned by `turn` [deg] from paper right."""
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    ring = [(math.cos(2 * math.pi * k / ROUND), math.sin(2 * math.pi * k / ROUND)) for k in range(ROUND)]
    return [
        (centre[0] + half[0] * a * c - half[1] * b * s, centre[1] + half[0] * a * s + half[1] * b * c)
        for a, b in ring
    ]


def turned(points: Iterable[Point], centre: Point, turn: float) -> list[Point]:
    """Points given about the origin, turned counter-clockwise [deg] and moved to `centre`."""
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    return [(centre[0] + x * c - y * s, centre[1] + x * s + y * c) for x, y in points]


def clipped(a: Point, b: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of the line from `a` to `b` inside a box; None where there is none.

    source  Liang and Barsky, ACM Transactions on Graphics 3(1), 1984
    """
    start, end = 0.0, 1.0
    for i in (0, 1):
        step = b[i] - a[i]
        for distance, towards in ((a[i] - box[0][i], -step), (box[1][i] - a[i], step)):
            if abs(towards) < 1e-12:
                if distance < 0.0:
                    return None
            elif towards > 0.0:
                end = min(end, distance / towards)
            else:
                start = max(start, distance / towards)
    if start >= end:
        return None
    return along(a, b, start), along(a, b, end)


def along(a: Point, b: Point, share: float) -> Point:
    """The point at a share of the way from `a` to `b`."""
    return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])


def distance(a: Point, b: Point) -> float:
    return math.hypot(b[0] - a[0], b[1] - a[1])


def bounds(points: Iterable[Point]) -> Box:
    """The box round points, of which there has to be one."""
    several = list(points)
    xs, ys = [p[0] for p in several], [p[1] for p in several]
    return (min(xs), min(ys)), (max(xs), max(ys))


def grown(box: Box, margin: float) -> Box:
    return (box[0][0] - margin, box[0][1] - margin), (box[1][0] + margin, box[1][1] + margin)


def meet(a: Box, b: Box) -> bool:
    """Whether two boxes share more than an edge."""
    return all(a[0][i] < b[1][i] and b[0][i] < a[1][i] for i in (0, 1))


def inside(inner: Box, outer: Box) -> bool:
    return all(outer[0][i] <= inner[0][i] and inner[1][i] <= outer[1][i] for i in (0, 1))


def cross(a: tuple[Point, Point], b: tuple[Point, Point]) -> bool:
    """Whether two lines cross between their ends."""
    return (
        _turn(a[0], a[1], b[0]) * _turn(a[0], a[1], b[1]) < 0.0
        and _turn(b[0], b[1], a[0]) * _turn(b[0], b[1], a[1]) < 0.0
    )
