"""Extents and sample points of shapes, for checks of what fits where."""

from __future__ import annotations

import math
from collections.abc import Iterable

from renderer.scene.parts import Disc, Rectangle, Shape, Sphere, Tube, Vec3
from renderer.scene.vector import blend

RINGS = 4
SPOKES = 24
STEPS = 9


def extents(shape: Shape) -> tuple[Vec3, Vec3]:
    """Exact corners (lowest, highest) of the box round a shape, sides along the world's axes [m]."""
    spans = [_span(shape, i) for i in range(3)]
    (x0, x1), (y0, y1), (z0, z1) = spans
    return (x0, y0, z0), (x1, y1, z1)


def box(shapes: Iterable[Shape]) -> tuple[Vec3, Vec3]:
    """The box round several shapes; there has to be at least one."""
    boxes = [extents(shape) for shape in shapes]
    lows, highs = [low for low, _ in boxes], [high for _, high in boxes]
    lowest = min(p[0] for p in lows), min(p[1] for p in lows), min(p[2] for p in lows)
    highest = max(p[0] for p in highs), max(p[1] for p in highs), max(p[2] for p in highs)
    return lowest, highest


def _span(shape: Shape, i: int) -> tuple[float, float]:
    middle = shape.centre[i]
    if isinstance(shape, Sphere):
        return middle - shape.radius, middle + shape.radius
    if isinstance(shape, Disc):
        reach = shape.radius * math.sqrt(max(0.0, 1.0 - shape.normal[i] ** 2))
        return middle - reach, middle + reach
    if isinstance(shape, Rectangle):
        reach = abs(shape.half_u[i]) + abs(shape.half_v[i])
        return middle - reach, middle + reach
    ring = [shape.radius * value for value in _turning_points(shape, i)]
    ends = (shape.z_from * shape.axis[i], shape.z_to * shape.axis[i])
    return middle + min(ring) + min(ends), middle + max(ring) + max(ends)


def _turning_points(tube: Tube, i: int) -> list[float]:
    """cos(phi) u_i + sin(phi) v_i at the ends of the tube's turn and where it is greatest and least in it."""
    angles = [tube.phi_from, tube.phi_to]
    peak = math.atan2(tube.v[i], tube.u[i])
    first = math.ceil((tube.phi_from - peak) / math.pi)
    last = math.floor((tube.phi_to - peak) / math.pi)
    angles += [peak + k * math.pi for k in range(first, last + 1)]
    return [math.cos(phi) * tube.u[i] + math.sin(phi) * tube.v[i] for phi in angles]


def points(shape: Shape) -> list[Vec3]:
    """World points spread over a shape, its rim included [m]."""
    if isinstance(shape, Rectangle):
        steps = [2 * k / (STEPS - 1) - 1 for k in range(STEPS)]
        return [
            blend((1.0, shape.centre), (a, shape.half_u), (b, shape.half_v)) for a in steps for b in steps
        ]
    if isinstance(shape, Tube):
        turns = [shape.phi_from + k / SPOKES * (shape.phi_to - shape.phi_from) for k in range(SPOKES + 1)]
        levels = [shape.z_from + k / RINGS * (shape.z_to - shape.z_from) for k in range(RINGS + 1)]
        return [
            blend(
                (1.0, shape.centre),
                (shape.radius * math.cos(phi), shape.u),
                (shape.radius * math.sin(phi), shape.v),
                (z, shape.axis),
            )
            for phi in turns
            for z in levels
        ]
    rim = [(math.cos(2 * math.pi * k / SPOKES), math.sin(2 * math.pi * k / SPOKES)) for k in range(SPOKES)]
    if isinstance(shape, Sphere):
        tilts = [math.pi * k / (2 * RINGS) for k in range(2 * RINGS + 1)]
        x, y, z = shape.centre
        r = shape.radius
        return [
            (x + r * math.sin(t) * a, y + r * math.sin(t) * b, z + r * math.cos(t))
            for t in tilts
            for a, b in rim
        ]
    u, v = _square_to(shape.normal)
    radii = [shape.radius * k / RINGS for k in range(RINGS + 1)]
    return [blend((1.0, shape.centre), (r * a, u), (r * b, v)) for r in radii for a, b in rim]


def _square_to(normal: Vec3) -> tuple[Vec3, Vec3]:
    """Two directions (unit) square to `normal` and to each other (Duff et al., JCGT 6(1), 2017, eq. 3)."""
    x, y, z = normal
    sign = math.copysign(1.0, z)
    a = -1.0 / (sign + z)
    b = x * y * a
    return (1.0 + sign * x * x * a, sign * b, -sign * x), (b, sign + y * y * a, -y)
