"""Rays against the triangles of the scene, one box and one triangle after another, by arrays alone.

What a graphics card runs, and the processor where every index is to be checked or where there is no
compiler. `renderer.kernels.mesh` does the same by addresses and eight at a time.
"""

import numpy as np

from renderer.kernels.apart import kept_apart
from renderer.kernels.block import BLOCK_SIZE, FIRST
from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.lanes import LANES, WIDEN
from renderer.kernels.ray import ZERO, inverses, single, triangle_hit
from renderer.kernels.wide import CHILDREN, NODE_SIZE

NUMBER = 4  # bytes
CHILD = CHILDREN // NUMBER  # column of a node
NAME = FIRST // NUMBER  # column of a block
MISSED = np.float32(-1.0)


@inlined
def box_entry(nodes, node, k, start, inverse_d, far_inverse_d, reach):
    """Distance at which a ray enters box k of a node, or MISSED."""
    entry, leave = ZERO, reach
    for axis in range(3):
        low, high = nodes[node, axis * LANES + k], nodes[node, (3 + axis) * LANES + k]
        if inverse_d[axis] < ZERO:
            low, high = high, low
        entry = max(entry, (low - start[axis]) * inverse_d[axis])
        leave = min(leave, (high - start[axis]) * far_inverse_d[axis])
    return entry if entry <= leave else MISSED


def boxes_met_plain(nodes, node, start, inverse_d, far_inverse_d, near, reach, lanes):
    """Bit mask of the boxes of a node that a ray meets before `reach`."""
    met = 0
    for k in range(LANES):
        if box_entry(nodes, node, k, start, inverse_d, far_inverse_d, reach) != MISSED:
            met |= 1 << k
    return met


@kernel
def block_triangle(blocks, block, k, origin, direction):
    """`triangle_hit` for triangle k of a block; an empty place is not a number, and is never hit."""
    corner = (float(blocks[block, k]), float(blocks[block, LANES + k]), float(blocks[block, 2 * LANES + k]))
    e1 = (
        float(blocks[block, 3 * LANES + k]),
        float(blocks[block, 4 * LANES + k]),
        float(blocks[block, 5 * LANES + k]),
    )
    e2 = (
        float(blocks[block, 6 * LANES + k]),
        float(blocks[block, 7 * LANES + k]),
        float(blocks[block, 8 * LANES + k]),
    )
    return triangle_hit(corner, e1, e2, origin, direction)


@kernel
def wait_sorted(stack, base, top, child, entry):
    """Put a child on the stack, above `base` the nearest on top; the new top."""
    place = top
    while place > base and stack[place - 1]["entry"] < entry:
        stack[place]["child"], stack[place]["entry"] = stack[place - 1]["child"], stack[place - 1]["entry"]
        place -= 1
    stack[place]["child"], stack[place]["entry"] = child, entry
    return top + 1


def first_triangle_plain(mesh, origin, direction, t_max, stack, lanes):
    """Nearest triangle met before t_max: its number (-1 for none), distance and barycentrics."""
    kept_apart()
    best, best_u, best_v = -1, 0.0, 0.0
    start, reach = single(origin), np.float32(t_max) * WIDEN
    inverse_d, far_inverse_d = inverses(direction)
    child, top = 0, 0
    while child >= 0:
        if child & 1:
            block = (child - 1) // BLOCK_SIZE
            for k in range(LANES):
                t, u, v = block_triangle(mesh.blocks, block, k, origin, direction)
                if 0.0 < t < t_max:
                    t_max, best, best_u, best_v = t, mesh.block_links[block, NAME] + k, u, v
                    reach = np.float32(t_max) * WIDEN
        else:
            node, base = child // NODE_SIZE, top
            for k in range(LANES):
                entry = box_entry(mesh.nodes, node, k, start, inverse_d, far_inverse_d, reach)
                if entry != MISSED:
                    top = wait_sorted(stack, base, top, mesh.node_links[node, CHILD + k], entry)
        child = -1
        while top > 0 and child < 0:
            top -= 1
            if stack[top]["entry"] <= reach:
                child = stack[top]["child"]
    return best, t_max, best_u, best_v


def any_triangle_plain(mesh, origin, direction, t_max, stack, lanes):
    """Whether a triangle is met before t_max."""
    kept_apart()
    start, reach = single(origin), np.float32(t_max) * WIDEN
    inverse_d, far_inverse_d = inverses(direction)
    child, top = 0, 0
    while child >= 0:
        if child & 1:
            block = (child - 1) // BLOCK_SIZE
            for k in range(LANES):
                t, _, _ = block_triangle(mesh.blocks, block, k, origin, direction)
                if 0.0 < t < t_max:
                    return True
        else:
            node = child // NODE_SIZE
            for k in range(LANES):
                entry = box_entry(mesh.nodes, node, k, start, inverse_d, far_inverse_d, reach)
                if entry != MISSED:
                    stack[top]["child"] = mesh.node_links[node, CHILD + k]
                    top += 1
        child = -1
        if top > 0:
            top -= 1
            child = stack[top]["child"]
    return False
