"""The sitter's mesh: read, checked, given its materials and set in the chair."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from renderer import assets
from renderer.errors import InputError
from renderer.kernels.layout import COAT_ALPHAS
from renderer.scene.models import Scene
from renderer.scene.place import head_to_world
from renderer.scene.sitter import BUNDLED, Landmarks, Sitter
from renderer.world.coat import even_reflectance
from renderer.world.pack import Material, Triangles
from renderer.world.ply import read_ply

TEAR_FILM = 1.376  # refractive index of the cornea (Gullstrand's exact eye, as quoted in optics texts)
# Skin under its oily film: n about 1.4; a roughness of 0.2 to 0.4 over the face is from memory of Weyrich
# et al., Analysis of Human Faces using a Measurement-Based Skin Reflectance Model, 2006.
SKIN_INDEX = 1.4
SKIN_ALPHA = 0.35
PATCH_ALPHA = {
    "forehead_centre": 0.28,
    "nose_bridge": 0.26,
    "nose_tip": 0.24,
    "nose_wing": 0.26,
    "upper_lip": 0.28,
    "lower_lip": 0.25,
    "malar": 0.32,
    "chin_front": 0.32,
}
# Colours relative to the sitter's skin, and of the eye; own choice, no source.
WHITE, BLACK = np.ones(3), np.zeros(3)
LIP_TINT = np.array([0.86, 0.60, 0.62])
CARUNCLE_TINT = np.array([1.0, 0.72, 0.70])
SCLERA = (0.60, 0.56, 0.53)
IRIS = (0.16, 0.11, 0.07)
PUPIL = (0.004, 0.004, 0.004)
# Patches of skin by the number that their vertices carry; sitter's left and right are told by the side of y.
PATCHES = (
    *("none", "forehead_centre", "forehead_side", "temple", "brow", "upper_lid", "lower_lid", "malar"),
    *("nasolabial", "nose_bridge", "nose_tip", "nose_wing", "upper_lip", "lower_lip", "chin_front"),
    *("submental", "jaw_side", "ear", "neck_front", "neck_side", "scalp", "shoulder", "chest"),
)
# Materials of the packed mesh.
SKIN, EYE, HAIR = 0, 1, 2
# Diffuse mean free path of skin [m], red, green, blue: from memory of Jensen & Buhler, A Rapid Hierarchical
# Rendering Technique for Translucent Materials, 2002, "skin1".
MEAN_FREE_PATH = np.array([3.67e-3, 1.37e-3, 0.68e-3])


@dataclass(frozen=True)
class Landmark:
    """A point of the head and the outward normal of the skin there, in the world."""

    position: np.ndarray
    normal: np.ndarray


@dataclass(frozen=True)
class SitterMesh:
    """The placed mesh and its landmarks (of a person's own mesh: only those that the file names).

    patches  (v,) int: number of the named patch of skin that a vertex belongs to, 0 for none
    """

    triangles: Triangles
    landmarks: dict[str, Landmark]
    patches: np.ndarray


@dataclass(frozen=True)
class Piece:
    """A mesh in the head frame [m], all of one material."""

    vertices: np.ndarray
    normals: np.ndarray
    faces: np.ndarray
    albedos: np.ndarray
    roughness: np.ndarray
    material: int
    patches: np.ndarray


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


def skin_roughness(patches: np.ndarray) -> np.ndarray:
    """(v,) GGX alpha of the skin's oily film by patch number."""
    table = np.full(len(PATCHES), SKIN_ALPHA)
    for name, alpha in PATCH_ALPHA.items():
        table[PATCHES.index(name)] = alpha
    return np.asarray(table[patches])


def palette(sitter: Sitter) -> tuple[Material, ...]:
    """Materials SKIN, EYE and HAIR.

    d = mean free path / s(A) with s = 3.5 + 100 (A - 0.33)^4 for an albedo A: Christensen & Burley,
    Approximate Reflectance Profiles for Efficient Subsurface Scattering, 2015 (diffuse transmission).
    """
    scatter = np.zeros(3)
    if sitter.subsurface:
        albedo = np.array(sitter.skin_rgb)
        scatter = MEAN_FREE_PATH / (3.5 + 100.0 * (albedo - 0.33) ** 4)
    skin = Material(SKIN_INDEX, (float(scatter[0]), float(scatter[1]), float(scatter[2])))
    return skin, Material(TEAR_FILM), Material()


def under_coat(reflectance: np.ndarray, alpha: np.ndarray) -> np.ndarray:
    """Albedo that the base needs, so that base and film together reflect `reflectance` under even light.

    reflectance (..., 3) and alpha (...) of the film. The inverse of `renderer.kernels.coat.evened_albedo`.
    Below the film's own reflectance (about 0.07) the base can only be black.
    """
    outside = np.interp(alpha, COAT_ALPHAS, even_reflectance(SKIN_INDEX))[..., None]
    inside = 1.0 - (1.0 - outside) / SKIN_INDEX**2
    passed = np.clip((reflectance - outside) / (1.0 - outside), 0.0, 1.0)
    return np.asarray(passed / ((1.0 - inside) + passed * inside))


def vertex_normals(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """(v, 3) unit normals: those of the faces about a vertex, weighed by area; up where there are none."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    sums = np.zeros_like(vertices)
    for k in range(3):
        np.add.at(sums, faces[:, k], np.cross(b - a, c - a))
    lengths = np.linalg.norm(sums, axis=1, keepdims=True)
    return np.where(lengths > 0.0, sums / np.maximum(lengths, 1e-300), [0.0, 0.0, 1.0])


def _piece(
    vertices: np.ndarray,
    faces: np.ndarray,
    albedos: np.ndarray,
    material: int,
    patches: np.ndarray | None = None,
) -> Piece:
    """A mesh of our own; `vertices` are the records of its file."""
    none = np.zeros(len(vertices), np.int64)
    patches = none if patches is None else patches
    places = np.stack([vertices[axis] for axis in ("x", "y", "z")], axis=1).astype(float)
    return Piece(
        places,
        np.stack([vertices[axis] for axis in ("nx", "ny", "nz")], axis=1).astype(float),
        faces,
        np.broadcast_to(albedos, places.shape),
        skin_roughness(patches) if material == SKIN else none.astype(float),
        material,
        patches,
    )


def _bundled_pieces(sitter: Sitter) -> tuple[list[Piece], dict[str, tuple[Any, Any]]]:
    folder = assets.folder("meshes")
    if sitter.mesh != BUNDLED[0]:
        folder = folder / "sitters" / sitter.mesh
    skin, hair = np.array(sitter.skin_rgb), np.array(sitter.hair_reflectance)
    head, faces = read_ply(folder / "head.ply")
    patches = head["patch"].astype(np.int64)
    base = under_coat(np.broadcast_to(skin, (len(head), 3)), skin_roughness(patches))
    # regions 0 skin, 1 lips, 2 brow, 3 lashes, 4 caruncle; of an eye 0 sclera, 1 iris, 2 pupil
    tints = np.array([WHITE, LIP_TINT, BLACK, BLACK, CARUNCLE_TINT])
    hairs = np.array([BLACK, BLACK, hair, hair, BLACK])
    region = head["region"]
    cover = head["cover"][:, None] / 255.0
    painted = (1.0 - cover) * base + cover * (base * tints[region] + hairs[region])
    pieces = [_piece(head, faces, painted, SKIN, patches)]
    for name in ("eye_left.ply", "eye_right.ply"):
        eye, faces = read_ply(folder / name)
        pieces.append(_piece(eye, faces, np.array([SCLERA, IRIS, PUPIL])[eye["region"]], EYE))
    if sitter.hair and (folder / "hair.ply").exists():  # one of them is bald
        pieces.append(_piece(*read_ply(folder / "hair.ply"), hair, HAIR))
    with (folder / "head.toml").open("rb") as file:
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
    mesh.merge_vertices(merge_tex=True, merge_norm=True)  # formats that keep each triangle apart look faceted
    rows, origin = _own_frame(sitter.landmarks, sitter.mesh_scale, path)
    vertices = (np.asarray(mesh.vertices, float) - origin) @ rows.T
    size = float(np.ptp(vertices, axis=0).max())
    if not 0.1 <= size <= 3.0:
        raise InputError(
            f"sitter.mesh_scale: {path} is {size:.3g} metres large with a scale of {sitter.mesh_scale:g};"
            f" expected 0.1 to 3 metres: did you mean {_nearest_scale(size, sitter.mesh_scale):g}?"
        )
    faces = np.asarray(mesh.faces)
    if mesh.is_watertight and mesh.volume < 0.0:  # wound inside out
        faces = faces[:, ::-1]
    normals = vertex_normals(vertices, faces)
    marks: dict[str, tuple[Any, Any]] = {}
    if sitter.landmarks is not None:
        named = {"pupil_l": "sitter_left_pupil", "pupil_r": "sitter_right_pupil", "pronasale": "nose_tip"}
        for name, key in (named | {"menton": "chin"}).items():
            point = (np.array(getattr(sitter.landmarks, key)) - origin) @ rows.T
            marks[name] = (point, (1.0, 0.0, 0.0))
    patches = np.zeros(len(vertices), np.int64)
    skin = np.broadcast_to(np.array(sitter.skin_rgb), vertices.shape)
    albedos = under_coat(skin, skin_roughness(patches))
    return [Piece(vertices, normals, faces, albedos, skin_roughness(patches), SKIN, patches)], marks


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
    pieces, marks = _bundled_pieces(sitter) if path is None else _own_pieces(scene, path)
    matrix, origin = head_to_world(sitter, scene.camera)
    rows = np.array(matrix)
    offsets = np.cumsum([0] + [len(piece.vertices) for piece in pieces])
    faces = [piece.faces + offset for piece, offset in zip(pieces, offsets, strict=False)]
    triangles = Triangles(
        np.concatenate([piece.vertices for piece in pieces]) @ rows.T + np.array(origin),
        np.concatenate([piece.normals for piece in pieces]) @ rows.T,
        np.concatenate([piece.albedos for piece in pieces]),
        np.concatenate([piece.roughness for piece in pieces]),
        np.concatenate(faces)[:, ::-1],  # the world mirrors the head frame: see renderer.scene.place
        np.concatenate([np.full(len(piece.faces), piece.material) for piece in pieces]),
        palette(sitter),
    )
    landmarks = {
        name: Landmark(rows @ np.array(position) + np.array(origin), rows @ np.array(normal))
        for name, (position, normal) in marks.items()
    }
    return SitterMesh(triangles, landmarks, np.concatenate([piece.patches for piece in pieces]))
