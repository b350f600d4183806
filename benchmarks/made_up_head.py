"""A head-like mesh of any number of triangles, as a person's own mesh with its four landmarks."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

MIDDLE = np.array([-0.09, 0.0, -0.01])  # m in the head frame
SEMI_AXES = np.array([0.10, 0.078, 0.125])  # m
LANDMARKS = {
    "sitter_left_pupil": (0.0, 0.031, 0.0),
    "sitter_right_pupil": (0.0, -0.031, 0.0),
    "nose_tip": (0.035, 0.0, -0.033),
    "chin": (0.0, 0.0, -0.11),
}
NOSE_WIDTH = 0.09  # rad
RELIEF, CREASES = 0.0001, 90.0  # m, waves a radian: creases of skin, so that a finer mesh has more to show


def written(folder: Path, triangles: int) -> tuple[Path, int]:
    """A PLY file of about so many triangles, its landmarks beside it; their true number too."""
    rings = max(4, round(0.5 * (1.0 + math.sqrt(1.0 + triangles))))
    around = 2 * rings
    polar = np.linspace(0.0, math.pi, rings + 1)[1:-1, None]
    turn = np.linspace(0.0, 2.0 * math.pi, around, endpoint=False)[None, :]
    ways = np.stack(
        np.broadcast_arrays(np.sin(polar) * np.cos(turn), np.sin(polar) * np.sin(turn), np.cos(polar)), axis=2
    )
    ways = np.concatenate([[[0.0, 0.0, 1.0]], ways.reshape(-1, 3), [[0.0, 0.0, -1.0]]])
    rows = 1 + np.arange((rings - 1) * around).reshape(rings - 1, around)
    upper, lower = rows[:-1].ravel(), rows[1:].ravel()
    upper_next, lower_next = np.roll(rows[:-1], -1, 1).ravel(), np.roll(rows[1:], -1, 1).ravel()
    first, last = np.roll(rows[0], -1), np.roll(rows[-1], -1)
    top, end = np.zeros(around, int), np.full(around, len(ways) - 1)
    faces = np.concatenate(
        [
            np.stack([top, rows[0], first], axis=1),
            np.stack([upper, lower, upper_next], axis=1),
            np.stack([upper_next, lower, lower_next], axis=1),
            np.stack([rows[-1], end, last], axis=1),
        ]
    )
    path = folder / f"head-{len(faces)}.ply"
    _write(path, _surface(ways), faces)
    marks = "".join(f"{name} = {list(at)}\n" for name, at in LANDMARKS.items())
    path.with_suffix(".landmarks.toml").write_text(marks)
    return path, len(faces)


def _surface(ways: np.ndarray) -> np.ndarray:
    """Points (n, 3) of the head frame [m] in directions (n, 3) from its middle."""
    radius = 1.0 / np.linalg.norm(ways / SEMI_AXES, axis=1)
    to_nose = np.array(LANDMARKS["nose_tip"]) - MIDDLE
    length = np.linalg.norm(to_nose)
    own = 1.0 / np.linalg.norm(to_nose / length / SEMI_AXES)
    away = np.arccos(np.clip(ways @ to_nose / length, -1.0, 1.0))
    radius += (length - own) * np.exp(-((away / NOSE_WIDTH) ** 2))
    radius += RELIEF * np.sin(CREASES * ways[:, 1]) * np.sin(CREASES * ways[:, 2])
    return np.asarray(MIDDLE + radius[:, None] * ways)


def _write(path: Path, points: np.ndarray, faces: np.ndarray) -> None:
    head = (
        f"ply\nformat binary_little_endian 1.0\nelement vertex {len(points)}\nproperty float x\n"
        f"property float y\nproperty float z\nelement face {len(faces)}\n"
        "property list uchar int vertex_indices\nend_header\n"
    )
    records = np.zeros(len(faces), np.dtype([("count", "u1"), ("corner", "<i4", 3)]))
    records["count"], records["corner"] = 3, faces
    path.write_bytes(head.encode() + points.astype("<f4").tobytes() + records.tobytes())
