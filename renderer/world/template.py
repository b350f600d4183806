"""Patches and landmarks of a person's own mesh: the bundled head, stretched to four landmarks, lends its own.

The bundled head is scaled so that pupils, nose tip and chin fall onto those of the mesh. A vertex of the mesh
takes the patch that the stretched head has in the same direction from the middle of the skull, if the two
surfaces are near there; a landmark goes to the nearest point of the mesh that faces the same way.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from renderer import assets
from renderer.errors import InputError
from renderer.world.ply import read_ply

MIDDLE = np.array([-0.075, 0.0, 0.0])  # m: middle of the skull in the head frame
CELL = 0.75  # deg of the map of directions: about 1.3 mm on the face
NEAR = 0.3  # of the distance from the middle: how far the surfaces may lie apart
FURTHEST = 0.035  # m between a landmark of the stretched head and the mesh
TURNED = 0.2  # least cosine between the normals of both there
CLOSEST = 64  # triangles by their middles, among which the nearest point is looked for
STRETCH = (0.55, 1.8)  # of the bundled head: beyond, the four points are no face
GAPS = 8  # cells between two vertices where the bundled mesh is coarse
BEHIND = 1e-6

Points = dict[str, tuple[np.ndarray, np.ndarray]]
"""Position [m] and outward unit normal by name."""


@dataclass(frozen=True)
class Stretch:
    """From the bundled head frame to that of the mesh, piece by piece along each axis."""

    ahead: float
    behind: float
    across: float
    heights: np.ndarray  # (3,) of chin, nose tip and pupils on the bundled head, rising
    onto: np.ndarray  # (3,) where they come to

    @classmethod
    def between(cls, bundled: Points, own: Points, path: str) -> Stretch:
        """Raises InputError where the four points are not those of a face."""
        across = (own["pupil_l"][0] - own["pupil_r"][0])[1] / (bundled["pupil_l"][0] - bundled["pupil_r"][0])[
            1
        ]
        ahead = own["pronasale"][0][0] / bundled["pronasale"][0][0]
        heights = np.array([bundled[name][0][2] for name in ("menton", "pronasale")] + [0.0])
        onto = np.array([own[name][0][2] for name in ("menton", "pronasale")] + [0.0])
        factors = {
            "the distance of the pupils": across,
            "how far the nose tip is before the pupils": ahead,
            "how far the nose tip is under the pupils": onto[1] / heights[1],
            "how far the chin is under the nose tip": (onto[1] - onto[0]) / (heights[1] - heights[0]),
        }
        for what, factor in factors.items():
            if not STRETCH[0] <= factor <= STRETCH[1]:
                raise InputError(
                    f"sitter.landmarks: {path}: {what} is {factor:.2g} times that of a usual head;"
                    f" expected {STRETCH[0]:g} to {STRETCH[1]:g} times: is mesh_scale right?"
                )
        return cls(ahead, across, across, heights, onto)

    def __call__(self, points: np.ndarray) -> np.ndarray:
        """Points (n, 3) of the bundled head where the mesh should have them."""
        x, y, z = points.T
        slope_low = (self.onto[1] - self.onto[0]) / (self.heights[1] - self.heights[0])
        below = self.onto[0] + (z - self.heights[0]) * slope_low
        above = z * (self.onto[2] - self.onto[1]) / (self.heights[2] - self.heights[1])
        between = np.interp(z, self.heights, self.onto)
        height = np.where(z < self.heights[0], below, np.where(z > 0.0, above, between))
        return np.stack([x * np.where(x > 0.0, self.ahead, self.behind), y * self.across, height], axis=1)


def bundled_landmarks(folder: Path | None = None) -> Points:
    """Those of the bundled head whose files are in `folder`, in its frame; of the first one unless given."""
    with ((folder or assets.folder("meshes")) / "head.toml").open("rb") as file:
        table = tomllib.load(file)["landmark"]
    return {name: (np.array(it["position"]), np.array(it["normal"])) for name, it in table.items()}


def _direction_cells(points: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Row and column of the map of directions about MIDDLE, and the distance from it."""
    way = points - MIDDLE
    radius = np.linalg.norm(way, axis=1)
    latitude = np.degrees(np.arcsin(way[:, 2] / np.maximum(radius, BEHIND)))
    longitude = np.degrees(np.arctan2(way[:, 1], way[:, 0]))
    rows = np.clip(((latitude + 90.0) / CELL).astype(int), 0, round(180.0 / CELL) - 1)
    columns = ((longitude + 180.0) / CELL).astype(int) % round(360.0 / CELL)
    return rows, columns, radius


def own_patches(vertices: np.ndarray, normals: np.ndarray, stretch: Stretch) -> np.ndarray:
    """(v,) patch numbers of a mesh in the head frame, 0 where the stretched head has none."""
    head, _ = read_ply(assets.folder("meshes") / "head.ply")
    points = stretch(np.stack([head[axis] for axis in ("x", "y", "z")], axis=1).astype(float))
    rows, columns, radius = _direction_cells(points)
    size = (round(180.0 / CELL), round(360.0 / CELL))
    patch, outermost = np.zeros(size, np.int64), np.zeros(size)
    order = np.argsort(radius)  # the outermost is written last
    patch[rows[order], columns[order]] = head["patch"][order]
    outermost[rows[order], columns[order]] = radius[order]
    for _ in range(GAPS):
        for shift, axis in ((1, 0), (-1, 0), (1, 1), (-1, 1)):
            empty = outermost == 0.0
            patch = np.where(empty, np.roll(patch, shift, axis), patch)
            outermost = np.where(empty, np.roll(outermost, shift, axis), outermost)
    rows, columns, radius = _direction_cells(vertices)
    there = outermost[rows, columns]
    outward = np.einsum("ij,ij->i", normals, vertices - MIDDLE) > 0.0
    near = np.abs(radius - there) < NEAR * np.maximum(there, BEHIND)
    return np.where(near & outward, patch[rows, columns], 0)


def own_landmarks(
    vertices: np.ndarray, normals: np.ndarray, faces: np.ndarray, given: Points, stretch: Stretch
) -> Points:
    """Every landmark of the bundled head that the mesh has a surface for, and the given ones as they are."""
    import trimesh

    found = dict(given)
    centres, facing = vertices[faces].mean(axis=1), normals[faces[:, 0]]
    for name, (position, normal) in bundled_landmarks().items():
        if name in given:
            continue
        at = stretch(position[None])[0]
        alike = np.flatnonzero(facing @ normal > TURNED)
        if len(alike) == 0:
            continue
        away = np.linalg.norm(centres[alike] - at, axis=1)
        if len(alike) > CLOSEST:
            alike = np.sort(alike[np.argpartition(away, CLOSEST)[:CLOSEST]])
        points = np.asarray(
            trimesh.triangles.closest_point(  # type: ignore[no-untyped-call]
                vertices[faces[alike]], np.tile(at, (len(alike), 1))
            )
        )
        away = np.linalg.norm(points - at, axis=1)
        best = int(np.argmin(away))
        if away[best] <= FURTHEST:
            outward = normals[faces[alike[best]]].mean(axis=0)
            found[name] = (points[best], outward / np.linalg.norm(outward))
    return found
