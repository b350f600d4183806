"""Eyeball: a closed surface of revolution, globe with corneal bulge, rings on the edges of pupil and iris."""

import numpy as np
from numpy.typing import NDArray

from ..field.eye import CORNEA, CORNEA_OFFSET, GLOBE, LIMBUS

SCLERA, IRIS, PUPIL = 0, 1, 2
SEGMENTS = 72


def eyeball(
    pupil_radius: float = 1.9,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64], NDArray[np.uint8]]:
    """Vertices [mm] about the globe's centre, z along the gaze; normals, triangles, region per vertex."""
    edge = 0.03
    inner = np.concatenate(
        [np.linspace(0.0, pupil_radius - edge, 7)[1:], np.linspace(pupil_radius, LIMBUS - edge, 16)]
    )
    rim = float(np.arcsin(LIMBUS / GLOBE))
    polar = np.concatenate([np.linspace(rim, 1.15, 16), np.linspace(1.15, np.pi, 18)[1:-1]])
    radius = np.concatenate([inner, GLOBE * np.sin(polar)])
    depth = np.concatenate([CORNEA_OFFSET + np.sqrt(CORNEA**2 - inner**2), GLOBE * np.cos(polar)])
    centre = np.concatenate([np.full(len(inner), CORNEA_OFFSET), np.zeros(len(polar))])
    turn = np.arange(SEGMENTS) * (2.0 * np.pi / SEGMENTS)
    cos, sin = np.cos(turn), np.sin(turn)
    ring = np.stack(
        [radius[:, None] * cos, radius[:, None] * sin, np.repeat(depth[:, None], SEGMENTS, 1)], axis=-1
    )
    normal = ring - np.stack([0 * centre, 0 * centre, centre], axis=-1)[:, None, :]
    vertices = np.concatenate(
        [[[0.0, 0.0, CORNEA_OFFSET + CORNEA]], ring.reshape(-1, 3), [[0.0, 0.0, -GLOBE]]]
    )
    normals = np.concatenate([[[0.0, 0.0, 1.0]], normal.reshape(-1, 3), [[0.0, 0.0, -1.0]]])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    label = np.where(
        np.arange(len(radius)) < 6, PUPIL, np.where(np.arange(len(radius)) < len(inner), IRIS, SCLERA)
    )
    region = np.concatenate([[PUPIL], np.repeat(label, SEGMENTS), [SCLERA]]).astype(np.uint8)
    here, after = np.arange(SEGMENTS), (np.arange(SEGMENTS) + 1) % SEGMENTS
    faces = [np.stack([np.zeros_like(here), 1 + here, 1 + after], axis=1)]
    for i in range(len(radius) - 1):
        a, b = 1 + i * SEGMENTS, 1 + (i + 1) * SEGMENTS
        faces += [
            np.stack([a + here, b + here, b + after], axis=1),
            np.stack([a + here, b + after, a + after], axis=1),
        ]
    last = 1 + (len(radius) - 1) * SEGMENTS
    faces.append(np.stack([last + here, np.full_like(here, len(vertices) - 1), last + after], axis=1))
    return vertices, normals, np.concatenate(faces), region
