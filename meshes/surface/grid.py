"""Marching cubes of one half of a field on a graded grid, evaluated only in a narrow band, then mirrored."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from skimage.measure import marching_cubes

Array = NDArray[np.float64]
Faces = NDArray[np.int64]
Field = Callable[[Array, Array, Array], Array]
BLOCK = 6


@dataclass(frozen=True)
class Axis:
    """Graded axis: node spacing [mm] at knots, linear between them."""

    start: float
    stop: float
    knots: tuple[tuple[float, float], ...]

    def nodes(self, factor: float) -> Array:
        """Node places from start to at least stop."""
        at, gap = np.array([k[0] for k in self.knots]), np.array([k[1] for k in self.knots])
        out = [self.start]
        while out[-1] < self.stop or (len(out) - 1) % BLOCK:
            out.append(out[-1] + factor * float(np.interp(out[-1], at, gap)))
        return np.array(out)


def half_surface(
    field: Field, axes: tuple[Axis, Axis, Axis], factor: float, band: float
) -> tuple[Array, Faces]:
    """Vertices [mm] and outward triangles of the half x >= 0, open only on the plane x = 0.

    `band` [mm] is the largest error expected of the field as a distance; a block of cells farther from the
    surface than its half diagonal plus this is not refined.
    """
    nodes = [a.nodes(factor) for a in axes]
    shape = tuple(len(n) for n in nodes)
    blocks = tuple((n - 1) // BLOCK for n in shape)
    mid = [0.5 * (n[:-1:BLOCK] + n[BLOCK::BLOCK]) for n in nodes]
    half = [0.5 * (n[BLOCK::BLOCK] - n[:-1:BLOCK]) for n in nodes]
    bx, by, bz = (g.ravel() for g in np.meshgrid(*mid, indexing="ij"))
    hx, hy, hz = (g.ravel() for g in np.meshgrid(*half, indexing="ij"))
    coarse = field(bx, by, bz)
    near = np.abs(coarse) < 1.25 * np.sqrt(hx**2 + hy**2 + hz**2) + band
    grown = np.repeat(np.repeat(np.repeat(coarse.reshape(blocks), BLOCK, 0), BLOCK, 1), BLOCK, 2)
    volume = np.pad(grown, [(0, 1)] * 3, mode="edge")
    wanted = np.zeros(shape, dtype=bool)
    for i, j, k in np.argwhere(near.reshape(blocks)):
        wanted[
            i * BLOCK : (i + 1) * BLOCK + 1, j * BLOCK : (j + 1) * BLOCK + 1, k * BLOCK : (k + 1) * BLOCK + 1
        ] = True
    ix, iy, iz = np.nonzero(wanted)
    for lo in range(0, len(ix), 400_000):
        part = slice(lo, lo + 400_000)
        a, b, c = ix[part], iy[part], iz[part]
        volume[a, b, c] = field(nodes[0][a], nodes[1][b], nodes[2][c])
    vertices, faces, _, _ = marching_cubes(  # type: ignore[no-untyped-call]
        volume, 0.0, gradient_direction="ascent", allow_degenerate=False
    )
    placed = np.stack(
        [np.interp(vertices[:, i].astype(np.float64), np.arange(shape[i]), nodes[i]) for i in range(3)],
        axis=1,
    )
    placed[placed[:, 0] < 1e-9, 0] = 0.0
    return _largest(placed, faces.astype(np.int64))


def _largest(vertices: Array, faces: Faces) -> tuple[Array, Faces]:
    """The connected piece with the most triangles; crumbs of a rough field are dropped."""
    pairs = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]]])
    graph = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(len(vertices), len(vertices)))
    piece = connected_components(graph, directed=False)[1]
    keep = piece == np.bincount(piece[faces[:, 0]]).argmax()
    index = np.cumsum(keep) - 1
    return vertices[keep], index[faces[keep[faces[:, 0]]]]


def mirrored(vertices: Array, faces: Faces) -> tuple[Array, Faces, NDArray[np.int64]]:
    """Whole surface from a half open on x = 0; the third result is each vertex's source in the half."""
    free = vertices[:, 0] > 0.0
    twin = np.arange(len(vertices))
    twin[free] = len(vertices) + np.arange(int(free.sum()))
    whole = np.concatenate([vertices, vertices[free] * (-1.0, 1.0, 1.0)])
    source = np.concatenate([np.arange(len(vertices)), np.nonzero(free)[0]])
    return whole, np.concatenate([faces, twin[faces][:, ::-1]]), source


def gradient(field: Field, points: Array, reach: float = 0.05) -> Array:
    """Unit gradient of the field by central differences of half width `reach` [mm]."""
    g = np.empty_like(points)
    for i in range(3):
        d = np.zeros(3)
        d[i] = reach
        a, b = points + d, points - d
        g[:, i] = field(a[:, 0], a[:, 1], a[:, 2]) - field(b[:, 0], b[:, 1], b[:, 2])
    return np.asarray(g / np.maximum(np.linalg.norm(g, axis=1, keepdims=True), 1e-12))
