"""Nose: ridge by curves of height, tip, wings, columella and nostrils."""

import numpy as np

from .blend import Array, bell, curve, cut, ellipsoid, meet, sphere, stroke, tube, union

RIDGE = curve([(42, 84), (30, 88), (20, 90.2), (13, 90.6), (7, 91.2), (0, 94), (-8, 98.8), (-20, 106), (-28, 110.6),
               (-33, 112.6), (-42, 112.6)])
SLOPE = curve([(30, 0.5), (10, 0.9), (2, 1.3), (-8, 1.85), (-18, 2.1), (-42, 2.1)])
WIDTH = curve([(20, 7), (8, 5.5), (-8, 4.6), (-20, 4.8), (-30, 6.0), (-40, 7.0)])
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
    f = union(f, sphere(x, y, z, (2.4, -32.6, 107.6), 6.6), 7.0)
    f = union(f, tube(x, y, z, [(0, -45.5, 96.0, 3.2), (0, -42.5, 103.0, 2.7), (0, -38.5, 110.0, 3.4)], 10), 4.0)
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
