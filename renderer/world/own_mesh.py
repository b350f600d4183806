"""A person's own mesh of the sitter: read, checked and brought into the head frame."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from renderer.errors import InputError
from renderer.scene.models import Scene
from renderer.scene.sitter import MESH_FILES, Landmarks
from renderer.world.landmark_file import side_file
from renderer.world.material import SKIN, skin_roughness, under_coat
from renderer.world.piece import Piece
from renderer.world.template import Points, Stretch, bundled_landmarks, own_landmarks, own_patches

# Landmarks that a person gives, by their names in the head's own list.
GIVEN = {
    "pupil_l": "sitter_left_pupil",
    "pupil_r": "sitter_right_pupil",
    "pronasale": "nose_tip",
    "menton": "chin",
}
# Coordinates over the first lose the shape of a face to rounding; under the second no valid
# mesh_scale makes a head of it.
FARTHEST, SMALLEST = 1e9, 1e-4


def read_mesh(path: Path) -> Any:
    """The file as one trimesh.Trimesh. Raises InputError with the reason in one line."""
    import trimesh  # imported late: it costs a fifth of a second

    try:
        mesh = trimesh.load(path, force="mesh", process=False)
    except Exception:  # every reader of trimesh fails in its own way and words
        raise InputError(
            f"sitter.mesh: {path} cannot be read as a mesh (unknown or broken format);"
            f" expected a whole {', '.join(MESH_FILES)} file"
        ) from None
    vertices = np.asarray(getattr(mesh, "vertices", np.zeros((0, 3))), float)
    faces = np.asarray(getattr(mesh, "faces", np.zeros((0, 3))), np.int64)
    if len(vertices) == 0 or len(faces) == 0:
        raise InputError(f"sitter.mesh: {path} holds no triangles; expected a surface mesh")
    if not np.isfinite(vertices).all():
        bad = int(np.argmin(np.isfinite(vertices).all(axis=1)))
        raise InputError(f"sitter.mesh: {path}: vertex {bad} is not a finite point")
    if np.abs(vertices).max() > FARTHEST:
        far = int(np.argmax(np.abs(vertices).max(axis=1)))
        raise InputError(
            f"sitter.mesh: {path}: vertex {far} has a coordinate of {np.abs(vertices[far]).max():.3g};"
            f" expected at most {FARTHEST:g} units of the file"
        )
    extent = float(np.ptp(vertices, axis=0).max())
    if extent < SMALLEST:
        raise InputError(
            f"sitter.mesh: {path} is {extent:.3g} units of the file large; expected at least {SMALLEST:g}"
        )
    if faces.min() < 0 or faces.max() >= len(vertices):
        raise InputError(f"sitter.mesh: {path}: a face names vertex {faces.max()} of {len(vertices)}")
    return mesh


def vertex_normals(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """(v, 3) unit normals: those of the faces about a vertex, weighed by area; up where there are none."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    sums = np.zeros_like(vertices)
    for k in range(3):
        np.add.at(sums, faces[:, k], np.cross(b - a, c - a))
    lengths = np.linalg.norm(sums, axis=1, keepdims=True)
    return np.where(lengths > 0.0, sums / np.maximum(lengths, 1e-300), [0.0, 0.0, 1.0])


def _volume(vertices: np.ndarray, faces: np.ndarray) -> float:
    """Signed sum [m3] of the tetrahedra from the middle of the vertices; of a closed mesh its volume."""
    a, b, c = ((vertices - vertices.mean(axis=0))[faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0


def _own_frame(marks: Landmarks | None, scale: float, path: Path) -> tuple[np.ndarray, np.ndarray]:
    """Rows of the matrix and the origin (units of the file) that bring a file into the head frame."""
    if marks is None:
        return scale * np.eye(3), np.zeros(3)
    left, right = np.array(marks.sitter_left_pupil), np.array(marks.sitter_right_pupil)
    origin = 0.5 * (left + right)
    y = (left - right) / np.linalg.norm(left - right)
    z = origin - np.array(marks.chin)
    z -= y * (z @ y)
    if not np.linalg.norm(z) > 1e-9:
        raise InputError(
            f"sitter.landmarks: {path}: chin lies on the line through the pupils; expected below"
        )
    z /= np.linalg.norm(z)
    x = np.cross(y, z)
    ahead = (np.array(marks.nose_tip) - origin) @ x
    if ahead <= 0.0:
        raise InputError(
            f"sitter.landmarks: {path}: the nose tip lies behind the pupils; are sitter_left_pupil and"
            " sitter_right_pupil exchanged?"
        )
    return scale * np.array([x, y, z]), origin


def own_pieces(scene: Scene, path: Path) -> tuple[list[Piece], Points]:
    """The mesh in the head frame, with the patches and landmarks that its four landmarks give.

    Raises InputError for a mesh or landmarks that cannot be used.
    """
    sitter = scene.sitter
    mesh = read_mesh(path)
    mesh.merge_vertices(merge_tex=True, merge_norm=True)  # formats that keep each triangle apart look faceted
    marks = sitter.landmarks or side_file(path)
    rows, origin = _own_frame(marks, sitter.mesh_scale, path)
    vertices = (np.asarray(mesh.vertices, float) - origin) @ rows.T
    size = float(np.ptp(vertices, axis=0).max())
    if not 0.1 <= size <= 3.0:
        raise InputError(
            f"sitter.mesh_scale: {path} is {size:.3g} metres large with a scale of {sitter.mesh_scale:g};"
            f" expected 0.1 to 3 metres: did you mean {_nearest_scale(size, sitter.mesh_scale):g}?"
        )
    faces = np.asarray(mesh.faces, np.int32)
    if _volume(vertices, faces) < 0.0 and mesh.is_watertight:  # wound inside out
        faces = faces[:, ::-1]
    del mesh
    normals = vertex_normals(vertices, faces)
    patches = np.zeros(len(vertices), np.int64)
    points: Points = {}
    if marks is not None:
        for name, key in GIVEN.items():
            points[name] = ((np.array(getattr(marks, key)) - origin) @ rows.T, np.array([1.0, 0.0, 0.0]))
        stretch = Stretch.between(bundled_landmarks(), points, str(path))
        points = own_landmarks(vertices, normals, faces, points, stretch)
        patches = own_patches(vertices, normals, stretch)
    skin = np.broadcast_to(np.array(sitter.skin_rgb), vertices.shape)
    roughness = skin_roughness(patches)
    materials = np.full(len(faces), SKIN)
    piece = Piece(vertices, normals, faces, under_coat(skin, roughness), roughness, materials, patches)
    return [piece], points


def _nearest_scale(size: float, scale: float) -> float:
    """The power of ten of file units that brings the mesh nearest to the size of a head and shoulders."""
    return scale * 10.0 ** round(float(np.log10(0.5 / size)))
