"""The sitter's mesh: read, checked, given its materials and set in the chair."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from renderer import assets
from renderer.errors import InputError
from renderer.scene.models import Scene
from renderer.scene.place import head_to_world
from renderer.scene.sitter import Landmarks, Sitter
from renderer.world.pack import Material, Triangles

TEAR_FILM = 1.376  # refractive index of the cornea (Gullstrand's exact eye, as quoted in optics texts)
# Colours relative to the sitter's skin, and of the eye; own choice, no source.
LIP_TINT = np.array([0.86, 0.60, 0.62])
CARUNCLE_TINT = np.array([1.0, 0.72, 0.70])
SCLERA = (0.60, 0.56, 0.53)
IRIS = (0.16, 0.11, 0.07)
PUPIL = (0.004, 0.004, 0.004)
BODY_REGIONS = ("skin", "lips", "brow", "lashes", "caruncle")
EYE_REGIONS = ("sclera", "iris", "pupil")


@dataclass(frozen=True)
class Landmark:
    """A point of the head and the outward normal of the skin there, in the world."""

    position: np.ndarray
    normal: np.ndarray


@dataclass(frozen=True)
class SitterMesh:
    """The placed mesh and its landmarks (of a person's own mesh: only those that the file names)."""

    triangles: Triangles
    landmarks: dict[str, Landmark]


@dataclass(frozen=True)
class Piece:
    """A mesh in the head frame [m] with a material for every face."""

    vertices: np.ndarray
    normals: np.ndarray
    faces: np.ndarray
    materials: np.ndarray


def read_mesh(path: Path) -> Any:
    """The file as one trimesh.Trimesh. Raises InputError with the reason in one line."""
    import trimesh  # imported late: it costs a fifth of a second

    try:
        mesh = trimesh.load(path, force="mesh", process=False)
    except Exception as error:  # every reader of trimesh fails in its own way
        reason = str(error).strip().splitlines()[0] if str(error).strip() else type(error).__name__
        raise InputError(f"sitter.mesh: {path} cannot be read as a mesh: {reason}") from None
    vertices = np.asarray(getattr(mesh, "vertices", np.zeros((0, 3))), float)
    faces = np.asarray(getattr(mesh, "faces", np.zeros((0, 3))), np.int64)
    if len(vertices) == 0 or len(faces) == 0:
        raise InputError(f"sitter.mesh: {path} holds no triangles; expected a surface mesh")
    if not np.isfinite(vertices).all():
        bad = int(np.argmin(np.isfinite(vertices).all(axis=1)))
        raise InputError(f"sitter.mesh: {path}: vertex {bad} is not a finite point")
    if faces.min() < 0 or faces.max() >= len(vertices):
        raise InputError(f"sitter.mesh: {path}: a face names vertex {faces.max()} of {len(vertices)}")
    return mesh


def _regions(mesh: Any) -> np.ndarray:
    """The region number of every face, from the `region` property of the vertices of our own files."""
    labels = np.asarray(mesh.metadata["_ply_raw"]["vertex"]["data"]["region"]).astype(np.int64).reshape(-1)
    a, b, c = labels[np.asarray(mesh.faces)].T
    return np.asarray(np.where(b == c, b, a))


def _bundled(name: str, first_material: int) -> Piece:
    mesh = read_mesh(assets.folder("meshes") / name)
    return Piece(
        np.asarray(mesh.vertices, float),
        np.asarray(mesh.vertex_normals, float),
        np.asarray(mesh.faces),
        first_material + _regions(mesh),
    )


def _palette(sitter: Sitter) -> list[Material]:
    """Materials of BODY_REGIONS, EYE_REGIONS and hair, in this order."""
    skin, hair = np.array(sitter.skin_rgb), np.array(sitter.hair_reflectance)
    body = [skin, skin * LIP_TINT, 0.25 * skin + 0.75 * hair, 0.3 * skin + 0.7 * hair, skin * CARUNCLE_TINT]
    eyes = [Material(colour, TEAR_FILM) for colour in (SCLERA, IRIS, PUPIL)]
    return [*(Material(colour) for colour in body), *eyes, Material(hair)]


def _bundled_pieces(sitter: Sitter) -> tuple[list[Piece], dict[str, tuple[Any, Any]]]:
    pieces = [_bundled("head.ply", 0)]
    pieces += [_bundled(name, len(BODY_REGIONS)) for name in ("eye_left.ply", "eye_right.ply")]
    if sitter.hair:
        hair = _bundled("hair.ply", 0)
        number = len(BODY_REGIONS) + len(EYE_REGIONS)
        pieces.append(Piece(hair.vertices, hair.normals, hair.faces, np.full(len(hair.faces), number)))
    with (assets.folder("meshes") / "head.toml").open("rb") as file:
        table = tomllib.load(file)["landmark"]
    return pieces, {name: (point["position"], point["normal"]) for name, point in table.items()}


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


def _own_pieces(scene: Scene, path: Path) -> tuple[list[Piece], dict[str, tuple[Any, Any]]]:
    sitter = scene.sitter
    mesh = read_mesh(path)
    rows, origin = _own_frame(sitter.landmarks, sitter.mesh_scale, path)
    vertices = (np.asarray(mesh.vertices, float) - origin) @ rows.T
    size = float(np.ptp(vertices, axis=0).max())
    if not 0.1 <= size <= 3.0:
        raise InputError(
            f"sitter.mesh_scale: {path} is {size:.3g} metres large with a scale of {sitter.mesh_scale:g};"
            f" expected 0.1 to 3 metres: did you mean {_nearest_scale(size, sitter.mesh_scale):g}?"
        )
    normals = np.asarray(mesh.vertex_normals, float) @ (rows / sitter.mesh_scale).T
    faces = np.asarray(mesh.faces)
    if mesh.is_watertight and mesh.volume < 0.0:  # wound inside out
        faces, normals = faces[:, ::-1], -normals
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = np.where(lengths > 0.5, normals / np.maximum(lengths, 1e-9), [0.0, 0.0, 1.0])
    marks: dict[str, tuple[Any, Any]] = {}
    if sitter.landmarks is not None:
        named = {"pupil_l": "sitter_left_pupil", "pupil_r": "sitter_right_pupil", "pronasale": "nose_tip"}
        for name, key in (named | {"menton": "chin"}).items():
            point = (np.array(getattr(sitter.landmarks, key)) - origin) @ rows.T
            marks[name] = (point, (1.0, 0.0, 0.0))
    return [Piece(vertices, normals, faces, np.zeros(len(faces), np.int64))], marks


def _nearest_scale(size: float, scale: float) -> float:
    """The power of ten of file units that brings the mesh nearest to the size of a head and shoulders."""
    return scale * 10.0 ** round(float(np.log10(0.5 / size)))


def sitter_mesh(scene: Scene) -> SitterMesh | None:
    """The sitter as the scene asks, placed in the world; None for an empty chair.

    raises InputError for a mesh that is missing, broken or of an impossible size
    """
    sitter = scene.sitter
    if sitter.mesh == "none":
        return None
    path = scene.mesh_path()
    if path is None:
        pieces, marks = _bundled_pieces(sitter)
        palette = _palette(sitter)
    else:
        pieces, marks = _own_pieces(scene, path)
        palette = [Material(sitter.skin_rgb)]
    matrix, origin = head_to_world(sitter, scene.camera)
    rows = np.array(matrix)
    offsets = np.cumsum([0] + [len(piece.vertices) for piece in pieces])
    faces = [piece.faces + offset for piece, offset in zip(pieces, offsets, strict=False)]
    triangles = Triangles(
        np.concatenate([piece.vertices for piece in pieces]) @ rows.T + np.array(origin),
        np.concatenate([piece.normals for piece in pieces]) @ rows.T,
        np.concatenate(faces)[:, ::-1],  # the world mirrors the head frame: see renderer.scene.place
        np.concatenate([piece.materials for piece in pieces]),
        palette,
    )
    landmarks = {
        name: Landmark(rows @ np.array(position) + np.array(origin), rows @ np.array(normal))
        for name, (position, normal) in marks.items()
    }
    return SitterMesh(triangles, landmarks)
