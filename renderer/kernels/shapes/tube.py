"""Part of the side of a circular cylinder: sampled only where it is seen, nearly by solid angle.

Seen from outside, a direction is given by its angle beta in the plane across the axis, measured from
the line to the axis, and by the sine of its angle to that plane: d(omega) = d(beta) d(sine). beta is
drawn uniformly over what is visible of the tube's turn, then the sine uniformly over the tube's
height as seen along that beta. (Own derivation; the density is exact, and close to uniform.)
"""

import math

from renderer.kernels.compiler import kernel
from renderer.kernels.vector import dot, from_frame, sub, triple

TURN = 2.0 * math.pi


@kernel
def on_patch(shape, x, z):
    """Whether the point x, z (along u, axis) of the full cylinder belongs to this part of it.

    u points to the middle of the part, so the turn is a matter of x alone.
    """
    return shape.z_from <= z <= shape.z_to and x >= shape.size_v


@kernel
def local(shape, vector):
    return dot(vector, triple(shape.u)), dot(vector, triple(shape.v)), dot(vector, triple(shape.w))


@kernel
def intersect(shape, origin, direction):
    """Distance along the ray (-1 for none) and whether the outside was met."""
    ox, oy, oz = local(shape, sub(origin, triple(shape.centre)))
    dx, dy, dz = local(shape, direction)
    a = dx * dx + dy * dy
    if a == 0.0:
        return -1.0, False
    b = (ox * dx + oy * dy) / a
    fx, fy = ox - b * dx, oy - b * dy  # foot of the perpendicular from the axis
    root2 = (shape.size_u * shape.size_u - (fx * fx + fy * fy)) / a
    if root2 < 0.0:
        return -1.0, False
    root = math.sqrt(root2)
    t = -b - root
    if t > 0.0 and on_patch(shape, ox + t * dx, oz + t * dz):
        return t, True
    t = -b + root
    if t > 0.0 and on_patch(shape, ox + t * dx, oz + t * dz):
        return t, False
    return -1.0, False


@kernel
def normal_at(shape, point):
    x, y, _ = local(shape, sub(point, triple(shape.centre)))
    r = math.sqrt(x * x + y * y)
    return from_frame(x / r, y / r, 0.0, triple(shape.u), triple(shape.v), triple(shape.w))


@kernel
def place_on(shape, point):
    """Where a point lies, 0..1 each: along the axis, along its part of the turn."""
    x, y, z = local(shape, sub(point, triple(shape.centre)))
    turn = (math.atan2(y, x) - shape.phi_from) / (shape.phi_to - shape.phi_from)
    return (z - shape.z_from) / (shape.z_to - shape.z_from), turn, is_whole(shape)


@kernel
def is_whole(shape):
    return shape.phi_to - shape.phi_from > TURN - 1e-9


@kernel
def edge_beta(shape, x, y, side):
    """Whether an edge of the part is seen from x, y (along u, v), and its beta; side 1 or -1, along v."""
    radius, edge_x = shape.size_u, shape.size_v
    edge_y = side * math.sqrt(max(0.0, radius * radius - edge_x * edge_x))
    if x * edge_x + y * edge_y <= radius * radius:  # the observer is behind the tangent plane there
        return False, 0.0
    qx, qy = edge_x - x, edge_y - y
    return True, math.atan2(x * qy - y * qx, -x * qx - y * qy)


@kernel
def visible_betas(shape, x, y, distance):
    """Two ranges of beta (from, to, from, to), the second mostly empty, of the part that is seen.

    x, y, distance  of the observer from the axis, along u and v and in all [m]

    All that is seen lies between the tangents to the tube. A range begins at the one tangent, if it touches
    this part, or where the part does, and ends likewise.
    """
    cosine = shape.size_u / distance
    tangent = math.asin(cosine)
    if is_whole(shape):
        return -tangent, tangent, 0.0, 0.0
    sine, least = math.sqrt(max(0.0, 1.0 - cosine * cosine)), shape.size_v / cosine
    low_touches, high_touches = cosine * x + sine * y >= least, cosine * x - sine * y >= least
    begins, from_beta = edge_beta(shape, x, y, -1.0)
    ends, to_beta = edge_beta(shape, x, y, 1.0)
    if low_touches and high_touches and begins and ends:  # its gap is in the middle of what is seen
        return -tangent, to_beta, from_beta, tangent
    if not (low_touches or begins) or not (high_touches or ends):
        return 0.0, 0.0, 0.0, 0.0
    return -tangent if low_touches else from_beta, tangent if high_touches else to_beta, 0.0, 0.0


@kernel
def sines(shape, planar, z):
    """Sines of the angles to the lower and upper edge, at distance `planar` across the axis."""
    low, high = shape.z_from - z, shape.z_to - z
    return low / math.sqrt(planar * planar + low * low), high / math.sqrt(planar * planar + high * high)


@kernel
def planar_distance(distance, radius, beta):
    across = distance * math.sin(beta)
    return distance * math.cos(beta) - math.sqrt(max(0.0, radius * radius - across * across))


@kernel
def sample(shape, origin, u1, u2):
    """Direction to the visible outside, its distance and pdf_solid_angle (0: none)."""
    nothing = ((0.0, 0.0, 1.0), 0.0, 0.0)
    x, y, z = local(shape, sub(origin, triple(shape.centre)))
    distance = math.sqrt(x * x + y * y)
    if distance <= shape.size_u:
        return nothing
    a0, a1, b0, b1 = visible_betas(shape, x, y, distance)
    width = (a1 - a0) + (b1 - b0)
    if width <= 0.0:
        return nothing
    beta = a0 + u1 * width
    if beta > a1:
        beta = b0 + (beta - a1)
    planar = planar_distance(distance, shape.size_u, beta)
    low, high = sines(shape, planar, z)
    if high <= low or planar <= 0.0:
        return nothing
    sine = low + u2 * (high - low)
    cosine = math.sqrt(max(0.0, 1.0 - sine * sine))
    if cosine < 1e-9:
        return nothing
    # unit vectors across the axis: towards it, and to its side where delta and beta grow
    tx, ty = -x / distance, -y / distance
    c, s = math.cos(beta) * cosine, math.sin(beta) * cosine
    w_i = from_frame(
        c * tx + s * ty, c * ty - s * tx, sine, triple(shape.u), triple(shape.v), triple(shape.w)
    )
    return w_i, planar / cosine, 1.0 / (width * (high - low))


@kernel
def pdf_solid_angle(shape, origin, direction, distance_along):
    """Density with which `sample` gives a direction that meets the outside at `distance_along`."""
    x, y, z = local(shape, sub(origin, triple(shape.centre)))
    distance = math.sqrt(x * x + y * y)
    if distance <= shape.size_u:
        return 0.0
    a0, a1, b0, b1 = visible_betas(shape, x, y, distance)
    width = (a1 - a0) + (b1 - b0)
    dx, dy, _ = local(shape, direction)
    low, high = sines(shape, distance_along * math.sqrt(dx * dx + dy * dy), z)
    if width <= 0.0 or high <= low:
        return 0.0
    return 1.0 / (width * (high - low))


@kernel
def width_seen(shape, x, y, distance):
    """How wide the part that is seen appears, over the radius, across the line to an observer far away.

    Arguments, and what is seen, as in `visible_betas`; the tube's own outlines lie at -sine and sine.
    """
    cosine = shape.size_u / distance
    sine = math.sqrt(max(0.0, 1.0 - cosine * cosine))
    if is_whole(shape):
        return 2.0 * sine
    ex, ey, least = x / distance, y / distance, shape.size_v / shape.size_u
    edge = math.sqrt(max(0.0, 1.0 - least * least))
    low, high = -edge * ex - least * ey, edge * ex - least * ey
    begins, ends = least * ex - edge * ey > cosine, least * ex + edge * ey > cosine
    low_touches, high_touches = cosine * ex + sine * ey >= least, cosine * ex - sine * ey >= least
    if low_touches and high_touches and begins and ends:
        return 2.0 * sine + high - low
    if not (low_touches or begins) or not (high_touches or ends):
        return 0.0
    return max(0.0, (sine if high_touches else high) - (-sine if low_touches else low))


@kernel
def solid_angle(shape, point):
    """Roughly, of the outside that is seen [sr]; 0 from within."""
    x, y, z = local(shape, sub(point, triple(shape.centre)))
    distance = math.sqrt(x * x + y * y)
    if distance <= shape.size_u:
        return 0.0
    low, high = sines(shape, distance - 0.5 * shape.size_u, z)
    return width_seen(shape, x, y, distance) * shape.size_u / distance * (high - low)
