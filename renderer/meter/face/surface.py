"""The front of the face on a regular grid of the head frame, and patches of skin as points.

Plain rasterisation along the nose's axis: no ray is traced.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from renderer.scene.place import head_to_world
from renderer.world.build import World
from renderer.world.material import PATCHES, SKIN

# Skin that is no part of the face as seen from the front (names of patches).
BESIDE = ("ear", "neck_front", "neck_side", "scalp", "shoulder", "chest", "submental")
MARGIN = 0.02  # m about the grid: larger than any triangle of a face
BACK = -0.09  # m: the back of the head is never in front
FRONT_FACING = 0.4  # least cosine between the skin's normal and the nose's axis


@dataclass(frozen=True)
class Head:
    """The head frame in the world: world = rows @ head + origin; rows are orthonormal."""

    rows: np.ndarray
    origin: np.ndarray

    @classmethod
    def of(cls, world: World) -> Head:
        matrix, origin = head_to_world(world.scene.sitter, world.scene.camera)
        return cls(np.array(matrix), np.array(origin))

    def to_world(self, points: np.ndarray) -> np.ndarray:
        return np.asarray(points @ self.rows.T + self.origin)

    def from_world(self, points: np.ndarray) -> np.ndarray:
        return np.asarray((points - self.origin) @ self.rows)

    def turn(self, directions: np.ndarray) -> np.ndarray:
        """Directions of the head frame in the world."""
        return np.asarray(directions @ self.rows.T)

    def turn_back(self, directions: np.ndarray) -> np.ndarray:
        """Directions of the world in the head frame."""
        return np.asarray(directions @ self.rows)


@dataclass(frozen=True)
class Grid:
    """What a viewer far before the nose sees, at the nodes y[j], z[i] of the head frame [m].

    hit       (nz, ny) bool
    position  (nz, ny, 3) head frame [m], normal (nz, ny, 3) outward unit, head frame
    patch     (nz, ny) number in PATCHES; material (nz, ny), -1 where nothing is met
    """

    step: float
    y: np.ndarray
    z: np.ndarray
    hit: np.ndarray
    position: np.ndarray
    normal: np.ndarray
    patch: np.ndarray
    material: np.ndarray

    def of_patches(self, *names: str) -> np.ndarray:
        """(nz, ny) bool: nodes on any of these patches."""
        return np.asarray(np.isin(self.patch, [PATCHES.index(name) for name in names]) & self.hit)

    def face(self, chin: float) -> np.ndarray:
        """(nz, ny) bool: the front-facing skin of the face, down to the height `chin` [m]."""
        beside = self.of_patches(*BESIDE)
        turned = self.normal[..., 0] > FRONT_FACING
        return np.asarray((self.material == SKIN) & turned & ~beside & (self.position[..., 2] > chin))


def front(world: World, head: Head, step: float, y: tuple[float, float], z: tuple[float, float]) -> Grid:
    """The surface nearest the viewer at every node of y x z [m], ends included."""
    assert world.sitter is not None
    mesh = world.sitter.triangles
    ys = y[0] + step * np.arange(round((y[1] - y[0]) / step) + 1)
    zs = z[0] + step * np.arange(round((z[1] - z[0]) / step) + 1)
    vertices = head.from_world(mesh.vertices)
    first = np.array([ys[0], zs[0]])
    near = vertices[:, 0] > BACK
    for axis, nodes in ((1, ys), (2, zs)):
        near &= (vertices[:, axis] > nodes[0] - MARGIN) & (vertices[:, axis] < nodes[-1] + MARGIN)
    kept = np.logical_or.reduce([near[mesh.faces[:, k]] for k in range(3)])
    faces_near, materials = mesh.faces[kept], mesh.materials[kept]
    a, b, c = (vertices[faces_near[:, k], 1:] for k in range(3))
    corners = np.stack([a, b, c], axis=1)
    low = np.ceil((np.minimum(np.minimum(a, b), c) - first) / step).astype(int)
    high = np.floor((np.maximum(np.maximum(a, b), c) - first) / step).astype(int)
    low, high = np.maximum(low, 0), np.minimum(high, [len(ys) - 1, len(zs) - 1])
    chosen = np.flatnonzero((high >= low).all(axis=1))
    cells, depths, triangles, weights = [], [], [], []
    size = high - low
    for di in range(size[chosen, 0].max(initial=0) + 1):
        wide = chosen[size[chosen, 0] >= di]
        for dj in range(size[wide, 1].max(initial=0) + 1):
            some = wide[size[wide, 1] >= dj]
            node = low[some] + [di, dj]
            at = np.stack([ys[node[:, 0]], zs[node[:, 1]]], axis=1)
            bary = _barycentric(corners[some], at)
            inside = (bary >= -1e-9).all(axis=1)
            some, node, bary = some[inside], node[inside], bary[inside]
            cells.append(node[:, 1] * len(ys) + node[:, 0])
            depths.append((vertices[faces_near[some], 0] * bary).sum(axis=1))
            triangles.append(some)
            weights.append(bary)
    cell, depth = np.concatenate(cells), np.concatenate(depths)
    triangle, bary = np.concatenate(triangles), np.concatenate(weights)
    order = np.argsort(depth, kind="stable")  # of several on one node the last, the foremost, stays
    best = np.full(len(ys) * len(zs), -1)
    best[cell[order]] = order
    hit = best >= 0
    faces = faces_near[triangle[best]]
    weight = bary[best]
    normal = head.turn_back((mesh.normals[faces] * weight[:, :, None]).sum(axis=1))
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-12)
    heaviest = faces[np.arange(len(faces)), weight.argmax(axis=1)]
    shape = (len(zs), len(ys))
    yy, zz = np.meshgrid(ys, zs)
    x = np.where(hit, depth[best], np.nan).reshape(shape)
    return Grid(
        step,
        ys,
        zs,
        hit.reshape(shape),
        np.stack([x, yy, zz], axis=-1),
        normal.reshape(*shape, 3),
        np.where(hit, world.sitter.patches[heaviest], 0).reshape(shape),
        np.where(hit, materials[triangle[best]], -1).reshape(shape),
    )


def _barycentric(corners: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Weights (n, 3) of the corners (n, 3, 2) at the points (n, 2); negative outside or without area."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    area = _cross(b - a, c - a)
    safe = np.where(area == 0.0, 1.0, area)
    u, v = _cross(at - a, c - a) / safe, _cross(b - a, at - a) / safe
    bary = np.stack([1.0 - u - v, u, v], axis=1)
    bary[area == 0.0] = -1.0
    return bary


def _cross(p: np.ndarray, q: np.ndarray) -> np.ndarray:
    return np.asarray(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])
