"""Shapes asked one by one: what their samplers give, beside plain rays that share no code with them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from renderer.kernels.compiler import entry
from renderer.kernels.shapes import intersect, pdf_solid_angle, sample, solid_angle
from renderer.kernels.vector import triple as row
from renderer.scene.parts import Disc, Part, Rectangle, Sphere, Tube
from renderer.world.shape import pack_shapes

Rays = tuple[np.ndarray, np.ndarray]


@entry
def draw(shapes, origin, points, out):
    """For each point of the unit square: w_i (3), distance, density, then what `intersect` and
    `pdf_solid_angle` say of this direction: distance, front (0, 1), density."""
    for i in range(points.shape[0]):
        w_i, distance, pdf = sample(shapes[0], row(origin), points[i, 0], points[i, 1])
        t, front = intersect(shapes[0], row(origin), w_i)
        out[i, 0], out[i, 1], out[i, 2], out[i, 3], out[i, 4] = w_i[0], w_i[1], w_i[2], distance, pdf
        out[i, 5], out[i, 6] = t, 1.0 if front else 0.0
        out[i, 7] = pdf_solid_angle(shapes[0], row(origin), w_i, t)


@entry
def densities(shapes, origin, directions, out):
    """Distance, front (0, 1) and density (of a front, else 0) along each direction."""
    for i in range(directions.shape[0]):
        w_i = row(directions[i])
        t, front = intersect(shapes[0], row(origin), w_i)
        out[i, 0], out[i, 1], out[i, 2] = t, 1.0 if front else 0.0, 0.0
        if front and t > 0.0:
            out[i, 2] = pdf_solid_angle(shapes[0], row(origin), w_i, t)


@entry
def rough(shapes, origins, out):
    """`solid_angle` from each place."""
    for i in range(origins.shape[0]):
        out[i] = solid_angle(shapes[0], row(origins[i]))


def record(part: Part) -> np.ndarray:
    return pack_shapes([[part]], []).shapes


@dataclass(frozen=True)
class Drawn:
    """Samples (n, ...) of a shape from one place."""

    w_i: np.ndarray
    distance: np.ndarray
    pdf: np.ndarray
    met: np.ndarray
    front: np.ndarray
    pdf_again: np.ndarray


def drawn(part: Part, origin: np.ndarray, points: np.ndarray) -> Drawn:
    out = np.empty((len(points), 8))
    draw(record(part), np.asarray(origin, float), points, out)
    return Drawn(out[:, :3], out[:, 3], out[:, 4], out[:, 5], out[:, 6] > 0.5, out[:, 7])


def cap_about(part: Part, origin: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """A cone of directions that holds a shape: axis, two axes across it (2, 3), 1 - cos of its half angle."""
    shape = record(part)[0]
    to_middle = shape["middle"] - origin
    distance2 = float(to_middle @ to_middle)
    if distance2 <= shape["reach"] ** 2 * 1.0001:
        return np.array([0.0, 0.0, 1.0]), np.eye(3)[:2], 2.0
    sin2 = shape["reach"] ** 2 / distance2
    axis = to_middle / math.sqrt(distance2)
    u = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
    u /= np.linalg.norm(u)
    return axis, np.array([u, np.cross(axis, u)]), sin2 / (1.0 + math.sqrt(1.0 - sin2))


def over_cap(part: Part, origin: np.ndarray, points: np.ndarray) -> tuple[np.ndarray, float]:
    """(n, 3) directions uniform in the cap about a shape, and its solid angle."""
    axis, across, one_minus_cos = cap_about(part, origin)
    gap = one_minus_cos * points[:, 0]
    r, phi = np.sqrt(gap * (2.0 - gap)), 2.0 * math.pi * points[:, 1]
    flat = np.stack([r * np.cos(phi), r * np.sin(phi)], axis=1) @ across
    return flat + (1.0 - gap)[:, None] * axis, 2.0 * math.pi * one_minus_cos


@dataclass(frozen=True)
class Spread:
    """Directions (n, 3) over what is seen of a shape, their distances, and the solid angle of each: the
    mean of `solid_angle` is that of the shape."""

    w_i: np.ndarray
    distance: np.ndarray
    solid_angle: np.ndarray


def spread(part: Part, origin: np.ndarray, points: np.ndarray) -> Spread:
    """By rays over the cap of a round shape that fills much of it, else by area: cosine / distance^2."""
    shape = part.shape
    if isinstance(shape, Sphere | Tube):
        w_i, solid_angle = over_cap(part, origin, points)
        t, front = plain_rays(part, origin, w_i)
        lit = np.isfinite(t) & front
        if lit.mean() > 0.1:
            return Spread(w_i, t, solid_angle * lit)
    place, normal, area = over_area(part, points)
    to_point = place - origin
    distance = np.linalg.norm(to_point, axis=1)
    w_i = to_point / distance[:, None]
    cosine = np.maximum(0.0, -(w_i * normal).sum(axis=1))
    return Spread(w_i, distance, area * cosine / distance**2)


def over_area(part: Part, points: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """(n, 3) points uniform over a shape, their normals, and its area."""
    shape, packed = part.shape, record(part)[0]
    frame = np.array([packed["u"], packed["v"], packed["w"]])
    first, second = points.T
    if isinstance(shape, Disc | Rectangle):
        if isinstance(shape, Disc):
            r, phi = shape.radius * np.sqrt(first), 2.0 * math.pi * second
            x, y, area = r * np.cos(phi), r * np.sin(phi), math.pi * shape.radius**2
        else:
            half_u, half_v = packed["size_u"], packed["size_v"]
            x, y, area = (2 * first - 1) * half_u, (2 * second - 1) * half_v, 4.0 * half_u * half_v
        normal = np.tile(np.array(shape.normal), (len(points), 1))
        return np.array(shape.centre) + np.stack([x, y], axis=1) @ frame[:2], normal, area
    if isinstance(shape, Sphere):
        z, phi = 2.0 * first - 1.0, 2.0 * math.pi * second
        r = np.sqrt(1.0 - z * z)
        normal = np.stack([r * np.cos(phi), r * np.sin(phi), z], axis=1)
        return np.array(shape.centre) + shape.radius * normal, normal, 4.0 * math.pi * shape.radius**2
    frame = np.array(
        [shape.u, shape.v, shape.axis]
    )  # as written: the packed axes start elsewhere on the turn
    phi = shape.phi_from + first * (shape.phi_to - shape.phi_from)
    z = shape.z_from + second * (shape.z_to - shape.z_from)
    normal = np.stack([np.cos(phi), np.sin(phi)], axis=1) @ frame[:2]
    area = shape.radius * (shape.phi_to - shape.phi_from) * (shape.z_to - shape.z_from)
    return np.array(shape.centre) + shape.radius * normal + z[:, None] * frame[2], normal, area


def coordinates(part: Part, origin: np.ndarray, w_i: np.ndarray, distance: np.ndarray) -> np.ndarray:
    """(n, 2) where on the shape a direction ends: along u and v, or turn from the observer and height."""
    packed = record(part)[0]
    frame = np.array([packed["u"], packed["v"], packed["w"]])
    observer = frame @ (origin - packed["centre"])
    if isinstance(part.shape, Sphere):
        axis, across, _ = cap_about(part, origin)
        x, y = (w_i @ across.T).T
        return np.stack([((w_i - axis) ** 2).sum(axis=1), np.arctan2(y, x)], axis=1)
    x, y, z = (observer + (w_i * distance[:, None]) @ frame.T).T
    if not isinstance(part.shape, Tube):
        return np.stack([x, y], axis=1)
    turn = np.arctan2(y, x) - math.atan2(observer[1], observer[0])
    return np.stack([(turn + math.pi) % (2.0 * math.pi), z], axis=1)


def plain_rays(part: Part, origin: np.ndarray, w_i: np.ndarray) -> Rays:
    """(distance or inf, front) along each direction, from the equations of the surface."""
    shape, o = part.shape, np.asarray(origin, float)
    if isinstance(shape, Disc | Rectangle):
        n = np.array(shape.normal)
        with np.errstate(divide="ignore", invalid="ignore"):
            t = ((np.array(shape.centre) - o) @ n) / (w_i @ n)
            across = o + t[:, None] * w_i - np.array(shape.centre)
        if isinstance(shape, Disc):
            inside = (across**2).sum(axis=1) <= shape.radius**2
        else:
            sides = [np.array(side) for side in (shape.half_u, shape.half_v)]
            inside = np.logical_and(*(np.abs(across @ side) <= side @ side for side in sides))
        return np.where(inside & (t > 0.0), t, np.inf), w_i @ n < 0.0
    if isinstance(shape, Sphere):
        frame, centre = np.eye(3), np.array(shape.centre)
    else:
        frame, centre = np.array([shape.u, shape.v, shape.axis]), np.array(shape.centre)
    p, d = frame @ (o - centre), w_i @ frame.T
    flat = slice(0, 3) if isinstance(shape, Sphere) else slice(0, 2)
    a = (d[:, flat] ** 2).sum(axis=1)
    b, c = d[:, flat] @ p[flat], p[flat] @ p[flat] - shape.radius**2
    root = np.sqrt(np.where(b * b >= a * c, b * b - a * c, np.nan))
    best = np.full(len(w_i), np.inf)
    for t in ((-b + root) / a, (-b - root) / a):
        good = np.nan_to_num(t, nan=-1.0) > 0.0
        if isinstance(shape, Tube):
            x, y, z = (p + t[:, None] * d).T
            turn = (np.arctan2(y, x) - shape.phi_from) % (2.0 * math.pi)
            good &= (z >= shape.z_from) & (z <= shape.z_to) & (turn <= shape.phi_to - shape.phi_from)
        best = np.where(good, t, best)
    at = p + np.where(np.isfinite(best), best, 0.0)[:, None] * d
    return best, (at[:, flat] * d[:, flat]).sum(axis=1) < 0.0
