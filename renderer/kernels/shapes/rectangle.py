"""Flat rectangle: sampled uniformly in solid angle.

source  Urena, Fajardo, King, An Area-Preserving Parametrization for Spherical Rectangles, EGSR 2013
"""

import math

from renderer.kernels.compiler import kernel
from renderer.kernels.shapes import flat
from renderer.kernels.vector import along, dot, from_frame, scale, sub, triple

# Below this solid angle [sr] the angle sums cancel; the rectangle is then sampled by area.
SMALL = 1e-4


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
    if abs(dot(offset, triple(shape.u))) > shape.size_u or abs(dot(offset, triple(shape.v))) > shape.size_v:
        return -1.0, False
    return t, cosine < 0.0


@kernel
def normal_at(shape, point):
    return triple(shape.w)


@kernel
def place_on(shape, point):
    """Where a point lies, 0..1 each: along v from below, along u."""
    offset = sub(point, triple(shape.centre))
    x, y = dot(offset, triple(shape.u)), dot(offset, triple(shape.v))
    return 0.5 + 0.5 * y / shape.size_v, 0.5 + 0.5 * x / shape.size_u, False


@kernel
def edges_from(shape, origin):
    """The rectangle seen from `origin`: x0, x1, y0, y1 along u and v, and depth z0 < 0 before it."""
    offset = sub(triple(shape.centre), origin)
    x, y = dot(offset, triple(shape.u)), dot(offset, triple(shape.v))
    return (
        x - shape.size_u,
        x + shape.size_u,
        y - shape.size_v,
        y + shape.size_v,
        dot(offset, triple(shape.w)),
    )


@kernel
def turned(c0, s0, c1, s1):
    """Cosine and sine of the sum of two angles."""
    return c0 * c1 - s0 * s1, s0 * c1 + c0 * s1


@kernel
def angles(x0, x1, y0, y1, z0):
    """Solid angle [sr], cosine and sine of the sum of the last two interior angles, and cosines of two sides.

    With n the normals of the four planes through the edges, gamma_i = acos(-n_i . n_(i+1)), and the solid
    angle is their sum less 2 pi. Angles are added by their cosines and sines, so that one is ever worked out.
    """
    # z components of the plane normals; the other component of each follows from unit length
    n0 = -y0 / math.sqrt(z0 * z0 + y0 * y0)
    n1 = x1 / math.sqrt(z0 * z0 + x1 * x1)
    n2 = y1 / math.sqrt(z0 * z0 + y1 * y1)
    n3 = -x0 / math.sqrt(z0 * z0 + x0 * x0)
    c0, c1, c2, c3 = -n0 * n1, -n1 * n2, -n2 * n3, -n3 * n0
    first_c, first_s = turned(c0, sine_for(c0), c1, sine_for(c1))
    last_c, last_s = turned(c2, sine_for(c2), c3, sine_for(c3))
    whole_c, whole_s = turned(first_c, first_s, last_c, last_s)
    solid_angle = math.atan2(whole_s, whole_c)
    if solid_angle < -SMALL:
        solid_angle += 2.0 * math.pi
    return solid_angle, last_c, last_s, n0, n2


@kernel
def sine_for(cosine):
    """Of an angle from 0 to pi."""
    return math.sqrt(max(0.0, 1.0 - cosine * cosine))


@kernel
def area_sample(shape, origin, u1, u2):
    offset = from_frame(
        (2.0 * u1 - 1.0) * shape.size_u,
        (2.0 * u2 - 1.0) * shape.size_v,
        0.0,
        triple(shape.u),
        triple(shape.v),
        triple(shape.w),
    )
    centre = triple(shape.centre)
    to_point = sub((centre[0] + offset[0], centre[1] + offset[1], centre[2] + offset[2]), origin)
    distance = math.sqrt(dot(to_point, to_point))
    return scale(to_point, 1.0 / distance), distance


@kernel
def sample(shape, origin, u1, u2):
    """Direction into the front uniform in solid angle, its distance and pdf_solid_angle (0: none)."""
    x0, x1, y0, y1, z0 = edges_from(shape, origin)
    if z0 >= 0.0:
        return (0.0, 0.0, 1.0), 0.0, 0.0
    solid_angle, last_c, last_s, b0, b1 = angles(x0, x1, y0, y1, z0)
    if solid_angle < SMALL:
        w_i, distance = area_sample(shape, origin, u1, u2)
        return w_i, distance, pdf_by_area(shape, w_i, distance)
    part = u1 * solid_angle
    au_c, au_s = turned(math.cos(part), math.sin(part), last_c, -last_s)
    fu = (au_c * b0 - b1) / au_s
    cu = 1.0 / math.sqrt(fu * fu + b0 * b0)
    cu = cu if fu > 0.0 else -cu
    cu = min(1.0, max(-1.0, cu))
    xu = -(cu * z0) / math.sqrt(max(1e-30, 1.0 - cu * cu))
    xu = min(x1, max(x0, xu))
    d2 = xu * xu + z0 * z0
    h0 = y0 / math.sqrt(d2 + y0 * y0)
    h1 = y1 / math.sqrt(d2 + y1 * y1)
    hv = h0 + u2 * (h1 - h0)
    yv = hv * math.sqrt(d2) / math.sqrt(max(1e-30, 1.0 - hv * hv)) if hv * hv < 1.0 - 1e-12 else y1
    yv = min(y1, max(y0, yv))
    to_point = from_frame(xu, yv, z0, triple(shape.u), triple(shape.v), triple(shape.w))
    distance = math.sqrt(dot(to_point, to_point))
    return scale(to_point, 1.0 / distance), distance, 1.0 / solid_angle


@kernel
def pdf_by_area(shape, direction, distance):
    return distance * distance / (shape.area * max(1e-12, -dot(direction, triple(shape.w))))


@kernel
def pdf_solid_angle(shape, origin, direction, distance):
    """Density with which `sample` gives a direction that meets the front at `distance`."""
    x0, x1, y0, y1, z0 = edges_from(shape, origin)
    if z0 >= 0.0:
        return 0.0
    solid_angle, _, _, _, _ = angles(x0, x1, y0, y1, z0)
    if solid_angle < SMALL:
        return pdf_by_area(shape, direction, distance)
    return 1.0 / solid_angle
