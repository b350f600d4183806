"""Eight-wide nodes and blocks of eight triangles from a binary tree: the cheapest way to cut it up.

A node is 64 float32, four lines of a cache: rows of the low x, y, z and high x, y, z of eight boxes, then
the eight children (int32): the byte offset of a node, or that of a block plus one. A block is 80 float32
(renderer.kernels.block). Byte offsets hold up to 2 GB of either.

source  Ylitie, Karras, Laine, Efficient Incoherent Ray Traversal on GPUs Through Compressed Wide BVHs,
        HPG 2017, section 3.1 (cost of the best cut into at most i subtrees, from the leaves up)
"""

import numpy as np

from renderer.kernels.block import BLOCK_SIZE, FIRST
from renderer.kernels.compiler import entry, kernel
from renderer.kernels.lanes import LANES, ROW
from renderer.kernels.tree import half_area

CHILDREN = 6 * ROW  # byte offset in a node
NODE_SIZE = 8 * ROW
WIDTH = LANES
LEAST_EDGE = 1e-12  # m: keeps the slack of a block above nought where its triangles have shrunk to points
LEAF, INNER, FEWER = -2, -1, 0  # what a subtree becomes, beside the share of its left child in a cut


@kernel
def best_share(cost, left, places):
    """Of `places` subtrees, how many to leave to the left child (the right one is the next); the cost."""
    best, share = np.inf, 1
    for k in range(1, places):
        total = cost[left, k] + cost[left + 1, places - k]
        if total < best:
            best, share = total, k
    return best, share


@kernel
def cheapest_cuts(bounds, links, cost, cut, span):
    """Cost of every subtree of the binary tree as at most i = 1 .. 8 parts, each a wide node or a block,
    in units of one test of eight boxes or triangles times the half area of the root.

    cut   (n, 9) int8: LEAF or INNER for i = 1; for more, FEWER (than i are best) or the left child's share
    span  (n, 2) int32: first and count of the triangles
    """
    for node in range(bounds.shape[0] - 1, -1, -1):  # children come after their parents
        area = float(half_area(bounds, node))
        cost[node, 1], cut[node, 1] = area, LEAF
        left = links[node, 0]
        if links[node, 1] >= 0:
            span[node, 0], span[node, 1] = links[node, 0], links[node, 1]
            for i in range(2, WIDTH + 1):
                cost[node, i], cut[node, i] = area, FEWER
            continue
        span[node, 0] = min(span[left, 0], span[left + 1, 0])
        span[node, 1] = span[left, 1] + span[left + 1, 1]
        if span[node, 1] > LANES:  # else one block is as cheap as the node that would part it
            cost[node, 1] += best_share(cost, left, WIDTH)[0]
            cut[node, 1] = INNER
        for i in range(2, WIDTH + 1):
            cost[node, i], cut[node, i] = best_share(cost, left, i)
            if cost[node, i - 1] <= cost[node, i]:
                cost[node, i], cut[node, i] = cost[node, i - 1], FEWER


@entry
def collapse(bounds, links):
    """Eight-wide nodes from a binary tree.

    returns  planes (m, 6, 8) float32: low x, low y, low z, high x, high y, high z of eight children; an
             empty place has an inverted box that no ray meets
             children (m, 8) int32: number of a node, or -1 - number of a leaf
             leaves (b, 2) int32: first and count, at most 8, of its triangles
    """
    n = bounds.shape[0]
    cost, cut = np.empty((n, WIDTH + 1)), np.zeros((n, WIDTH + 1), np.int8)
    span, leaves = np.empty((n, 2), np.int32), np.empty((n, 2), np.int32)
    cheapest_cuts(bounds, links, cost, cut, span)
    planes, children = np.empty((n, 6, WIDTH), np.float32), np.zeros((n, WIDTH), np.int32)
    todo, parts = np.empty((n + 1, 2), np.int64), np.empty((2 * WIDTH, 2), np.int64)
    todo[0, 0], todo[0, 1] = 0, 0
    top, used, found = 1, 1, 0
    while top > 0:
        top -= 1
        wide, root = todo[top, 0], todo[top, 1]
        parts[0, 0], parts[0, 1] = root, 1  # subtrees to be cut, and into how many
        waiting, filled = 1, 0
        if cut[root, 1] == INNER:
            _, share = best_share(cost, links[root, 0], WIDTH)
            parts[0, 0], parts[0, 1] = links[root, 0], share
            parts[1, 0], parts[1, 1] = links[root, 0] + 1, WIDTH - share
            waiting = 2
        while waiting > 0:
            waiting -= 1
            node, places = parts[waiting, 0], parts[waiting, 1]
            while places > 1 and cut[node, places] == FEWER:
                places -= 1
            if places > 1:
                left, share = links[node, 0], cut[node, places]
                parts[waiting, 0], parts[waiting, 1] = left, share
                parts[waiting + 1, 0], parts[waiting + 1, 1] = left + 1, places - share
                waiting += 2
                continue
            for k in range(6):
                planes[wide, k, filled] = bounds[node, k]
            if cut[node, 1] == INNER:
                children[wide, filled] = used
                todo[top, 0], todo[top, 1] = used, node
                used += 1
                top += 1
            else:
                children[wide, filled] = -1 - found
                leaves[found, 0], leaves[found, 1] = span[node, 0], span[node, 1]
                found += 1
            filled += 1
        for s in range(filled, WIDTH):
            for k in range(3):
                planes[wide, k, s], planes[wide, 3 + k, s] = np.inf, -np.inf
    return planes[:used], children[:used], leaves[:found]


def on_lines(rows: int, size: int) -> np.ndarray:
    """Zeros (rows, size / 4) float32 that begin on a line of the cache."""
    raw = np.zeros(rows * size + 64, np.uint8)
    first = -raw.ctypes.data % 64
    return raw[first : first + rows * size].view(np.float32).reshape(rows, size // 4)


def pack_nodes(planes: np.ndarray, children: np.ndarray) -> np.ndarray:
    """Records of nodes from what `collapse` returns; for no nodes at all, one that no ray enters."""
    nodes = on_lines(max(1, len(planes)), NODE_SIZE)
    nodes[:, : 3 * LANES], nodes[:, 3 * LANES : 6 * LANES] = np.inf, -np.inf
    nodes[: len(planes), : 6 * LANES] = planes.reshape(-1, 6 * LANES)
    offsets = np.where(children >= 0, NODE_SIZE * children, 1 - BLOCK_SIZE * (1 + children))
    nodes.view(np.int32)[: len(planes), CHILDREN // 4 : CHILDREN // 4 + LANES] = offsets
    return nodes


def pack_blocks(leaves: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Records of blocks from `collapse` and triangles (n, 9) in the order of the tree; empty places are NaN,
    which no inequality accepts."""
    blocks = on_lines(max(1, len(leaves)), BLOCK_SIZE)
    lanes = blocks[: len(leaves), : 9 * LANES].reshape(len(leaves), 9, LANES)
    lanes[:] = np.nan
    for k in range(LANES):
        held = leaves[:, 1] > k
        lanes[held, :, k] = triangles[leaves[held, 0] + k]
    blocks[: len(leaves), 9 * LANES] = np.nanmax(np.abs(lanes[:, 3:]), axis=(1, 2), initial=LEAST_EDGE)
    blocks.view(np.int32)[: len(leaves), FIRST // 4] = leaves[:, 0]
    return blocks
