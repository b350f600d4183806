"""Rays against the triangles of the scene: traversal of the eight-wide tree.

`stack` and `lanes` are scratch memory owned by the calling thread. Directions are unit. Nodes and blocks
are records of renderer.kernels.wide, named by byte offset; odd numbers name blocks.

source  boxes: Kay & Kajiya 1986 (slabs); triangle: Moller & Trumbore, JGT 2(1), 1997
"""

import numpy as np

from renderer.kernels.address import address_of, long_at, put_long, single_at, whole_at
from renderer.kernels.block import FIRST, may_hit, must_hit
from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.lanes import ROW, WIDEN, box_entries, lowest_bit
from renderer.kernels.wide import CHILDREN

STACK_SIZE = 256  # more than any tree asks for: renderer.kernels.tree keeps them shallow
WAITING = 8  # bytes of a place on the stack: child (low half) and entry distance (high half)
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
def slab_ray(direction):
    """The direction as `box_entries` takes it: its inverse, the same widened, and the planes met first."""
    x, y, z = inverse(direction[0]), inverse(direction[1]), inverse(direction[2])
    near = (0 if x >= ZERO else 3 * ROW, ROW if y >= ZERO else 4 * ROW, 2 * ROW if z >= ZERO else 5 * ROW)
    return (x, y, z), (x * WIDEN, y * WIDEN, z * WIDEN), near


@inlined
def triangle_distance(block, k, origin, direction):
    """Distance and barycentrics (of the second and third corner) of the hit with triangle k of a block;
    -1 on a miss."""
    at = block + 4 * k
    e1 = (single_at(at + 3 * ROW), single_at(at + 4 * ROW), single_at(at + 5 * ROW))
    e2 = (single_at(at + 6 * ROW), single_at(at + 7 * ROW), single_at(at + 8 * ROW))
    px = direction[1] * e2[2] - direction[2] * e2[1]
    py = direction[2] * e2[0] - direction[0] * e2[2]
    pz = direction[0] * e2[1] - direction[1] * e2[0]
    determinant = e1[0] * px + e1[1] * py + e1[2] * pz
    if determinant == 0.0:
        return -1.0, 0.0, 0.0
    f = 1.0 / determinant
    sx = origin[0] - single_at(at)
    sy = origin[1] - single_at(at + ROW)
    sz = origin[2] - single_at(at + 2 * ROW)
    u = f * (sx * px + sy * py + sz * pz)
    if u < 0.0 or u > 1.0:
        return -1.0, 0.0, 0.0
    qx, qy, qz = sy * e1[2] - sz * e1[1], sz * e1[0] - sx * e1[2], sx * e1[1] - sy * e1[0]
    v = f * (direction[0] * qx + direction[1] * qy + direction[2] * qz)
    if v < 0.0 or u + v > 1.0:
        return -1.0, 0.0, 0.0
    return f * (e2[0] * qx + e2[1] * qy + e2[2] * qz), u, v


@inlined
def waiting(node, entries, k):
    """A child of a node and its entry distance as one integer: the nearer child is the smaller one."""
    return (whole_at(entries + 4 * k) << 32) | whole_at(node + CHILDREN + 4 * k)


@kernel
def nearest_triangle(nodes, blocks, origin, direction, t_max, stack, entries):
    """`first_triangle` by addresses: an array costs a call more than a node costs."""
    best, best_u, best_v = -1, 0.0, 0.0
    start, toward, reach = single(origin), single(direction), np.float32(t_max) * WIDEN
    inverse_d, far_inverse_d, near = slab_ray(direction)
    child, top = 0, stack
    while True:
        if child & 1:
            block = blocks + child - 1
            met = may_hit(block, start, toward, reach)
            while met:
                k = lowest_bit(met)
                met &= met - 1
                t, u, v = triangle_distance(block, k, origin, direction)
                if 0.0 < t < t_max:
                    t_max, best, best_u, best_v = t, whole_at(block + FIRST) + k, u, v
                    reach = np.float32(t_max) * WIDEN
        else:
            node = nodes + child
            met = box_entries(node, start, inverse_d, far_inverse_d, near, reach, entries)
            if met:
                k = lowest_bit(met)
                met &= met - 1
                if met == 0:  # most often one box is met: no need to know how far it is
                    child = whole_at(node + CHILDREN + 4 * k)
                    continue
                nearest, base = waiting(node, entries, k), top
                while met:
                    k = lowest_bit(met)
                    met &= met - 1
                    one = waiting(node, entries, k)
                    nearest, one = min(nearest, one), max(nearest, one)
                    place = top  # keep the others sorted, nearest on top
                    while place > base and long_at(place - WAITING) < one:
                        put_long(place, long_at(place - WAITING))
                        place -= WAITING
                    put_long(place, one)
                    top += WAITING
                child = nearest & 0xFFFFFFFF
                continue
        child = -1
        while top > stack:
            top -= WAITING
            if single_at(top + 4) <= reach:
                child = whole_at(top)
                break
        if child < 0:
            return best, t_max, best_u, best_v


@kernel
def meets_triangle(nodes, blocks, origin, direction, t_max, stack, entries):
    """`any_triangle` by addresses."""
    start, toward, reach = single(origin), single(direction), np.float32(t_max) * WIDEN
    inverse_d, far_inverse_d, near = slab_ray(direction)
    child, top = 0, stack
    while True:
        if child & 1:
            block = blocks + child - 1
            met = may_hit(block, start, toward, reach)
            if met:
                if must_hit(block, start, toward, reach):
                    return True
                while met:
                    t, _, _ = triangle_distance(block, lowest_bit(met), origin, direction)
                    if 0.0 < t < t_max:
                        return True
                    met &= met - 1
        else:
            node = nodes + child
            met = box_entries(node, start, inverse_d, far_inverse_d, near, reach, entries)
            if met:
                child = whole_at(node + CHILDREN + 4 * lowest_bit(met))
                met &= met - 1
                while met:
                    put_long(top, whole_at(node + CHILDREN + 4 * lowest_bit(met)))
                    top += WAITING
                    met &= met - 1
                continue
        if top == stack:
            return False
        top -= WAITING
        child = long_at(top)


@inlined
def first_triangle(mesh, origin, direction, t_max, stack, lanes):
    """Nearest triangle met before t_max: its number (-1 for none), distance and barycentrics."""
    nodes, blocks, scratch = address_of(mesh.nodes), address_of(mesh.blocks), address_of(stack)
    return nearest_triangle(nodes, blocks, origin, direction, t_max, scratch, address_of(lanes))


@inlined
def any_triangle(mesh, origin, direction, t_max, stack, lanes):
    """Whether a triangle is met before t_max."""
    nodes, blocks, scratch = address_of(mesh.nodes), address_of(mesh.blocks), address_of(stack)
    return meets_triangle(nodes, blocks, origin, direction, t_max, scratch, address_of(lanes))
