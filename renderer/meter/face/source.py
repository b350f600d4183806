"""A light as seen from a point: how large it looks, where its middle and its lower edge stand.

Whatever hides it counts (skirts, cards, flags), the sitter does not: this is the light as it comes to
the head, before the face makes shadows of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from renderer.kernels.layout import PackedScene
from renderer.meter.face.points import Tracer, lights_seen

RAYS = 96  # a side of the lattice of directions


@dataclass(frozen=True)
class Source:
    """solid_angle [sr]; to_middle: unit direction to the middle, weighted by luminance; directions (n, 3):
    of the rays that met the light; spacing: angle between neighbouring rays [rad]."""

    solid_angle: float
    to_middle: np.ndarray
    directions: np.ndarray
    spacing: float
    luminance: float

    @property
    def angular_size(self) -> float:
        """Full angle [deg] of the round cone of the same solid angle; of a disc on axis 2 atan(D / 2d)."""
        return math.degrees(2.0 * math.acos(max(-1.0, 1.0 - self.solid_angle / (2.0 * math.pi))))

    @property
    def angular_error(self) -> float:
        """Error [deg] of the lattice: the chance part of a count along the outline, as for random cells."""
        rim = math.sqrt(4.0 * math.pi * self.solid_angle)
        cell = self.spacing**2
        error = cell * math.sqrt(max(1.0, rim / self.spacing) / 12.0)
        slope = math.sin(math.radians(0.5 * self.angular_size)) * math.pi
        return math.degrees(error / max(slope, self.spacing))


def angles(direction: np.ndarray) -> tuple[float, float]:
    """Azimuth from the nose (positive to the sitter's left) and elevation over the level of the eyes [deg],
    of a direction in the head frame."""
    x, y, z = direction
    return math.degrees(math.atan2(y, x)), math.degrees(math.atan2(z, math.hypot(x, y)))


def look_at(tracer: Tracer, bare: PackedScene, light: int, at: np.ndarray) -> Source | None:
    """The light numbered `light` as seen from the world point `at`; None where none of it is seen.

    bare  the scene without the sitter
    """
    record = bare.lights[light]
    shapes = bare.shapes[record["first"] : record["first"] + record["count"]]
    if len(shapes) == 0:
        return None
    to_middle = shapes["middle"] - at
    distance = np.linalg.norm(to_middle, axis=1)
    axis = (to_middle * (shapes["area"] / np.maximum(distance, 1e-6) ** 3)[:, None]).sum(axis=0)
    length = float(np.linalg.norm(axis))
    axis = axis / length if length > 0.0 else np.array([0.0, 0.0, 1.0])
    reach = np.arcsin(np.minimum(1.0, shapes["reach"] / np.maximum(distance, 1e-6)))
    off = np.arccos(np.clip(to_middle @ axis / np.maximum(distance, 1e-6), -1.0, 1.0))
    half = min(math.pi, float((off + np.where(shapes["reach"] >= distance, math.pi, reach)).max()) * 1.02)
    rays, cell = _cone(axis, half)
    seen = tracer.seen(bare, np.broadcast_to(at, rays.shape), rays)
    met = lights_seen(bare, seen) == light
    if not met.any():
        return None
    strength = bare.shapes["luminance"][seen["number"][met]]
    middle = (rays[met] * strength[:, None]).sum(axis=0)
    return Source(
        float(met.sum()) * cell,
        middle / np.linalg.norm(middle),
        rays[met],
        math.sqrt(cell),
        float(strength.mean()),
    )


def _cone(axis: np.ndarray, half_angle: float) -> tuple[np.ndarray, float]:
    """Directions (n, 3) that share out a cone evenly, and the solid angle of each [sr].

    A square lattice brought into the disc of the azimuthal equal-area projection.
    """
    radius = 2.0 * math.sin(0.5 * half_angle)  # projected: solid angle = area
    step = 2.0 * radius / RAYS
    line = -radius + (np.arange(RAYS) + 0.5) * step
    px, py = (grid.ravel() for grid in np.meshgrid(line, line))
    r2 = px**2 + py**2
    keep = r2 <= min(radius**2, 4.0)
    px, py, r2 = px[keep], py[keep], r2[keep]
    z = 1.0 - 0.5 * r2
    bend = np.sqrt(np.maximum(0.0, 1.0 - 0.25 * r2))
    least = np.zeros(3)
    least[int(np.argmin(np.abs(axis)))] = 1.0
    u = np.cross(axis, least)
    u /= np.linalg.norm(u)
    v = np.cross(axis, u)
    return (px * bend)[:, None] * u + (py * bend)[:, None] * v + z[:, None] * axis, step**2
