"""A part of the sitter: one mesh with its albedo, roughness and materials, in the head frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from renderer.world.material import SKIN, skin_roughness


@dataclass(frozen=True)
class Piece:
    """A mesh in the head frame [m]; `materials` (n,) of its triangles, the rest of its vertices."""

    vertices: np.ndarray
    normals: np.ndarray
    faces: np.ndarray
    albedos: np.ndarray
    roughness: np.ndarray
    materials: np.ndarray
    patches: np.ndarray


def bundled_piece(
    vertices: np.ndarray,
    faces: np.ndarray,
    albedos: np.ndarray,
    materials: int | np.ndarray,
    patches: np.ndarray | None = None,
) -> Piece:
    """A mesh that comes with the program.

    vertices   records of its file
    materials  of all its triangles, or of each
    """
    none = np.zeros(len(vertices), np.int64)
    patches = none if patches is None else patches
    places = np.stack([vertices[axis] for axis in ("x", "y", "z")], axis=1).astype(float)
    return Piece(
        places,
        np.stack([vertices[axis] for axis in ("nx", "ny", "nz")], axis=1).astype(float),
        faces,
        np.broadcast_to(albedos, places.shape),
        skin_roughness(patches) if np.array_equal(materials, SKIN) else none.astype(float),
        np.broadcast_to(np.asarray(materials), len(faces)),
        patches,
    )
