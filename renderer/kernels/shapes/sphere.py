"""Sphere: sampled uniformly in the cone that it fills."""

import math

from renderer.kernels.compiler import kernel
from renderer.kernels.vector import dot, from_frame, scale, sub, tangents, triple, unit
from renderer.kernels.warp import square_to_cone


@kernel
def intersect(shape, origin, direction):
    """Distance along the ray (-1 for none) and whether the outside was met."""
    offset = sub(origin, triple(shape.centre))
    b = dot(offset, direction)
    # distance of the ray from the centre, from the perpendicular foot: no cancellation far away
    foot = sub(offset, scale(direction, b))
    root2 = shape.size_u * shape.size_u - dot(foot, foot)
    if root2 < 0.0:
        return -1.0, False
    root = math.sqrt(root2)
    if -b - root > 0.0:
        return -b - root, True
    if -b + root > 0.0:
        return -b + root, False
    return -1.0, False


@kernel
def normal_at(shape, point):
    return unit(sub(point, triple(shape.centre)))


@kernel
def place_on(shape, point):
    """Where a point lies, 0..1: its height along w, its turn from u."""
    offset = sub(point, triple(shape.centre))
    x, y, z = dot(offset, triple(shape.u)), dot(offset, triple(shape.v)), dot(offset, triple(shape.w))
    return 0.5 + 0.5 * z / shape.size_u, (math.atan2(y, x) / (2.0 * math.pi)) % 1.0, True


@kernel
def one_minus_cos_of_cone(shape, distance2):
    """1 - cos of the half angle of the sphere seen from outside."""
    sin2 = shape.size_u * shape.size_u / distance2
    return sin2 / (1.0 + math.sqrt(max(0.0, 1.0 - sin2)))


@kernel
def sample(shape, origin, u1, u2):
    """Direction uniform in solid angle over the sphere, its distance and pdf_solid_angle (0: none)."""
    to_centre = sub(triple(shape.centre), origin)
    distance2 = dot(to_centre, to_centre)
    if distance2 <= shape.size_u * shape.size_u:
        return (0.0, 0.0, 1.0), 0.0, 0.0
    gap = one_minus_cos_of_cone(shape, distance2)
    x, y, z = square_to_cone(u1, u2, gap)
    axis = scale(to_centre, 1.0 / math.sqrt(distance2))
    s, t = tangents(axis)
    w_i = from_frame(x, y, z, s, t, axis)
    b = dot(to_centre, w_i)
    foot = sub(to_centre, scale(w_i, b))
    distance = b - math.sqrt(max(0.0, shape.size_u * shape.size_u - dot(foot, foot)))
    return w_i, distance, 1.0 / (2.0 * math.pi * gap)


@kernel
def pdf_solid_angle(shape, origin, direction, distance):
    """Density with which `sample` gives a direction that meets the outside."""
    to_centre = sub(triple(shape.centre), origin)
    distance2 = dot(to_centre, to_centre)
    if distance2 <= shape.size_u * shape.size_u:
        return 0.0
    return 1.0 / (2.0 * math.pi * one_minus_cos_of_cone(shape, distance2))


@kernel
def solid_angle(shape, point):
    """Of the outside [sr]; 0 from within."""
    to_middle = sub(triple(shape.centre), point)
    sine2 = shape.size_u * shape.size_u / (dot(to_middle, to_middle) + 1e-30)
    return 2.0 * math.pi * sine2 / (1.0 + math.sqrt(1.0 - sine2)) if sine2 < 1.0 else 0.0
