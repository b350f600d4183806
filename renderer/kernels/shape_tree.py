"""Rays against the shapes of the scene: lights, boards and what lights are made of, by a tree of boxes.

The tree is as the mesh's but for its leaves, of one shape each, which tell by their links: the number of a
node, or -1 - number of a shape. Shapes are few, so nodes are taken in any order.
"""

import numpy as np

from renderer.kernels.apart import kept_apart
from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.emission import is_open, keeps_straight
from renderer.kernels.lanes import WIDEN
from renderer.kernels.mesh import asked, boxes_met, lowest_met
from renderer.kernels.plain_mesh import CHILD
from renderer.kernels.ray import OFFSET
from renderer.kernels.shapes import intersect
from renderer.kernels.vector import along


@inlined
def passes_through(scene, i, origin, direction, distance, front):
    """Whether the ray goes through a hole of the shape that it meets at `distance`, or through its weave."""
    if scene.shapes[i].straight > 0.0:
        return keeps_straight(scene.shapes[i], direction, front)
    return scene.shapes[i].mask >= 0 and is_open(scene, i, origin, direction, distance)


@kernel
def beyond(scene, i, origin, direction, distance):
    """Where a ray that has passed a shape at `distance` meets it again; as `intersect`, -1 for nowhere.

    Only a tube is met twice, and only its weave lets rays pass.
    """
    shape = scene.shapes[i]
    if shape.straight == 0.0:
        return -1.0, False
    passed = distance + OFFSET
    further, side = intersect(shape, along(origin, direction, passed), direction)
    if further <= 0.0 or keeps_straight(shape, direction, side):
        return -1.0, False
    return passed + further, side


@inlined
def stopped_by(scene, i, origin, direction, reach):
    """As `intersect` for shape i, where it stops a ray that asks no further than `reach`."""
    t, side = intersect(scene.shapes[i], origin, direction)
    if 0.0 < t < reach and passes_through(scene, i, origin, direction, t, side):
        return beyond(scene, i, origin, direction, t)
    return t, side


@inlined
def put_aside(work, top, node):
    """Put a node on the stack; the new top."""
    work.stack[top]["child"] = node
    return top + 1


@inlined
def taken_up(work, top):
    """The node on top of the stack, -1 where it is empty, and the new top."""
    if top == 0:
        return -1, 0
    return work.stack[top - 1]["child"], top - 1


@inlined
def nearest_shape(scene, work, origin, direction, t_max):
    """Nearest shape that stops a ray before t_max: its number (-1 for none), distance and side."""
    kept_apart()
    best, front = -1, True
    start, inverse_d, far_inverse_d, near = asked(origin, direction)
    node, top = 0, 0
    while node >= 0:
        reach = np.float32(t_max) * WIDEN
        met = boxes_met(scene.shape_nodes, node, start, inverse_d, far_inverse_d, near, reach, work.lanes)
        while met:
            child = scene.shape_links[node, CHILD + lowest_met(met)]
            met &= met - 1
            if child >= 0:
                top = put_aside(work, top, child)
                continue
            t, side = stopped_by(scene, -1 - child, origin, direction, t_max)
            if 0.0 < t < t_max:
                t_max, best, front = t, -1 - child, side
        node, top = taken_up(work, top)
    return best, t_max, front


@inlined
def shape_between(scene, work, origin, direction, reach, asked_for):
    """Whether a shape other than number `asked_for` stops a ray before `reach`."""
    kept_apart()
    start, inverse_d, far_inverse_d, near = asked(origin, direction)
    node, top, limit = 0, 0, np.float32(reach) * WIDEN
    while node >= 0:
        met = boxes_met(scene.shape_nodes, node, start, inverse_d, far_inverse_d, near, limit, work.lanes)
        while met:
            child = scene.shape_links[node, CHILD + lowest_met(met)]
            met &= met - 1
            if child >= 0:
                top = put_aside(work, top, child)
                continue
            if child == -1 - asked_for:  # a ray that leaves for its front meets nothing else of it before
                continue
            t, _ = stopped_by(scene, -1 - child, origin, direction, reach)
            if 0.0 < t < reach:
                return True
        node, top = taken_up(work, top)
    return False
