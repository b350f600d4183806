"""The tree of boxes about shapes: eight-wide nodes in the layout of the mesh's, one shape to a leaf."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from renderer.kernels.lanes import LANES
from renderer.kernels.shapes import KIND
from renderer.kernels.wide import CHILDREN, NODE_SIZE, on_lines

SLACK = 1e-4  # m on every side: far more than rays and planes lose in single precision


def box_about(shape: np.void) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest corner [m] of the box about a SHAPE record."""
    if shape["kind"] == KIND["Tube"]:
        return _box_about_tube(shape)
    if shape["kind"] == KIND["Rectangle"]:
        half = shape["size_u"] * np.abs(shape["u"]) + shape["size_v"] * np.abs(shape["v"])
    elif shape["kind"] == KIND["Disc"]:
        half = shape["size_u"] * np.sqrt(np.maximum(0.0, 1.0 - shape["w"] ** 2))
    else:
        half = np.full(3, shape["reach"])
    return shape["middle"] - half, shape["middle"] + half


def _box_about_tube(shape: np.void) -> tuple[np.ndarray, np.ndarray]:
    """The edges of a part of a turn reach furthest at its ends, or where they run along the box."""
    reaches = []
    for axis in range(3):
        u, v, w = (shape[name][axis] for name in "uvw")
        widest = math.atan2(v, u)
        turns = [widest + k * math.pi for k in range(-2, 3)]
        inside = [phi for phi in turns if shape["phi_from"] < phi < shape["phi_to"]]
        across = [
            u * math.cos(phi) + v * math.sin(phi) for phi in (shape["phi_from"], shape["phi_to"], *inside)
        ]
        up = [w * shape["z_from"], w * shape["z_to"]]
        sides = [shape["size_u"] * side for side in (min(across), max(across))]
        reaches.append((sides[0] + min(up), sides[1] + max(up)))
    low, high = np.array(reaches).T
    return shape["centre"] + low, shape["centre"] + high


def pack_shape_tree(shapes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Nodes (m, 64) float32 over SHAPE records, and the same memory as int32.

    Of a child the link is the number of its node, or -1 - number of a shape. Empty places have an inverted
    box that no ray meets.
    """
    boxes = np.array([box_about(shape) for shape in shapes]).reshape(-1, 2, 3)
    boxes[:, 0] -= SLACK
    boxes[:, 1] += SLACK
    groups = list(_groups(boxes, np.arange(len(shapes))))
    nodes = on_lines(len(groups), NODE_SIZE)
    links = nodes.view(np.int32)
    planes = nodes[:, : 6 * LANES].reshape(-1, 2, 3, LANES)
    planes[:, 0], planes[:, 1] = np.inf, -np.inf
    used = 1
    for node, parts in enumerate(groups):
        for k, part in enumerate(parts):
            planes[node, 0, :, k] = boxes[part, 0].min(axis=0)
            planes[node, 1, :, k] = boxes[part, 1].max(axis=0)
            leaf = len(part) == 1
            links[node, CHILDREN // 4 + k] = -1 - part[0] if leaf else used
            used += not leaf
    return nodes, links


def _groups(boxes: np.ndarray, members: np.ndarray) -> Iterator[list[np.ndarray]]:
    """For every node, level by level, the shapes of each of its children."""
    level = [members]
    while level:
        below = []
        for group in level:
            parts = _parted(boxes, group)
            below += [part for part in parts if len(part) > 1]
            yield parts
        level = below


def _parted(boxes: np.ndarray, members: np.ndarray) -> list[np.ndarray]:
    """At most eight parts, halving the largest across the longest side of its middles."""
    parts = [members] if len(members) else []
    while parts and len(parts) < LANES and len(parts) < len(members):
        largest = max(range(len(parts)), key=lambda k: len(parts[k]))
        part = parts.pop(largest)
        middles = boxes[part].sum(axis=1)
        order = part[np.argsort(middles[:, np.ptp(middles, axis=0).argmax()], kind="stable")]
        parts += [order[: len(order) // 2], order[len(order) // 2 :]]
    return parts
