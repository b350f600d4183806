"""Building the bounding volume hierarchy over a mesh: binned surface-area heuristic, then eight-wide nodes.

source  Wald, On fast Construction of SAH-based Bounding Volume Hierarchies, 2007 (binning);
        Wald, Benthin, Boulos, Getting Rid of Packets, 2008 (collapse to wide nodes)
"""

import numpy as np

from renderer.kernels.compiler import entry, kernel

BINS = 16
DEEPEST = 120  # nodes waiting; far beyond what a sane mesh needs
LEAF_SIZE = 7
WIDTH = 8
TRAVERSAL_COST = 3.0
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
    todo = np.empty((DEEPEST + 8, 3), np.int64)  # node, first, last; depth first keeps it short
    counts = np.empty(BINS, np.int64)
    bins = np.empty((BINS, 6), np.float32)
    scratch = np.empty((1, 6), np.float32)
    right_cost = np.empty(BINS, np.float64)
    used, top = 1, 1
    todo[0, 0], todo[0, 1], todo[0, 2] = 0, 0, n
    while top > 0:
        top -= 1
        node, first, last = todo[top, 0], todo[top, 1], todo[top, 2]
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
        if best_axis < 0 or top >= DEEPEST:  # centres coincide, or a freak of depth: halve by count
            middle = (first + last) // 2
        else:
            middle = partition(boxes, order, first, last, best_axis, best_low, best_extent, best_bin)
        links[node, 0], links[node, 1] = used, -1
        todo[top, 0], todo[top, 1], todo[top, 2] = used, first, middle
        todo[top + 1, 0], todo[top + 1, 1], todo[top + 1, 2] = used + 1, middle, last
        used += 2
        top += 2
    return order, bounds[:used], links[:used]


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
    todo[0, 0], todo[0, 1] = 0, 0
    top, used = 1, 1
    while top > 0:
        top -= 1
        wide = todo[top, 0]
        slots[0] = todo[top, 1]
        filled = 1
        while filled < WIDTH:  # open the inner child with the largest surface
            widest, opened = -1.0, -1
            for s in range(filled):
                if links[slots[s], 1] < 0:
                    area = half_area(bounds, slots[s])
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
                for k in range(3):
                    planes[wide, k, s] = np.inf
                    planes[wide, 3 + k, s] = -np.inf
                continue
            node = slots[s]
            for k in range(6):
                planes[wide, k, s] = bounds[node, k]
            if links[node, 1] < 0:
                children[wide, s] = used
                todo[top, 0], todo[top, 1] = used, node
                used += 1
                top += 1
            else:
                children[wide, s] = -1 - (8 * links[node, 0] + links[node, 1])
    return planes[:used], children[:used]
