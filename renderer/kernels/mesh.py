"""Rays against the triangles of the scene: traversal of the eight-wide tree.

`stack` and `lanes` are scratch memory owned by the calling thread.

source  boxes: Kay & Kajiya 1986 (slabs); triangle: Moller & Trumbore, JGT 2(1), 1997
"""

import numpy as np

from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.lanes import box_entries, lowest_bit

STACK_SIZE = 256
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
def slab_ray(origin, direction):
    """The ray as `box_entries` takes it: start, 1 / direction, and the planes of a box met first."""
    inverse_d = (inverse(direction[0]), inverse(direction[1]), inverse(direction[2]))
    start = (np.float32(origin[0]), np.float32(origin[1]), np.float32(origin[2]))
    sides = (
        0 if inverse_d[0] >= ZERO else 3,
        1 if inverse_d[1] >= ZERO else 4,
        2 if inverse_d[2] >= ZERO else 5,
    )
    return start, inverse_d, sides


@inlined
def triangle_distance(triangles, i, origin, direction):
    """Distance and barycentrics (of the second and third corner) of the hit with triangle i; -1 on a miss."""
    e1 = (triangles[i, 3], triangles[i, 4], triangles[i, 5])
    e2 = (triangles[i, 6], triangles[i, 7], triangles[i, 8])
    px = direction[1] * e2[2] - direction[2] * e2[1]
    py = direction[2] * e2[0] - direction[0] * e2[2]
    pz = direction[0] * e2[1] - direction[1] * e2[0]
    determinant = e1[0] * px + e1[1] * py + e1[2] * pz
    if determinant == 0.0:
        return -1.0, 0.0, 0.0
    f = 1.0 / determinant
    sx, sy, sz = origin[0] - triangles[i, 0], origin[1] - triangles[i, 1], origin[2] - triangles[i, 2]
    u = f * (sx * px + sy * py + sz * pz)
    if u < 0.0 or u > 1.0:
        return -1.0, 0.0, 0.0
    qx, qy, qz = sy * e1[2] - sz * e1[1], sz * e1[0] - sx * e1[2], sx * e1[1] - sy * e1[0]
    v = f * (direction[0] * qx + direction[1] * qy + direction[2] * qz)
    if v < 0.0 or u + v > 1.0:
        return -1.0, 0.0, 0.0
    return f * (e2[0] * qx + e2[1] * qy + e2[2] * qz), u, v


@kernel
def first_triangle(mesh, origin, direction, t_max, stack, lanes):
    """Nearest triangle met before t_max: its number (-1 for none), distance and barycentrics."""
    best, best_u, best_v = -1, 0.0, 0.0
    start, inverse_d, sides = slab_ray(origin, direction)
    node, top = 0, 0
    while True:
        met = box_entries(mesh.planes, node, start, inverse_d, sides, np.float32(t_max), lanes)
        base = top
        while met:
            k = lowest_bit(met)
            met &= met - 1
            entry = lanes[k]
            place = top  # keep this node's children sorted, nearest on top
            while place > base and stack[place - 1].entry < entry:
                stack[place].entry = stack[place - 1].entry
                stack[place].child = stack[place - 1].child
                place -= 1
            stack[place].entry = entry
            stack[place].child = mesh.children[node, k]
            top += 1
        node = -1
        while top > 0:
            top -= 1
            if stack[top].entry > t_max:
                continue
            child = stack[top].child
            if child >= 0:
                node = child
                break
            first, count = (-1 - child) >> 3, (-1 - child) & 7
            for i in range(first, first + count):
                t, u, v = triangle_distance(mesh.triangles, i, origin, direction)
                if 0.0 < t < t_max:
                    t_max, best, best_u, best_v = t, i, u, v
        if node < 0:
            return best, t_max, best_u, best_v


@kernel
def any_triangle(mesh, origin, direction, t_max, stack, lanes):
    """Whether a triangle is met before t_max."""
    start, inverse_d, sides = slab_ray(origin, direction)
    node, top = 0, 0
    while True:
        met = box_entries(mesh.planes, node, start, inverse_d, sides, np.float32(t_max), lanes)
        while met:
            k = lowest_bit(met)
            met &= met - 1
            child = mesh.children[node, k]
            if child >= 0:
                stack[top].child = child
                top += 1
                continue
            first, count = (-1 - child) >> 3, (-1 - child) & 7
            for i in range(first, first + count):
                t, _, _ = triangle_distance(mesh.triangles, i, origin, direction)
                if 0.0 < t < t_max:
                    return True
        if top == 0:
            return False
        top -= 1
        node = stack[top].child
