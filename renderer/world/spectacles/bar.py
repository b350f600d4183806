"""A bar of rounded section along a path: what rims, bridge and temples are made of."""

from __future__ import annotations

import numpy as np

ROUND = 12  # corners of a section
FLAT = 3.0  # exponent of its outline: 2 an ellipse, more a box with rounded corners

Mesh = tuple[np.ndarray, np.ndarray, np.ndarray]
"""Vertices (v, 3), outward unit normals (v, 3), faces (n, 3) wound outward."""


def bar(
    path: np.ndarray, wide: np.ndarray, half_wide: float | np.ndarray, half_thick: float, closed: bool = False
) -> Mesh:
    """A bar along points (n, 3) whose section is `half_wide` along the directions `wide` (n, 3), and
    `half_thick` across them and the path [m]."""
    ahead = np.roll(path, -1, 0) - np.roll(path, 1, 0)
    if not closed:
        ahead[0], ahead[-1] = path[1] - path[0], path[-1] - path[-2]
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    wide = wide - (wide * ahead).sum(axis=1)[:, None] * ahead
    wide /= np.linalg.norm(wide, axis=1, keepdims=True)
    thick = np.cross(ahead, wide)
    turn = np.linspace(0.0, 2.0 * np.pi, ROUND, endpoint=False)
    c, s = np.cos(turn), np.sin(turn)
    x = np.sign(c) * np.abs(c) ** (2.0 / FLAT)
    y = np.sign(s) * np.abs(s) ** (2.0 / FLAT)
    size = np.broadcast_to(np.asarray(half_wide, float), (len(path),))[:, None, None]
    ring = x[None, :, None] * size * wide[:, None] + y[None, :, None] * half_thick * thick[:, None]
    points = path[:, None] + ring
    # normal of |x|^k + |y|^k = 1 after it has been stretched
    flat = np.sign(x) * np.abs(x) ** (FLAT - 1.0), np.sign(y) * np.abs(y) ** (FLAT - 1.0)
    normal = (
        flat[0][None, :, None] / size * wide[:, None] + flat[1][None, :, None] / half_thick * thick[:, None]
    )
    normal /= np.linalg.norm(normal, axis=2, keepdims=True)
    return _skinned(points, normal, ahead, closed)


def _skinned(points: np.ndarray, normals: np.ndarray, ahead: np.ndarray, closed: bool) -> Mesh:
    """Rings of points joined by triangles; open ends get lids."""
    count = len(points)
    rings = np.arange(count if closed else count - 1)
    i, j = (it.ravel() for it in np.meshgrid(rings, np.arange(ROUND), indexing="ij"))
    here, there, on = i * ROUND, ((i + 1) % count) * ROUND, (j + 1) % ROUND
    faces = [np.stack([here + j, here + on, there + j], 1), np.stack([there + j, here + on, there + on], 1)]
    vertices, normal = [points.reshape(-1, 3)], [normals.reshape(-1, 3)]
    if not closed:
        for end, sign in ((0, -1.0), (count - 1, 1.0)):
            first = sum(map(len, vertices))
            vertices.append(np.concatenate([points[end], points[end].mean(axis=0)[None]]))
            normal.append(np.repeat(sign * ahead[end][None], ROUND + 1, axis=0))
            k = np.arange(ROUND)
            lid = np.stack([np.full(ROUND, first + ROUND), first + k, first + (k + 1) % ROUND], axis=1)
            faces.append(lid if sign > 0.0 else lid[:, ::-1])
    return np.concatenate(vertices), np.concatenate(normal), np.concatenate(faces).astype(np.int32)


def joined(parts: list[Mesh]) -> Mesh:
    """Several as one."""
    first = np.cumsum([0] + [len(vertices) for vertices, _, _ in parts])
    faces = np.concatenate([part[2] + start for part, start in zip(parts, first, strict=False)])
    return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts]), faces


def smooth(path: np.ndarray, count: int) -> np.ndarray:
    """`count` points evenly along a curve through the corners of `path` (n, 3), by Catmull and Rom's rule."""
    ends = np.concatenate([2.0 * path[:1] - path[1:2], path, 2.0 * path[-1:] - path[-2:-1]])
    found = []
    for k in range(len(path) - 1):
        a, b, c, d = ends[k : k + 4]
        t = np.linspace(0.0, 1.0, 32, endpoint=k == len(path) - 2)[:, None]
        found.append(
            0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
        )
    fine = np.concatenate(found)
    gone = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(fine, axis=0), axis=1))])
    even = np.linspace(0.0, gone[-1], count)
    return np.stack([np.interp(even, gone, fine[:, k]) for k in range(3)], axis=1)
