"""Closed surfaces made of rings of vertices between two poles: turned about an axis or drawn on a path."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mesh = tuple[Array, Array, NDArray[np.int64], NDArray[np.uint8]]
"""Vertices (n, 3) [mm], outward unit normals (n, 3), triangles (m, 3), region of each vertex (n,)."""


def ringed(
    rings: Array, normals: Array, poles: Array, pole_normals: Array, region: NDArray[np.integer]
) -> Mesh:
    """Rings (k, n, 3) joined to each other, the ends to a pole (2, 3) each; region (k,) of the rings.

    Triangles turn so that the plain cross product of their edges leaves the surface.
    """
    count, n = rings.shape[:2]
    vertices = np.concatenate([poles[:1], rings.reshape(-1, 3), poles[1:]])
    normal = np.concatenate([pole_normals[:1], normals.reshape(-1, 3), pole_normals[1:]])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    label = np.concatenate([region[:1], np.repeat(region, n), region[-1:]]).astype(np.uint8)
    here, after = np.arange(n), (np.arange(n) + 1) % n
    faces = [np.stack([np.zeros_like(here), 1 + here, 1 + after], axis=1)]
    for i in range(count - 1):
        a, b = 1 + i * n, 1 + (i + 1) * n
        faces += [
            np.stack([a + here, b + here, b + after], axis=1),
            np.stack([a + here, b + after, a + after], axis=1),
        ]
    last = 1 + (count - 1) * n
    faces.append(np.stack([last + here, np.full_like(here, len(vertices) - 1), last + after], axis=1))
    whole = np.concatenate(faces)
    p, q, r = (vertices[whole[:, k]] - vertices[0] for k in range(3))
    inside_out = np.einsum("ij,ij->", p, np.cross(q, r)) < 0.0  # the signed volume
    return vertices, normal, whole[:, ::-1] if inside_out else whole, label


def turned(
    radius: Array,
    depth: Array,
    normal: Array,
    region: NDArray[np.integer],
    ends: tuple[float, float],
    segments: int,
) -> Mesh:
    """Rings of `radius` at `depth` along z, from the pole at z = ends[0], above, to that at ends[1].

    normal (rings, 2): outward, away from the axis and along z; the poles look along +z and -z
    """
    turn = np.arange(segments) * (2.0 * np.pi / segments)
    cos, sin = np.cos(turn), np.sin(turn)

    def about(out: Array, up: Array) -> Array:
        return np.stack([out[:, None] * cos, out[:, None] * sin, np.repeat(up[:, None], segments, 1)], -1)

    axis = np.array([[0.0, 0.0, 1.0]])
    poles = np.concatenate([ends[0] * axis, ends[1] * axis])
    return ringed(
        about(radius, depth), about(normal[:, 0], normal[:, 1]), poles, np.concatenate([axis, -axis]), region
    )


def joined(*parts: Mesh) -> Mesh:
    """Several closed surfaces as one mesh."""
    offset = np.cumsum([0] + [len(part[0]) for part in parts])
    faces = [part[2] + start for part, start in zip(parts, offset, strict=False)]
    vertices, normals, regions = (np.concatenate([part[k] for part in parts]) for k in (0, 1, 3))
    return vertices, normals, np.concatenate(faces), regions
