"""Rays against the triangles of the scene: traversal of the eight-wide tree, eight at a time.

`stack` and `lanes` are scratch memory owned by the calling thread. Directions are unit. Nodes and blocks
are records of renderer.kernels.wide, named by byte offset; odd numbers name blocks.
"""

import numpy as np

from renderer.kernels.address import address_of, long_at, put_long, single_at, whole_at
from renderer.kernels.block import FIRST, may_hit, must_hit
from renderer.kernels.compiler import inlined, kernel, two_bodies
from renderer.kernels.lanes import ROW, WIDEN, box_entries, lowest_bit, lowest_bit_plain
from renderer.kernels.plain_mesh import any_triangle_plain, boxes_met_plain, first_triangle_plain
from renderer.kernels.ray import ZERO, inverses, single, triangle_hit
from renderer.kernels.wide import CHILDREN, NODE_SIZE

WAITING = 8  # bytes of a place on the stack: child (low half) and entry distance (high half)


@inlined
def planes_met_first(inverse_d):
    """Byte offsets in a node of the planes of each axis that a ray meets first, for `box_entries`."""
    return (
        0 if inverse_d[0] >= ZERO else 3 * ROW,
        ROW if inverse_d[1] >= ZERO else 4 * ROW,
        2 * ROW if inverse_d[2] >= ZERO else 5 * ROW,
    )


@inlined
def asked(origin, direction):
    """A ray as boxes are asked about it: (start, inverse_d, far_inverse_d, near) of `box_entries`."""
    inverse_d, far_inverse_d = inverses(direction)
    return single(origin), inverse_d, far_inverse_d, planes_met_first(inverse_d)


@inlined
def triangle_distance(block, k, origin, direction):
    """`triangle_hit` for triangle k of the block at an address."""
    at = block + 4 * k
    corner = (single_at(at), single_at(at + ROW), single_at(at + 2 * ROW))
    e1 = (single_at(at + 3 * ROW), single_at(at + 4 * ROW), single_at(at + 5 * ROW))
    e2 = (single_at(at + 6 * ROW), single_at(at + 7 * ROW), single_at(at + 8 * ROW))
    return triangle_hit(corner, e1, e2, origin, direction)


@inlined
def waiting(node, entries, k):
    """A child of a node and its entry distance as one integer: the nearer child is the smaller one."""
    return (whole_at(entries + 4 * k) << 32) | whole_at(node + CHILDREN + 4 * k)


@kernel
def nearest_triangle(nodes, blocks, origin, direction, t_max, stack, entries):
    """`first_triangle_plain` by addresses: an array costs a call more than a node costs."""
    best, best_u, best_v = -1, 0.0, 0.0
    start, toward, reach = single(origin), single(direction), np.float32(t_max) * WIDEN
    inverse_d, far_inverse_d = inverses(direction)
    near = planes_met_first(inverse_d)
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
    """`any_triangle_plain` by addresses."""
    start, toward, reach = single(origin), single(direction), np.float32(t_max) * WIDEN
    inverse_d, far_inverse_d = inverses(direction)
    near = planes_met_first(inverse_d)
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


def _first_by_address(mesh, origin, direction, t_max, stack, lanes):
    nodes, blocks, scratch = address_of(mesh.nodes), address_of(mesh.blocks), address_of(stack)
    return nearest_triangle(nodes, blocks, origin, direction, t_max, scratch, address_of(lanes))


def _any_by_address(mesh, origin, direction, t_max, stack, lanes):
    nodes, blocks, scratch = address_of(mesh.nodes), address_of(mesh.blocks), address_of(stack)
    return meets_triangle(nodes, blocks, origin, direction, t_max, scratch, address_of(lanes))


def _boxes_by_address(nodes, node, start, inverse_d, far_inverse_d, near, reach, lanes):
    record = address_of(nodes) + NODE_SIZE * node
    return box_entries(record, start, inverse_d, far_inverse_d, near, reach, address_of(lanes))


def _lowest_by_instruction(mask):
    return lowest_bit(mask)


first_triangle = two_bodies(first_triangle_plain, _first_by_address)
any_triangle = two_bodies(any_triangle_plain, _any_by_address)
boxes_met = two_bodies(boxes_met_plain, _boxes_by_address)
lowest_met = two_bodies(lowest_bit_plain, _lowest_by_instruction)
