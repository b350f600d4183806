"""Where the direct light of a unit ends on a wall: what skirts, drops and crates cut. Nothing is traced."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from renderer.scene import outline
from renderer.scene.beam import factor_towards
from renderer.scene.parts import Disc, Part, Rectangle, Shape, Sphere, Tube, Vec3
from renderer.scene.sight import normal_at, open_parts
from renderer.scene.vector import add, blend, cross, dot, scale, subtract, unit

STEP = 0.04
"""Metres between the points of a wall that are tried first; an edge is then halved down to a millimetre."""
HALVINGS = 7
CHORD = 41
CORNER = 0.01
"""Metres off floor and ceiling: an edge that is nearer to them is none."""
SHRUNK = 0.9995
"""Samples stay this share inside a rim, where a skirt begins."""
TINY, OFF = 1e-6, 1e-7
"""Shares of a way that count as its ends: of any shape, and of the tube that it may start on."""


@dataclass(frozen=True)
class Cut:
    """An edge of the direct light on a wall.

    height  m over the floor
    lit     whether the light is over ("above") or under ("below") it
    source  the point of the unit that is seen last [m]
    wall    the point of the wall [m]
    """

    height: float
    lit: str
    source: Vec3
    wall: Vec3


@dataclass(frozen=True)
class Reach:
    """What direct light does on one wall: lit anywhere or not, and its edges, the lowest first."""

    lit: bool
    cuts: tuple[Cut, ...]


def reach(
    parts: Sequence[Part], boards: Iterable[Part], foot: Vec3, inward: Vec3, height: float, plane: Vec3
) -> Reach:
    """Direct light of a unit on the upright line of a wall that starts at `foot`, `height` metres up.

    boards  what else stops light; breakups let it through and count for nothing
    inward  normal (unit) of the wall, into the room
    plane   normal (unit) of the upright plane that the line and the unit lie in
    """
    samples = [(part, point) for part in open_parts(parts) for point in _samples(part.shape, plane)]
    solid = [part.shape for part in (*parts, *boards) if part.mask is None]

    def seen(z: float) -> Vec3 | None:
        at = add(foot, (0.0, 0.0, z))
        turned = _seen_from(at, inward, samples, solid)
        return next(turned, None)

    steps = max(2, math.ceil(height / STEP))
    heights = [CORNER + (height - 2 * CORNER) * k / steps for k in range(steps + 1)]
    found = [seen(z) for z in heights]
    cuts = [
        _edge(seen, (low, found[k]), (heights[k + 1], found[k + 1]), foot)
        for k, low in enumerate(heights[:-1])
        if (found[k] is None) != (found[k + 1] is None)
    ]
    return Reach(any(point is not None for point in found), tuple(cuts))


def _edge(
    seen: Callable[[float], Vec3 | None],
    low: tuple[float, Vec3 | None],
    high: tuple[float, Vec3 | None],
    foot: Vec3,
) -> Cut:
    lit = "below" if low[1] is not None else "above"
    for _ in range(HALVINGS):
        middle = (low[0] + high[0]) / 2.0
        now = (middle, seen(middle))
        if (now[1] is None) == (low[1] is None):
            low = now
        else:
            high = now
    source = low[1] if low[1] is not None else high[1]
    assert source is not None
    z = (low[0] + high[0]) / 2.0
    return Cut(z, lit, source, add(foot, (0.0, 0.0, z)))


def _seen_from(
    at: Vec3, inward: Vec3, samples: list[tuple[Part, Vec3]], solid: list[Shape]
) -> Iterator[Vec3]:
    for part, point in samples:
        way = subtract(at, point)
        if dot(way, inward) >= 0.0 or dot(normal_at(part.shape, point), way) <= 0.0:
            continue
        if factor_towards(part, point, at) <= 0.0 or any(stops(shape, point, way) for shape in solid):
            continue
        yield point


def _samples(shape: Shape, plane: Vec3) -> list[Vec3]:
    """Points of a shape: along the plane finely, all over it coarsely."""
    if isinstance(shape, (Disc, Rectangle)):
        line = unit(cross(plane, shape.normal))
        reach = 0.0
        if line is not None and isinstance(shape, Disc):
            reach = shape.radius
        elif line is not None and isinstance(shape, Rectangle):
            halves = [(abs(dot(line, half)), dot(half, half)) for half in (shape.half_u, shape.half_v)]
            reach = min(square / run for run, square in halves if run > TINY)
        chord = [
            blend((1.0, shape.centre), (SHRUNK * reach * (2 * k / (CHORD - 1) - 1), line))
            for k in range(CHORD)
            if line is not None
        ]
        rest = [blend((1.0 - SHRUNK, shape.centre), (SHRUNK, point)) for point in outline.points(shape)]
        return chord + rest
    return outline.points(shape)


def stops(shape: Shape, start: Vec3, way: Vec3) -> bool:
    """Whether a shape lies between a point and `start + way`, clear of both ends."""
    if isinstance(shape, (Disc, Rectangle)):
        slope = dot(way, shape.normal)
        if abs(slope) < 1e-12:
            return False
        t = dot(subtract(shape.centre, start), shape.normal) / slope
        if not TINY < t < 1.0 - TINY:
            return False
        off = subtract(add(start, scale(way, t)), shape.centre)
        if isinstance(shape, Disc):
            return dot(off, off) < shape.radius**2
        return all(abs(dot(off, half)) < dot(half, half) for half in (shape.half_u, shape.half_v))
    if isinstance(shape, Sphere):
        return any(True for _ in _roots(subtract(start, shape.centre), way, shape.radius))
    off = subtract(start, shape.centre)
    level = subtract(off, scale(shape.axis, dot(off, shape.axis)))
    run = subtract(way, scale(shape.axis, dot(way, shape.axis)))
    return any(_on_tube(shape, add(off, scale(way, t))) for t in _roots(level, run, shape.radius))


def _roots(start: Vec3, way: Vec3, radius: float) -> Iterator[float]:
    """Where start + t way is `radius` away from the origin, between the ends."""
    a, b, c = dot(way, way), dot(start, way), dot(start, start) - radius**2
    inner = b * b - a * c
    if a < 1e-18 or inner <= 0.0:
        return
    for sign in (-1.0, 1.0):
        t = (-b + sign * math.sqrt(inner)) / a
        if OFF < t < 1.0 - TINY:
            yield t


def _on_tube(tube: Tube, off: Vec3) -> bool:
    z = dot(off, tube.axis)
    if not tube.z_from <= z <= tube.z_to:
        return False
    phi = math.atan2(dot(off, tube.v), dot(off, tube.u))
    return (phi - tube.phi_from) % (2.0 * math.pi) <= tube.phi_to - tube.phi_from
