"""The eyes: white, the clear window before the iris, and the tears along the lower lid."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from renderer.scene.sitter import Sitter
from renderer.world.material import CORNEA, EYE, IRIS
from renderer.world.piece import Piece, bundled_piece
from renderer.world.ply import read_ply

# Own choice; published reflectances of sclera and iris scatter widely.
WHITE_OF_EYE = np.array((0.60, 0.56, 0.53))
PUPIL = np.array((0.004, 0.004, 0.004))
BEHIND_WINDOW = 0.6  # of the iris: what window and pupil together send back of light from all sides
MEAN_SHADE = 128.0  # the mesh gives brightness in parts of this
MATERIALS = np.array([EYE, CORNEA, IRIS, IRIS, EYE])  # by region: white, window, iris, pupil, tears


def eye_pieces(folder: Path, sitter: Sitter) -> list[Piece]:
    """Both eyes of a bundled sitter. Raises InputError for a file that cannot be read."""
    iris = np.array(sitter.iris_reflectance)
    colours = np.array([WHITE_OF_EYE, BEHIND_WINDOW * iris, iris, PUPIL, WHITE_OF_EYE])
    pieces = []
    for name in ("eye_left.ply", "eye_right.ply"):
        eye, faces = read_ply(folder / name)
        region = eye["region"]
        albedos = np.clip(colours[region] * (eye["shade"] / MEAN_SHADE)[:, None], 0.0, 1.0)
        materials = MATERIALS[region[faces].max(axis=1)]
        pieces.append(bundled_piece(eye, faces, albedos, materials))
    return pieces
