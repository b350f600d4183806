"""A ray as the trees of boxes and triangles are asked about it, whoever asks.

source  boxes: Kay & Kajiya 1986 (slabs); triangle: Moller & Trumbore, JGT 2(1), 1997
"""

import numpy as np

from renderer.kernels.compiler import inlined
from renderer.kernels.lanes import WIDEN

STACK_SIZE = 256  # more than any tree asks for: renderer.kernels.tree keeps them shallow
# A ray leaves its surface from this far off it [m]: single-precision corners are good to about 1e-7 m
# at the size of a room; a tenth of a millimetre would show as light leaking under the lids.
OFFSET = 2e-5
ONE = np.float32(1.0)
ZERO = np.float32(0.0)
TINY = np.float32(1e-30)


@inlined
def inverse(x):
    """1/x in single precision, finite for zero."""
    y = np.float32(x)
    if abs(y) < TINY:
        y = TINY if y >= ZERO else -TINY
    return ONE / y


@inlined
def single(v):
    return np.float32(v[0]), np.float32(v[1]), np.float32(v[2])


@inlined
def inverses(direction):
    """The inverse of a direction, and the same widened, in single precision."""
    x, y, z = inverse(direction[0]), inverse(direction[1]), inverse(direction[2])
    return (x, y, z), (x * WIDEN, y * WIDEN, z * WIDEN)


@inlined
def triangle_hit(corner, e1, e2, origin, direction):
    """Distance and barycentrics (of the second and third corner) of the hit with a triangle; -1 on a miss.

    corner  of the triangle, and its edges e1, e2 to the second and third
    """
    px = direction[1] * e2[2] - direction[2] * e2[1]
    py = direction[2] * e2[0] - direction[0] * e2[2]
    pz = direction[0] * e2[1] - direction[1] * e2[0]
    determinant = e1[0] * px + e1[1] * py + e1[2] * pz
    sx, sy, sz = origin[0] - corner[0], origin[1] - corner[1], origin[2] - corner[2]
    u = sx * px + sy * py + sz * pz
    qx, qy, qz = sy * e1[2] - sz * e1[1], sz * e1[0] - sx * e1[2], sx * e1[1] - sy * e1[0]
    v = direction[0] * qx + direction[1] * qy + direction[2] * qz
    t = e2[0] * qx + e2[1] * qy + e2[2] * qz
    if determinant < 0.0:
        determinant, u, v, t = -determinant, -u, -v, -t
    if not (determinant > 0.0 and u >= 0.0 and v >= 0.0 and u + v <= determinant):
        return -1.0, 0.0, 0.0
    f = 1.0 / determinant  # of the few that are hit: it costs as much as all the rest
    return f * t, f * u, f * v
