"""The sitter's mesh: read, checked, given its materials and set in the chair."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from renderer import assets
from renderer.colour import luminance
from renderer.kernels.layout import LENS
from renderer.scene.models import Scene
from renderer.scene.place import head_to_world
from renderer.scene.sitter import BUNDLED, Sitter
from renderer.world.eye import eye_pieces
from renderer.world.material import CLOTH, FINE_HAIR, HAIR, SKIN, palette, sided, skin_roughness, under_coat
from renderer.world.own_mesh import own_pieces
from renderer.world.pack import Triangles
from renderer.world.piece import Piece, bundled_piece
from renderer.world.ply import read_ply
from renderer.world.spectacles import worn
from renderer.world.template import Points, bundled_landmarks

# Colours relative to the sitter's skin; own choice, no source.
WHITE, BLACK = np.ones(3), np.zeros(3)
LIP_TINT = np.array([0.86, 0.60, 0.62])
CARUNCLE_TINT = np.array([1.0, 0.72, 0.70])
FLUSH_TINT = np.array([1.12, 0.94, 0.90])  # where blood shows most; luminance is kept
GARMENT = np.array([0.095, 0.10, 0.11])  # reflectance of the cloth


@dataclass(frozen=True)
class Landmark:
    """A point of the head and the outward normal of the skin there, in the world."""

    position: np.ndarray
    normal: np.ndarray


@dataclass(frozen=True)
class SitterMesh:
    """The placed mesh and its landmarks (of a person's own mesh: only those that the file names).

    patches  (v,) int: number of the named patch of skin that a vertex belongs to, 0 for none
    lenses   LENS records of the spectacles, the sitter's left first; none where none are worn
    """

    triangles: Triangles
    landmarks: dict[str, Landmark]
    patches: np.ndarray
    lenses: np.ndarray


def _toned(skin: np.ndarray, head: np.ndarray) -> np.ndarray:
    """(v, 3) reflectance of the skin, varied as the head's vertices say."""
    tinted = skin * (1.0 + (head["flush"] / 255.0)[:, None] * (FLUSH_TINT - 1.0))
    lighter = head["shade"] / 128.0 * luminance(skin) / luminance(tinted)
    return np.asarray(np.minimum(tinted * lighter[:, None], 1.0))


def _bundled_pieces(sitter: Sitter) -> tuple[list[Piece], Points]:
    folder = assets.folder("meshes")
    if sitter.mesh != BUNDLED[0]:
        folder = folder / "sitters" / sitter.mesh
    skin, hair = np.array(sitter.skin_rgb), np.array(sitter.hair_reflectance)
    head, faces = read_ply(folder / "head.ply")
    patches = head["patch"].astype(np.int64)
    base = under_coat(_toned(skin, head), skin_roughness(patches))
    # regions 0 skin, 1 lips, 2 brow, 3 lashes, 4 caruncle, 5 scalp
    tints = np.array([WHITE, LIP_TINT, BLACK, BLACK, CARUNCLE_TINT, BLACK])
    hairs = np.array([BLACK, BLACK, hair, hair, BLACK, hair])
    region = head["region"]
    shown = np.array([True, True, True, True, True, sitter.hair])  # no stubble on a head that is to be bald
    cover = (head["cover"] / 255.0 * shown[region])[:, None]
    painted = (1.0 - cover) * base + cover * (base * tints[region] + hairs[region])
    pieces = [bundled_piece(head, faces, painted, SKIN, patches)]
    pieces += eye_pieces(folder, sitter)
    # brows and lashes are always worn, hair where the sitter has it and wants it: all plainly diffuse
    worn = [("fine_hair.ply", hair, FINE_HAIR), ("garment.ply", GARMENT, CLOTH)]
    if sitter.hair and (folder / "hair.ply").exists():
        worn.append(("hair.ply", hair, HAIR))
    for name, colour, material in worn:
        piece, faces = read_ply(folder / name)
        pieces.append(bundled_piece(piece, faces, colour * (piece["shade"] / 128.0)[:, None], material))
    return pieces, bundled_landmarks(folder)


def sitter_mesh(scene: Scene) -> SitterMesh | None:
    """The sitter as the scene asks, placed in the world; None for an empty chair.

    raises InputError for a mesh that is missing, broken or of an impossible size
    """
    sitter = scene.sitter
    if sitter.mesh == "none":
        return None
    path = scene.mesh_path()
    pieces, marks = _bundled_pieces(sitter) if path is None else own_pieces(scene, path)
    matrix, origin = head_to_world(sitter, scene.camera)
    rows = np.array(matrix)
    lenses = np.zeros(0, LENS)
    if sitter.glasses is not None:
        glasses = worn(sitter.glasses, pieces[0], marks, path)
        pieces.append(glasses.frame)
        lenses = glasses.packed(rows, np.array(origin))
    offsets = np.cumsum([0] + [len(piece.vertices) for piece in pieces]).tolist()
    faces = np.concatenate([piece.faces + first for piece, first in zip(pieces, offsets, strict=False)])
    patches = np.concatenate([piece.patches for piece in pieces])
    sides = np.concatenate([sided(piece.patches, piece.vertices[:, 1]) for piece in pieces])
    corners = np.sort(sides.astype(np.int32)[faces], axis=1)
    triangles = Triangles(
        np.concatenate([piece.vertices for piece in pieces]) @ rows.T + np.array(origin),
        np.concatenate([piece.normals for piece in pieces]) @ rows.T,
        np.concatenate([piece.albedos for piece in pieces]),
        np.concatenate([piece.roughness for piece in pieces]),
        faces[:, ::-1],  # the world mirrors the head frame: see renderer.scene.place
        np.concatenate([piece.materials for piece in pieces]),
        palette(sitter),
        corners[:, 1],  # that of two corners at least, where two agree
    )
    landmarks = {
        name: Landmark(rows @ position + np.array(origin), rows @ normal)
        for name, (position, normal) in marks.items()
    }
    return SitterMesh(triangles, landmarks, patches, lenses)
