"""Time to build the tree, from ten thousand triangles to half a million: the bundled head, cut or divided.

Smaller meshes are random subsets of the head's triangles (a loose set: harder than a surface), larger ones
have every triangle divided into four.
"""

from __future__ import annotations

import argparse
from functools import partial

import numpy as np

from benchmarks.measure import report, table, timed, world_of
from renderer.kernels.tree import build_binary, collapse

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
            binary, (_, bounds, links) = timed(partial(build_binary, boxes))
            wide, (planes, _) = timed(partial(collapse, bounds, links))
            times.append((binary, wide))
        binary, wide = np.median(times, axis=0)
        rows.append([size, 1e3 * binary, 1e3 * wide, 1e9 * (binary + wide) / size, len(planes)])
        figures[str(size)] = {"binary_s": binary, "wide_s": wide, "nodes": len(planes)}
    head = ["triangles", "binary tree, ms", "eight-wide, ms", "ns a triangle", "nodes"]
    report("Tree build", table(head, rows), figures, args.save)


if __name__ == "__main__":
    main()
