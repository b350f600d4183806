"""Time to build the tree, from ten thousand triangles to half a million: the bundled head, cut or divided.

Smaller meshes are random subsets of the head's triangles (a loose set: harder than a surface), larger ones
have every triangle divided into four.
"""

from __future__ import annotations

import argparse
from functools import partial

import numpy as np

from benchmarks.measure import report, table, timed, world_of
from renderer.kernels.tree import build_binary
from renderer.kernels.wide import collapse, pack_blocks, pack_nodes

SIZES = (10_000, 20_000, 50_000, 100_000, 200_000, 500_000)


def divided(corners: np.ndarray) -> np.ndarray:
    """Four triangles (4 n, 3, 3) for each of (n, 3, 3)."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, bc, ca = 0.5 * (a + b), 0.5 * (b + c), 0.5 * (c + a)
    parts = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    return np.concatenate([np.stack(part, axis=1) for part in parts])


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--save", action="store_true", help="add the table to benchmarks/results.md")
    args = parser.parse_args()
    packed = world_of(64, 80)[0].packed.mesh.triangles
    whole = np.stack([packed[:, :3], packed[:, :3] + packed[:, 3:6], packed[:, :3] + packed[:, 6:]], axis=1)
    rng = np.random.default_rng(1)
    rows, figures = [], {}
    for size in SIZES:
        corners = whole
        while len(corners) < size:
            corners = divided(corners)
        corners = corners[np.sort(rng.permutation(len(corners))[:size])]
        boxes = np.ascontiguousarray(np.concatenate([corners.min(axis=1), corners.max(axis=1)], axis=1))
        times = []
        for _ in range(args.rounds):
            binary, (order, bounds, links) = timed(partial(build_binary, boxes))
            wide, (planes, children, leaves) = timed(partial(collapse, bounds, links))
            rows_in_order = np.ascontiguousarray(corners.reshape(-1, 9)[order])
            packed_s, _ = timed(lambda p=planes, c=children: pack_nodes(p, c))
            blocks_s, _ = timed(lambda it=leaves, of=rows_in_order: pack_blocks(it, of))
            times.append((binary, wide, packed_s + blocks_s))
        spent = np.median(times, axis=0)
        counts = len(planes), len(leaves)
        rows.append([size, *(1e3 * spent), 1e9 * spent.sum() / size, *counts])
        figures[str(size)] = dict(
            zip(("binary_s", "wide_s", "records_s"), spent, strict=True), nodes=counts[0]
        )
    head = ["triangles", "binary, ms", "eight-wide, ms", "records, ms", "ns a triangle", "nodes", "blocks"]
    report("Tree build", table(head, rows), figures, args.save)


if __name__ == "__main__":
    main()
