"""Where spectacles show a round key, by the law of reflection at a sphere: no code of the tool takes part."""

from __future__ import annotations

import numpy as np

RADIUS, HALF_WIDE, HALF_HIGH, TILT = 0.105, 0.025, 0.018, 8.0
MIDDLE = (0.020, 0.035, -0.003)  # m: of a lens, before, beside and over the point between the pupils


def turned(pitch: float, yaw: float) -> np.ndarray:
    """Matrix of a head with the chin up and turned to camera right [deg]; axes ahead, camera right, up."""
    p, y = np.radians(pitch), np.radians(yaw)
    nod = np.array([[np.cos(p), 0, -np.sin(p)], [0, 1, 0], [np.sin(p), 0, np.cos(p)]])
    turn = np.array([[np.cos(y), -np.sin(y), 0], [np.sin(y), np.cos(y), 0], [0, 0, 1]])
    return turn @ nod


def reflected(
    azimuth: float = 50.0,
    elevation: float = 32.0,
    away: float = 1.3,
    size: float = 0.6,
    camera: float = 2.0,
    corner: float = 3.0,
    most: float = 10.0,
) -> np.ndarray:
    """(n, 2) chin up and yaw [deg], in steps of 1 and 1.5 up to `most` and 15, in which a lens shows a disc.

    The disc is turned to the nose, 0.1 m before and 0.035 m under the point between the pupils.
    """
    turn, lift = np.radians(azimuth), np.radians(elevation)
    key = away * np.array([np.cos(lift) * np.cos(turn), np.cos(lift) * np.sin(turn), np.sin(lift)])
    facing = np.array([0.1, 0.0, -0.035]) - key
    tilt = np.radians(TILT)
    axes = np.array([[0, 1, 0], [np.sin(tilt), 0, np.cos(tilt)], [np.cos(tilt), 0, -np.sin(tilt)]])
    x, y = (it.ravel() for it in np.meshgrid(np.linspace(-1, 1, 161), np.linspace(-1, 1, 161)))
    inside = np.abs(x) ** corner + np.abs(y) ** corner <= 1.0
    x, y = HALF_WIDE * x[inside], HALF_HIGH * y[inside]
    normal = np.stack([x, y, np.sqrt(RADIUS**2 - x**2 - y**2)], axis=1) @ axes / RADIUS
    shown = []
    for side in (1.0, -1.0):
        point = np.array(MIDDLE) * [1.0, side, 1.0] + RADIUS * (normal - axes[2])
        for pitch in np.arange(-most, most + 0.5, 1.0):
            for yaw in np.arange(-15.0, 15.1, 1.5):
                head = turned(pitch, yaw)
                at, n = point @ head.T, normal @ head.T
                view = at - np.array([camera, 0.0, 0.0])
                view /= np.linalg.norm(view, axis=1, keepdims=True)
                way = view - 2.0 * (view * n).sum(axis=1)[:, None] * n
                far = (key - at) @ facing / (way @ facing)
                off = np.linalg.norm(at + far[:, None] * way - key, axis=1)
                if ((far > 0.0) & (off < 0.5 * size)).any():
                    shown.append((pitch, yaw))
    return np.array(shown)
