"""Building a binary bounding volume hierarchy over a mesh: binned surface-area heuristic.

Rays meet the eight-wide tree that renderer.kernels.wide makes of it.

source  Wald, On fast Construction of SAH-based Bounding Volume Hierarchies, 2007
"""

import numpy as np

from renderer.kernels.compiler import entry, kernel

BINS = 16
# Beyond this depth, far from what a sane mesh needs, nodes are halved by count, which adds log2(n) <= 32.
# Then no stack grows too long: a wide node that lies d levels below its parent leaves min(2^d - 1, 7)
# siblings waiting, at most 7 / 3 for each level, 224 in all.
DEEPEST = 64
LEAF_SIZE = 4  # the leaves of the wide tree hold several of these
TRAVERSAL_COST = 0.5
TRIANGLE_COST = 1.0


# Boxes are rows [low x, low y, low z, high x, high y, high z]. Loops are spelled out, because slices
# cost the compiler more time than all the rest.


@kernel
def half_area(boxes, i):
    dx = boxes[i, 3] - boxes[i, 0]
    dy = boxes[i, 4] - boxes[i, 1]
    dz = boxes[i, 5] - boxes[i, 2]
    return dx * dy + dy * dz + dz * dx


@kernel
def clear(boxes, i):
    for k in range(3):
        boxes[i, k] = np.inf
        boxes[i, 3 + k] = -np.inf


@kernel
def grow(boxes, i, others, j):
    """Make box i large enough to hold box j of `others`."""
    for k in range(3):
        boxes[i, k] = min(boxes[i, k], others[j, k])
        boxes[i, 3 + k] = max(boxes[i, 3 + k], others[j, 3 + k])


@kernel
def bin_of(boxes, j, axis, low, extent):
    """Which of the bins along an axis the centre of box j falls into; centres are doubled throughout."""
    return min(BINS - 1, int(BINS * (boxes[j, axis] + boxes[j, 3 + axis] - low) / extent))


@kernel
def fill_bins(boxes, order, first, last, axis, low, extent, bins, counts):
    for b in range(BINS):
        clear(bins, b)
        counts[b] = 0
    for i in range(first, last):
        b = bin_of(boxes, order[i], axis, low, extent)
        counts[b] += 1
        grow(bins, b, boxes, order[i])


@kernel
def best_split(bins, counts, scratch, right_cost):
    """Cheapest cut between bins: (area times boxes summed over both sides, last bin of the left side)."""
    clear(scratch, 0)
    total = 0
    for b in range(BINS - 1, 0, -1):
        grow(scratch, 0, bins, b)
        total += counts[b]
        right_cost[b] = half_area(scratch, 0) * total if total > 0 else np.inf
    clear(scratch, 0)
    total = 0
    best_cost, best_bin = np.inf, -1
    for b in range(BINS - 1):
        grow(scratch, 0, bins, b)
        total += counts[b]
        if total > 0:
            cost = half_area(scratch, 0) * total + right_cost[b + 1]
            if cost < best_cost:
                best_cost, best_bin = cost, b
    return best_cost, best_bin


@kernel
def partition(boxes, order, first, last, axis, low, extent, split):
    """Bring the boxes of bins up to `split` to the front; returns where the others begin."""
    i, j = first, last - 1
    while i <= j:
        if bin_of(boxes, order[i], axis, low, extent) <= split:
            i += 1
        else:
            order[i], order[j] = order[j], order[i]
            j -= 1
    return i


@entry
def build_binary(boxes):
    """Binary tree over boxes (n, 6) float32 [low xyz, high xyz].

    returns  order (n,) int32: box numbers in leaf order
             bounds (m, 6) float32, and links (m, 2) int32: [left child, -1] with right = left + 1, or
             [first, count] in `order` for a leaf (count > 0)
    """
    n = boxes.shape[0]
    order = np.empty(n, np.int32)
    for i in range(n):
        order[i] = i
    bounds = np.empty((max(2 * n, 2), 6), np.float32)
    links = np.empty((max(2 * n, 2), 2), np.int32)
    todo = np.empty((DEEPEST + 40, 4), np.int64)  # node, first, last, depth; depth first keeps it short
    counts = np.empty(BINS, np.int64)
    bins = np.empty((BINS, 6), np.float32)
    scratch = np.empty((1, 6), np.float32)
    right_cost = np.empty(BINS, np.float64)
    used, top = 1, 1
    todo[0, 0], todo[0, 1], todo[0, 2], todo[0, 3] = 0, 0, n, 0
    while top > 0:
        top -= 1
        node, first, last, depth = todo[top, 0], todo[top, 1], todo[top, 2], todo[top, 3] + 1
        count = last - first
        clear(bounds, node)
        for i in range(first, last):
            grow(bounds, node, boxes, order[i])
        best_cost, best_axis, best_bin, best_low, best_extent = np.inf, -1, -1, 0.0, 0.0
        if count > 1:
            for axis in range(3):
                low, high = np.inf, -np.inf
                for i in range(first, last):
                    centre = float(boxes[order[i], axis] + boxes[order[i], 3 + axis])
                    low, high = min(low, centre), max(high, centre)
                extent = high - low
                if not extent > 0.0:
                    continue
                fill_bins(boxes, order, first, last, axis, low, extent, bins, counts)
                cost, split = best_split(bins, counts, scratch, right_cost)
                if cost < best_cost:
                    best_cost, best_axis, best_bin, best_low, best_extent = cost, axis, split, low, extent
        area = half_area(bounds, node)
        leaf_cost = TRIANGLE_COST * count * area
        split_cost = TRAVERSAL_COST * area + TRIANGLE_COST * best_cost
        if count <= LEAF_SIZE and (leaf_cost <= split_cost or best_axis < 0):
            links[node, 0], links[node, 1] = first, count
            continue
        if best_axis < 0 or depth > DEEPEST:  # centres coincide, or a freak of depth: halve by count
            middle = (first + last) // 2
        else:
            middle = partition(boxes, order, first, last, best_axis, best_low, best_extent, best_bin)
        links[node, 0], links[node, 1] = used, -1
        todo[top, 0], todo[top, 1], todo[top, 2], todo[top, 3] = used, first, middle, depth
        todo[top + 1, 0], todo[top + 1, 1] = used + 1, middle
        todo[top + 1, 2], todo[top + 1, 3] = last, depth
        used += 2
        top += 2
    return order, bounds[:used], links[:used]
