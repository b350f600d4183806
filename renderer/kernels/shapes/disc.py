"""Flat disc: sampled by area."""

import math

from renderer.kernels.compiler import kernel
from renderer.kernels.shapes import flat
from renderer.kernels.vector import along, dot, from_frame, scale, sub, triple
from renderer.kernels.warp import square_to_disc

solid_angle = flat.solid_angle


@kernel
def intersect(shape, origin, direction):
    """Distance along the ray (-1 for none) and whether the front was met."""
    w = triple(shape.w)
    cosine = dot(direction, w)
    if cosine == 0.0:
        return -1.0, False
    t = dot(sub(triple(shape.centre), origin), w) / cosine
    if t <= 0.0:
        return -1.0, False
    offset = sub(along(origin, direction, t), triple(shape.centre))
    if dot(offset, offset) > shape.size_u * shape.size_u:
        return -1.0, False
    return t, cosine < 0.0


@kernel
def normal_at(shape, point):
    return triple(shape.w)


@kernel
def place_on(shape, point):
    """Where a point lies, 0..1: its share of the area from the middle out, its turn from u; both go round."""
    offset = sub(point, triple(shape.centre))
    x, y = dot(offset, triple(shape.u)), dot(offset, triple(shape.v))
    turn = math.atan2(y, x) / (2.0 * math.pi)
    return (x * x + y * y) / (shape.size_u * shape.size_u), turn % 1.0, True


@kernel
def sample(shape, origin, u1, u2):
    """Direction to a point uniform over the front, its distance and pdf_solid_angle (0: none)."""
    x, y = square_to_disc(u1, u2)
    offset = from_frame(
        x * shape.size_u, y * shape.size_u, 0.0, triple(shape.u), triple(shape.v), triple(shape.w)
    )
    centre = triple(shape.centre)
    to_point = sub((centre[0] + offset[0], centre[1] + offset[1], centre[2] + offset[2]), origin)
    distance2 = dot(to_point, to_point)
    distance = math.sqrt(distance2)
    w_i = scale(to_point, 1.0 / distance)
    cosine = -dot(w_i, triple(shape.w))
    if cosine <= 0.0:
        return w_i, distance, 0.0
    return w_i, distance, distance2 / (shape.area * cosine)


@kernel
def pdf_solid_angle(shape, origin, direction, distance):
    """Density with which `sample` gives a direction that meets the front at `distance`."""
    cosine = -dot(direction, triple(shape.w))
    if cosine <= 0.0:
        return 0.0
    return distance * distance / (shape.area * cosine)
