"""The tree over a mesh, from disk where one over the same boxes was built before.

It is half the work of seating a head. A file is named by a digest of all that it depends on, the boxes, and
lies beside the kernels that built it, in a folder named by a digest of theirs: it cannot go stale. Nothing
is said where it cannot be kept, since the kernels, which are to lie there too, say it.
"""

from __future__ import annotations

import hashlib
import os
import zipfile
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

import numpy as np

from renderer.kernels.compiler import cache_folder
from renderer.kernels.tree import build_binary
from renderer.kernels.wide import collapse

KEPT = 24  # trees, each of 4 MB for the heads that ship
WORTH = 20000  # triangles: fewer are sooner built than looked for


class Tree(NamedTuple):
    """As `build_binary` and `collapse` return them.

    order     (n,) int32 triangle numbers in the order of the leaves
    planes    (m, 6, 8) float32; children (m, 8) int32; leaves (b, 2) int32
    """

    order: np.ndarray
    planes: np.ndarray
    children: np.ndarray
    leaves: np.ndarray


def tree_over(boxes: np.ndarray) -> Tree:
    """The eight-wide tree over boxes (n, 6) float32, n > 0."""
    if len(boxes) < WORTH:
        return _built(boxes)
    path = cache_folder() / "trees" / f"{hashlib.sha256(boxes.data).hexdigest()[:32]}.npz"
    tree = _read(path)
    if tree is None:
        tree = _built(boxes)
        with suppress(OSError):
            _keep(tree, path)
    return tree


def _built(boxes: np.ndarray) -> Tree:
    order, bounds, links = build_binary(boxes)
    return Tree(order, *collapse(bounds, links))


def _read(path: Path) -> Tree | None:
    """None where there is no such file, or one cut short: the archive holds a check sum of each array."""
    try:
        with np.load(path, allow_pickle=False) as file:
            tree = Tree(*(file[name] for name in Tree._fields))
        os.utime(path)  # the ones that were wanted last are kept
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None
    return tree


def _keep(tree: Tree, path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.stem}.{os.getpid()}.part")
    try:
        with part.open("wb") as file:
            np.savez(file, allow_pickle=False, **tree._asdict())
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
    oldest_first = sorted(path.parent.glob("*.npz"), key=lambda it: it.stat().st_mtime)
    for old in oldest_first[:-KEPT]:
        old.unlink(missing_ok=True)
