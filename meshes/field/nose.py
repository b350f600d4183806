"""Nose: ridge by curves of height, tip, wings, columella and nostrils."""

import numpy as np

from .blend import Array, bell, curve, cut, ellipsoid, meet, stroke, tube, union

RIDGE = curve(
    [
        (42, 84),
        (30, 88),
        (20, 90.2),
        (13, 90.6),
        (7, 91.2),
        (0, 94),
        (-8, 98.8),
        (-20, 106.2),
        (-28, 111.0),
        (-33, 112.8),
        (-42, 112.6),
    ]
)
SLOPE = curve([(30, 0.5), (10, 0.9), (2, 1.35), (-8, 2.0), (-16, 2.3), (-26, 2.3), (-42, 2.15)])
WIDTH = curve([(20, 9.0), (8, 7.6), (-8, 6.0), (-20, 5.6), (-30, 7.6), (-40, 9.0)])
ALA = (11.0, -36.0, 96.0)


def ridge(x: Array, y: Array, z: Array) -> Array:
    """Dorsum and sides down to the tilted underside, distance estimate [mm]."""
    s, b = SLOPE(y), WIDTH(y)
    root = np.sqrt(x * x + b * b)
    side = (z - (RIDGE(y) - s * (root - b))) / np.sqrt(1.0 + (s * x / root) ** 2 + 0.3)
    under = (y + 45.0) * -0.936 + (z - 96.5) * 0.351
    return meet(side, under, 6.0)


def add_nose(f: Array, x: Array, y: Array, z: Array) -> Array:
    """Join the nose to the face field `f` (points near the nose only)."""
    f = union(f, ridge(x, y, z), 8.0)
    f = union(f, ellipsoid(x, y, z, (0.0, -32.8, 106.9), (8.6, 6.8, 7.4)), 7.0)
    f = union(
        f, tube(x, y, z, [(0, -45.5, 96.0, 3.2), (0, -42.5, 103.0, 2.7), (0, -38.5, 110.0, 3.4)], 10), 4.0
    )
    f = union(f, ellipsoid(x, y, z, (7.5, -30.5, 100.5), (5.5, 6.5, 7.5)), 6.0)
    lean = np.array([[0.94, 0.0, 0.342], [0.0, 1.0, 0.0], [-0.342, 0.0, 0.94]])
    f = union(f, ellipsoid(x, y, z, ALA, (5.4, 7.0, 9.2), lean), 4.5)
    # the crease that parts the wing from cheek and side wall
    gap, t, _ = stroke(x, y, [(10.0, -26.8), (14.3, -28.5), (17.4, -34.0), (17.2, -40.5), (14.5, -44.2)])
    f = f + 0.75 * bell(gap, 1.8) * np.sin(np.pi * np.clip(t * 0.86 + 0.14, 0, 1)) ** 0.8
    hole = ellipsoid(x, y, z, (7.0, -43.2, 101.8), (3.1, 6.5, 6.0), _turned(-20.0, 12.0))
    return cut(f, hole, 2.2)


def _turned(yaw_deg: float, roll_deg: float) -> Array:
    """Axes turned about the vertical (tips converge forward) and about the long axis."""
    a, b = np.radians(yaw_deg), np.radians(roll_deg)
    about_y = np.array([[np.cos(a), 0, -np.sin(a)], [0, 1, 0], [np.sin(a), 0, np.cos(a)]])
    about_z = np.array([[np.cos(b), np.sin(b), 0], [-np.sin(b), np.cos(b), 0], [0, 0, 1]])
    return np.asarray(about_z @ about_y, dtype=np.float64)
