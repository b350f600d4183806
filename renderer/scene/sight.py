"""What an eye or a lens sees of things: angles, sizes, whether they are in the picture. Nothing is traced."""

from __future__ import annotations

import math
from collections.abc import Iterable

from renderer.scene import outline, place
from renderer.scene.beam import factor_towards
from renderer.scene.camera import Camera
from renderer.scene.parts import Disc, Part, Rectangle, Shape, Sphere, Tube, Vec3
from renderer.scene.vector import across, add, dot, length, scale, subtract, unit

GRAZE = 1e-6
"""Share of a line of sight at its ends, where it touches what it starts from."""


def bearing(camera: Camera, eyes: Vec3, point: Vec3) -> tuple[float, float, float]:
    """Azimuth [deg, positive to camera right], elevation [deg] and distance [m] of a point from the eyes."""
    away = subtract(point, eyes)
    elevation = math.degrees(math.atan2(away[2], math.hypot(away[0], away[1])))
    return place.azimuth_of(camera, point), elevation, length(away)


def angle(a: Vec3, b: Vec3) -> float:
    """Angle [deg] between two directions of any length above 0."""
    cosine = dot(a, b) / (length(a) * length(b))
    return math.degrees(math.acos(max(-1.0, min(1.0, cosine))))


def seen_points(part: Part, eye: Vec3, among: Iterable[Part] = ()) -> list[Vec3]:
    """Sample points of the front of a part that is turned to the eye, and that its beam does not hide.

    among  other parts of its light, which hide what is behind them: a head behind a sheet, a lamp in a shade;
           the small share that fabric passes straight is left out
    """
    shape = part.shape
    others = [other.shape for other in among if other is not part and other.mask is None]
    turned = [p for p in outline.points(shape) if dot(normal_at(shape, p), subtract(eye, p)) > 0]
    lit = [point for point in turned if factor_towards(part, point, eye) > 0]
    return [point for point in lit if not any(_hides(other, point, eye) for other in others)]


def _hides(shape: Shape, point: Vec3, eye: Vec3) -> bool:
    """Whether a flat shape or a tube stands between a point and the eye."""
    if isinstance(shape, Tube):
        return _tube_hides(shape, point, eye)
    if not isinstance(shape, (Disc, Rectangle)):
        return False
    way, to_plane = subtract(eye, point), dot(subtract(shape.centre, point), shape.normal)
    depth = dot(way, shape.normal)
    if not 0.0 < to_plane / depth < 1.0 if depth else True:
        return False
    off = subtract(add(point, scale(way, to_plane / depth)), shape.centre)
    if isinstance(shape, Disc):
        return length(off) < shape.radius
    return all(abs(dot(off, half)) < dot(half, half) for half in (shape.half_u, shape.half_v))


def _tube_hides(tube: Tube, point: Vec3, eye: Vec3) -> bool:
    start, way = subtract(point, tube.centre), subtract(eye, point)
    x, y, z = (dot(start, axis) for axis in (tube.u, tube.v, tube.axis))
    dx, dy, dz = (dot(way, axis) for axis in (tube.u, tube.v, tube.axis))
    a, b = dx * dx + dy * dy, x * dx + y * dy
    inside = b * b - a * (x * x + y * y - tube.radius**2)
    if a == 0.0 or inside <= 0.0:
        return False
    for t in ((-b - math.sqrt(inside)) / a, (-b + math.sqrt(inside)) / a):
        turn = (math.atan2(y + t * dy, x + t * dx) - tube.phi_from) % (2.0 * math.pi)
        met = tube.z_from <= z + t * dz <= tube.z_to and turn <= tube.phi_to - tube.phi_from
        if met and GRAZE < t < 1.0 - GRAZE:
            return True
    return False


def normal_at(shape: Shape, point: Vec3) -> Vec3:
    """Direction that the front has at a point of the shape."""
    if isinstance(shape, (Disc, Rectangle)):
        return shape.normal
    away = subtract(point, shape.centre)
    if isinstance(shape, Sphere):
        return away
    return across(away, shape.axis) or shape.u


def open_parts(parts: Iterable[Part]) -> list[Part]:
    """The parts that send out light."""
    return [part for part in parts if part.luminance > 0]


def angular_size(parts: Iterable[Part], eye: Vec3) -> float:
    """Widest angle [deg] over the faces that send light to the eye, by sample points; 0 if none does.

    For a sphere it is 2 asin(R / d). Nothing that stands between is counted but its own flat parts.
    """
    parts = list(parts)
    shining = open_parts(parts)
    shapes = [part.shape for part in shining]
    if len(shapes) == 1 and isinstance(shapes[0], Sphere):
        distance = length(subtract(shapes[0].centre, eye))
        return math.degrees(2 * math.asin(min(1.0, shapes[0].radius / distance)))
    rays = [unit(subtract(point, eye)) for part in shining for point in seen_points(part, eye, parts)]
    directions = [ray for ray in rays if ray is not None]
    least = min((dot(a, b) for i, a in enumerate(directions) for b in directions[:i]), default=1.0)
    return math.degrees(math.acos(max(-1.0, min(1.0, least))))


def in_picture(camera: Camera, parts: Iterable[Part]) -> bool:
    """Whether a sample point of the parts is inside the frame of the lens, hidden or not."""
    lens = place.camera_place(camera)
    half_width = camera.sensor_width_mm / (2 * camera.lens_mm)
    half_height = half_width * camera.picture[1] / camera.picture[0]
    for part in parts:
        for point in outline.points(part.shape):
            away = subtract(point, lens.at)
            depth = dot(away, lens.forward)
            across_frame, up_frame = abs(dot(away, lens.right)), abs(dot(away, lens.up))
            if depth > 0 and across_frame < half_width * depth and up_frame < half_height * depth:
                return True
    return False
