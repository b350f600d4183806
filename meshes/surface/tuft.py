"""Closed tapered tufts along centre lines: three-sided rods with a cap at the root and a point at the tip."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Faces = NDArray[np.int64]


def tufts(line: Array, outward: Array, width: Array, thickness: float) -> tuple[Array, Array, Faces]:
    """Vertices (n*(3k-2), 3), unit normals and triangles of `n` tufts of `k` points each.

    line       (n, k, 3) centre lines from root to tip [mm]
    outward    (n, k, 3) unit vectors away from what the tuft lies on
    width      (n, k) breadth of the tuft at each point [mm]; that of the tip is not used
    thickness  height over breadth of the section
    """
    n, k, _ = line.shape
    along = np.gradient(line, axis=1)
    along /= np.maximum(np.linalg.norm(along, axis=2, keepdims=True), 1e-12)
    side = np.cross(along, outward)
    side /= np.maximum(np.linalg.norm(side, axis=2, keepdims=True), 1e-12)
    up = np.cross(side, along)
    half = 0.5 * width[:, :-1, None]
    a, b, c = line[:, :-1], side[:, :-1], up[:, :-1]
    ring = np.stack(
        [a + half * b - 0.4 * half * thickness * c, a + 1.6 * half * thickness * c, a - half * b], axis=2
    )
    ring[:, :, 2] -= 0.4 * half * thickness * c
    normal = np.stack([0.97 * b - 0.24 * c, c, -0.97 * b - 0.24 * c], axis=2)
    normal[:, 0] -= 0.3 * along[:, :1]
    vertices = np.concatenate([ring.reshape(n, -1, 3), line[:, -1:]], axis=1)
    tip = along[:, -1:] * 0.9 + up[:, -1:] * 0.3
    normals = np.concatenate([normal.reshape(n, -1, 3), tip], axis=1)
    normals /= np.linalg.norm(normals, axis=2, keepdims=True)
    one = [[0, 1, 2]]
    for i in range(k - 2):
        for s in range(3):
            p, q = 3 * i + s, 3 * i + (s + 1) % 3
            one += [[p, q + 3, q], [p, p + 3, q + 3]]
    last = 3 * (k - 2)
    one += [[last + (s + 1) % 3, last + s, 3 * (k - 1)] for s in range(3)]
    count = 3 * (k - 1) + 1
    faces = np.array(one)[None] + count * np.arange(n)[:, None, None]
    return vertices.reshape(-1, 3), normals.reshape(-1, 3), faces.reshape(-1, 3)
