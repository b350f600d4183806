"""Spectacles on a head: lenses and frame fitted to its skin, its pupils and its ears."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from renderer.errors import InputError
from renderer.scene.glasses import Glasses
from renderer.scene.sitter import landmarks_beside
from renderer.world.material import FRAME, PATCHES
from renderer.world.piece import Piece
from renderer.world.spectacles.frame import frame
from renderer.world.spectacles.lens import SIDES, Lens, fitted, packed_lenses
from renderer.world.spectacles.relief import Relief, laid_out
from renderer.world.template import Points

POLISH = 0.2  # GGX alpha of rim and temples; own choice
EAR_UNDER_TOP = 0.006  # m: the root of the ear, where a temple lies, under the ear's highest point
EAR_ROOT_BEHIND = 0.010  # m behind the foremost point of the ear
BEHIND_TRAGION, OVER_TRAGION = 0.006, 0.022  # m: the same from the tragion, on a mesh without ears marked


@dataclass(frozen=True)
class Worn:
    """frame  a piece of the sitter, in the head frame; lenses: the sitter's left, then right"""

    frame: Piece
    lenses: tuple[Lens, ...]

    def packed(self, rows: np.ndarray, origin: np.ndarray) -> np.ndarray:
        """LENS records in the world: world = rows @ head + origin."""
        return packed_lenses(list(self.lenses), rows, origin)


def worn(glasses: Glasses, skin: Piece, marks: Points, path: Path | None) -> Worn:
    """Spectacles on a head.

    skin   of head and face; marks: its landmarks; path: of a person's own mesh
    Raises InputError where they cannot be worn.
    """
    if not {"pupil_l", "pupil_r"} <= marks.keys():
        name = landmarks_beside(path).name if path is not None else "a file of landmarks"
        raise InputError(
            f"sitter.glasses: {path} has no landmarks, so nothing says where its eyes are; expected"
            f" [sitter.landmarks] in the scene, or {name} beside the mesh"
        )
    pupils = [marks[f"pupil_{side}"][0] for side in "lr"]
    ear = PATCHES.index("ear")
    near = (np.abs(skin.vertices) < 0.2).all(axis=1)
    faces = skin.faces[near[skin.faces].all(axis=1)]
    of_ear = (skin.patches[faces] == ear).any(axis=1)
    points = laid_out(skin.vertices, faces[~of_ear])
    points = points[np.abs(points).max(axis=1) < 0.2]
    lenses = fitted(glasses, pupils, Relief.of(points, 0))
    ears, sides = [], []
    for side, name in zip(SIDES, "lr", strict=True):
        own = skin.vertices[(skin.patches == ear) & near & (side * skin.vertices[:, 1] > 0.0)]
        ears.append(_ear_root(own, side, marks.get(f"tragion_{name}")))
        outward = points[side * points[:, 1] > 0.0] * np.array([1.0, side, 1.0])
        sides.append(Relief.of(outward, 1))
    vertices, normals, faces = frame(glasses, lenses, Relief.of(points, 0), sides, ears)
    polish = np.full(len(vertices), POLISH)
    albedo = np.broadcast_to(np.array(glasses.rim_reflectance), vertices.shape)
    none = np.zeros(len(vertices), np.int64)
    piece = Piece(vertices, normals, faces, albedo, polish, np.full(len(faces), FRAME), none)
    return Worn(piece, tuple(lenses))


def _ear_root(ear: np.ndarray, side: float, tragion: tuple[np.ndarray, np.ndarray] | None) -> np.ndarray:
    """Where the temple lies on the ear: x and z of the head frame, y outward."""
    if len(ear):
        x, z = float(ear[:, 0].max()) - EAR_ROOT_BEHIND, float(ear[:, 2].max()) - EAR_UNDER_TOP
        return np.array([x, float((side * ear[:, 1]).min()), z])
    if tragion is not None:
        at = tragion[0]
        return np.array([at[0] - BEHIND_TRAGION, side * at[1], at[2] + OVER_TRAGION])
    return np.array([-0.088, 0.070, 0.008])
