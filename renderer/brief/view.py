"""From the world to paper: a plan from above, or a section along an upright plane."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from renderer.brief.geometry import Point, hull
from renderer.scene.parts import Disc, Rectangle, Shape, Sphere, Tube, Vec3
from renderer.scene.vector import blend, dot

SEAM = 72
"""Points round a rim."""


@dataclass(frozen=True)
class View:
    """Directions (unit) in the world that run to the right and up the paper."""

    across: Vec3
    up: Vec3

    @property
    def is_plan(self) -> bool:
        return self.up[2] == 0.0

    def at(self, point: Vec3) -> Point:
        """Metres on paper at full size; (0, 0) is the origin of the world."""
        return dot(point, self.across), dot(point, self.up)

    def outline(self, shape: Shape) -> list[Point]:
        """The outline of a shape: a convex area, or a line where it is seen on its edge."""
        if isinstance(shape, Sphere):
            x, y = self.at(shape.centre)
            turns = [2.0 * math.pi * k / SEAM for k in range(SEAM)]
            return [(x + shape.radius * math.cos(t), y + shape.radius * math.sin(t)) for t in turns]
        return hull(self.at(point) for point in rim(shape))

    def outline_of(self, shapes: Iterable[Shape]) -> list[Point]:
        """The hull of several shapes."""
        return hull(point for shape in shapes for point in self.outline(shape))


PLAN = View((1.0, 0.0, 0.0), (0.0, -1.0, 0.0))
"""From above, the camera below: camera right is to the right of the paper."""


def section(across: Vec3) -> View:
    """A section along a level direction (unit)."""
    return View(across, (0.0, 0.0, 1.0))


def rim(shape: Disc | Rectangle | Tube) -> list[Vec3]:
    """World points of its edges."""
    if isinstance(shape, Rectangle):
        signs = ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
        return [blend((1.0, shape.centre), (a, shape.half_u), (b, shape.half_v)) for a, b in signs]
    if isinstance(shape, Tube):
        return [point for z in (shape.z_from, shape.z_to) for point in ring(shape, z)]
    u, v = _square_to(shape.normal)
    turns = [2.0 * math.pi * k / SEAM for k in range(SEAM)]
    radius = shape.radius
    return [blend((1.0, shape.centre), (radius * math.cos(t), u), (radius * math.sin(t), v)) for t in turns]


def ring(tube: Tube, z: float) -> list[Vec3]:
    """The arc of a tube at a height along its axis."""
    turn = tube.phi_to - tube.phi_from
    steps = max(2, math.ceil(SEAM * turn / (2.0 * math.pi)))
    phis = [tube.phi_from + turn * k / steps for k in range(steps + 1)]
    return [
        blend(
            (1.0, tube.centre),
            (tube.radius * math.cos(phi), tube.u),
            (tube.radius * math.sin(phi), tube.v),
            (z, tube.axis),
        )
        for phi in phis
    ]


def _square_to(n: Vec3) -> tuple[Vec3, Vec3]:
    """Two directions (unit) square to `n` and to each other."""
    level = math.hypot(n[0], n[1])
    u: Vec3 = (1.0, 0.0, 0.0) if level < 1e-9 else (n[1] / level, -n[0] / level, 0.0)
    v: Vec3 = (u[1] * n[2] - u[2] * n[1], u[2] * n[0] - u[0] * n[2], u[0] * n[1] - u[1] * n[0])
    return u, v
