"""Ear, built in its own leaning, flared frame: helix, antihelix, plate, concha, tragus, lobe."""

import numpy as np

from .blend import Array, cut, ellipsoid, meet, sphere, tube, union

ORIGIN = (68.6, -15.0, -5.0)
LEAN_DEG = 13.0
FLARE_DEG = 27.0

HELIX = [
    (-1.0, 11.0, -5.0, 1.6),
    (2.5, 5.0, -0.6, 2.0),
    (10.0, 0.8, 1.8, 2.3),
    (20.0, 1.6, 2.6, 2.4),
    (27.5, 7.0, 3.4, 2.6),
    (29.6, 15.5, 3.8, 2.7),
    (26.0, 24.5, 3.4, 2.7),
    (16.5, 30.2, 2.4, 2.5),
    (4.0, 30.6, 1.4, 2.1),
    (-8.5, 26.0, 0.8, 2.1),
    (-17.5, 19.5, 0.6, 2.5),
    (-24.0, 13.0, 0.3, 3.0),
]
ANTIHELIX = [
    (-14.5, 16.0, 1.2, 2.3),
    (-8.0, 20.2, 2.2, 2.5),
    (2.0, 21.6, 2.8, 2.6),
    (10.0, 19.2, 2.6, 2.5),
    (16.5, 14.0, 1.6, 2.1),
    (19.5, 8.0, 0.4, 1.7),
]
SCAPHA = [
    (-11.0, 22.6, 4.2, 1.4),
    (-3.0, 26.0, 4.6, 2.0),
    (8.0, 25.9, 5.2, 2.3),
    (18.0, 23.4, 5.6, 2.3),
    (23.4, 17.4, 5.6, 2.0),
    (24.2, 10.5, 5.0, 1.6),
]
UPPER_CRUS = [(8.0, 20.0, 2.4, 2.3), (15.0, 20.5, 2.0, 2.0), (22.0, 19.0, 1.4, 1.5)]


def frame() -> tuple[Array, Array]:
    """Origin and axes (rows: up along the ear, back along the plate, outward) [mm]."""
    a, b = np.radians(LEAN_DEG), np.radians(FLARE_DEG)
    up = np.array([0.0, np.cos(a), -np.sin(a)])
    back = np.array([0.0, -np.sin(a), -np.cos(a)])
    side = np.array([1.0, 0.0, 0.0])
    return np.array(ORIGIN), np.stack(
        [up, np.cos(b) * back + np.sin(b) * side, np.cos(b) * side - np.sin(b) * back]
    )


def add_ear(f: Array, x: Array, y: Array, z: Array) -> Array:
    """Join the ear to the head field (points near the ear only)."""
    origin, axes = frame()
    u, v, w = axes @ np.stack([x - origin[0], y - origin[1], z - origin[2]])
    plate = ellipsoid(u, v, np.zeros_like(w), (3.5, 15.6, 0.0), (25.5, 13.4, 1.0))
    ear = meet(plate, np.abs(w + 0.6 - 0.012 * (v - 16.0) ** 2) - 1.7, 1.5)
    ear = union(ear, ellipsoid(u, v, w, (-4.0, 9.0, -6.5), (17.0, 13.0, 8.5)), 5.0)
    ear = union(ear, ellipsoid(u, v, w, (-23.5, 8.8, 0.0), (9.2, 7.6, 3.3)), 6.0)
    ear = union(ear, tube(u, v, w, ANTIHELIX), 2.4)
    ear = union(ear, tube(u, v, w, UPPER_CRUS, 12), 2.0)
    bowl = ellipsoid(u, v, w, (-5.0, 11.5, 3.0), (11.2, 8.2, 10.5))
    ear = cut(ear, bowl, 1.3)
    ear = cut(ear, tube(u, v, w, SCAPHA), 1.4)
    ear = cut(ear, ellipsoid(u, v, w, (18.6, 13.6, 4.6), (3.0, 4.6, 3.6)), 1.4)
    ear = union(ear, tube(u, v, w, HELIX, 52), 1.3)
    ear = union(ear, ellipsoid(u, v, w, (-4.5, 2.0, 2.8), (5.4, 3.4, 3.1)), 2.2)
    ear = union(ear, ellipsoid(u, v, w, (-15.6, 11.6, 1.8), (2.6, 3.6, 2.9)), 2.2)
    ear = cut(ear, sphere(u, v, w, (-11.6, 5.2, 4.6), 2.6), 1.6)
    return union(f, ear, 4.0)
