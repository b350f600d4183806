"""Building the bounding volume hierarchy over a mesh: binned surface-area heuristic, then eight-wide nodes.

source  Wald, On fast Construction of SAH-based Bounding Volume Hierarchies, 2007 (binning);
        Wald, Benthin, Boulos, Getting Rid of Packets, 2008 (collapse to wide nodes)
"""

import numpy as np

from renderer.kernels.compiler import entry, kernel

BINS = 16
LEAF_SIZE = 7
WIDTH = 8
TRAVERSAL_COST = 3.0
TRIANGLE_COST = 1.0


@kernel
def half_area(low, high):
    dx, dy, dz = high[0] - low[0], high[1] - low[1], high[2] - low[2]
    return dx * dy + dy * dz + dz * dx


@kernel
def grow(low, high, box):
    for k in range(3):
        low[k] = min(low[k], box[k])
        high[k] = max(high[k], box[3 + k])


@entry
def build_binary(boxes):
    """Binary tree over boxes (n, 6) float32 [low xyz, high xyz].

    returns  order (n,) int32: box numbers in leaf order
             bounds (m, 6) float32, and links (m, 2) int32: [left child, -1] with right = left + 1, or
             [first, count] in `order` for a leaf (count > 0)
    """
    n = boxes.shape[0]
    order = np.arange(n).astype(np.int32)
    centres = np.empty((n, 3), np.float32)
    for i in range(n):
        for k in range(3):
            centres[i, k] = np.float32(0.5) * (boxes[i, k] + boxes[i, 3 + k])
    bounds = np.empty((max(2 * n, 2), 6), np.float32)
    links = np.empty((max(2 * n, 2), 2), np.int32)
    todo = np.empty((128, 3), np.int64)  # node, first, last: depth-first, so never deeper than the tree
    counts = np.empty((3, BINS), np.int64)
    low = np.empty((3, BINS, 3), np.float32)
    high = np.empty((3, BINS, 3), np.float32)
    right_area = np.empty(BINS, np.float64)
    right_count = np.empty(BINS, np.int64)
    box_low, box_high = np.empty(3, np.float32), np.empty(3, np.float32)
    centre_low, centre_high = np.empty(3, np.float32), np.empty(3, np.float32)
    used = 1
    top = 1
    todo[0] = (0, 0, n)
    while top > 0:
        top -= 1
        node, first, last = todo[top, 0], todo[top, 1], todo[top, 2]
        box_low[:] = np.inf
        box_high[:] = -np.inf
        centre_low[:] = np.inf
        centre_high[:] = -np.inf
        for i in range(first, last):
            j = order[i]
            grow(box_low, box_high, boxes[j])
            for k in range(3):
                centre_low[k] = min(centre_low[k], centres[j, k])
                centre_high[k] = max(centre_high[k], centres[j, k])
        bounds[node, :3] = box_low
        bounds[node, 3:] = box_high
        count = last - first
        best_cost = np.inf
        best_axis, best_bin = -1, -1
        if count > 1:
            counts[:] = 0
            low[:] = np.inf
            high[:] = -np.inf
            for i in range(first, last):
                j = order[i]
                for axis in range(3):
                    extent = centre_high[axis] - centre_low[axis]
                    if extent > 0.0:
                        b = min(BINS - 1, int(BINS * (centres[j, axis] - centre_low[axis]) / extent))
                        counts[axis, b] += 1
                        grow(low[axis, b], high[axis, b], boxes[j])
            for axis in range(3):
                if not centre_high[axis] > centre_low[axis]:
                    continue
                box_low[:] = np.inf
                box_high[:] = -np.inf
                total = 0
                for b in range(BINS - 1, 0, -1):
                    if counts[axis, b] > 0:
                        for k in range(3):
                            box_low[k] = min(box_low[k], low[axis, b, k])
                            box_high[k] = max(box_high[k], high[axis, b, k])
                    total += counts[axis, b]
                    right_count[b] = total
                    right_area[b] = half_area(box_low, box_high) if total > 0 else 0.0
                box_low[:] = np.inf
                box_high[:] = -np.inf
                total = 0
                for b in range(BINS - 1):
                    if counts[axis, b] > 0:
                        for k in range(3):
                            box_low[k] = min(box_low[k], low[axis, b, k])
                            box_high[k] = max(box_high[k], high[axis, b, k])
                    total += counts[axis, b]
                    if total == 0 or right_count[b + 1] == 0:
                        continue
                    cost = half_area(box_low, box_high) * total + right_area[b + 1] * right_count[b + 1]
                    if cost < best_cost:
                        best_cost, best_axis, best_bin = cost, axis, b
        area = half_area(bounds[node, :3], bounds[node, 3:])
        leaf_cost = TRIANGLE_COST * count * area
        split_cost = TRAVERSAL_COST * area + TRIANGLE_COST * best_cost
        if count <= 1 or (count <= LEAF_SIZE and leaf_cost <= split_cost):
            links[node] = (first, count)
            continue
        if best_axis < 0 or top > 120:  # all centres coincide, or a freak of depth: halve by count
            middle = (first + last) // 2
        else:
            extent = centre_high[best_axis] - centre_low[best_axis]
            i, j = first, last - 1
            while i <= j:
                b = min(BINS - 1, int(BINS * (centres[order[i], best_axis] - centre_low[best_axis]) / extent))
                if b <= best_bin:
                    i += 1
                else:
                    order[i], order[j] = order[j], order[i]
                    j -= 1
            middle = i
        if count <= LEAF_SIZE and best_axis < 0:
            links[node] = (first, count)
            continue
        links[node] = (used, -1)
        todo[top] = (used, first, middle)
        todo[top + 1] = (used + 1, middle, last)
        used += 2
        top += 2
    return order, bounds[:used].copy(), links[:used].copy()


@entry
def collapse(bounds, links):
    """Eight-wide nodes from a binary tree.

    returns  planes (m, 6, 8) float32: low x, low y, low z, high x, high y, high z of eight children;
             an empty place has an inverted box that no ray meets
             children (m, 8) int32: number of a node, or -1 - (8 * first + count) for a leaf
    """
    n = bounds.shape[0]
    planes = np.empty((n, 6, WIDTH), np.float32)
    children = np.zeros((n, WIDTH), np.int32)
    slots = np.empty(WIDTH, np.int64)
    todo = np.empty((n + 1, 2), np.int64)
    todo[0] = (0, 0)
    top, used = 1, 1
    while top > 0:
        top -= 1
        wide, root = todo[top, 0], todo[top, 1]
        slots[0] = root
        filled = 1
        while filled < WIDTH:  # open the inner child with the largest surface
            widest, opened = -1.0, -1
            for s in range(filled):
                if links[slots[s], 1] < 0:
                    area = half_area(bounds[slots[s], :3], bounds[slots[s], 3:])
                    if area > widest:
                        widest, opened = area, s
            if opened < 0:
                break
            left = links[slots[opened], 0]
            slots[opened] = left
            slots[filled] = left + 1
            filled += 1
        for s in range(WIDTH):
            if s >= filled:
                planes[wide, :3, s] = np.inf
                planes[wide, 3:, s] = -np.inf
                continue
            node = slots[s]
            planes[wide, :, s] = bounds[node]
            if links[node, 1] < 0:
                children[wide, s] = used
                todo[top] = (used, node)
                used += 1
                top += 1
            else:
                children[wide, s] = -1 - (8 * links[node, 0] + links[node, 1])
    return planes[:used].copy(), children[:used].copy()


def triangle_boxes(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Boxes (n, 6) float32 about triangles, from vertices (v, 3) and faces (n, 3)."""
    corners = vertices[faces].astype(np.float32)
    return np.ascontiguousarray(np.concatenate([corners.min(axis=1), corners.max(axis=1)], axis=1))
