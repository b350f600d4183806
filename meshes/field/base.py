"""Smooth low-frequency base of skull and face: a radial function of direction through landmark points.

Sculptor's frame, mm: x sideways (one half is modelled, mirrored by |x|), y up with 0 at pupil height, z out
of the face with 0 in the plane of the tragia. The points are the project's own, set so that the sizes of
ANSUR II (Gordon et al. 2014, NATICK/TR-15/007) are met.
"""

from functools import lru_cache

import numpy as np
from scipy.interpolate import RBFInterpolator, RectBivariateSpline

from .blend import Array

CENTRE = (0.0, -5.0, 8.0)

MIDLINE = """115,-8; 112,28; 101,58; 86,77; 66,89.5; 48,94.5; 33,95.6; 20,96.5; 7,90; -8,89; -25,91;
-43,96; -55,98; -66,97; -78,95; -84,93; -92,94.5; -99,95; -107,92.5; -113,85; -113,68;
-104,45; -96,20; 109,-45; 90,-76; 62,-95; 32,-100; 2,-93; -28,-78; -60,-55; -88,-20"""

SIDE = """75,42,-28; 68.5,75,-22; 48,98,-18; 24,111,-12; 73.5,20,-24; 71,0,-18; 69,-20,-4; 68,0,-45;
60,-12,-58; 62,32,-66; 37.5,32,-91; 38,2,-83; 62,-26,-28; 44,-35,-50; 40,68,-82;
60,68,-56; 38,94,-50; 63,72,15; 46,94,20; 24,104,35; 25,88,66; 13,66,88.4; 26,66,84.3;
37,66,77; 13,48,93.6; 26,48,90.2; 37,48,84; 13,33,94.9; 25,33,91.2; 36,33,85.4; 44,86,48;
46,66,68; 47,48,76; 46,32,79; 56,48,62; 55,30,66.5; 64,48,42; 62.5,26,47; 61.5,10,47;
70,45,10; 69,20,15; 67,0,18; 11,19,93.4; 22,21.5,91.0; 32,22.5,87.4; 42,20,80.4; 50,14,73;
54,6,65; 54.5,-5,62; 12,4.5,84.8; 20,13,85.2; 32,13.5,85.2; 43,13,77.6; 20,6,79.6;
32,7.5,80; 43,7,73; 17,-1,76; 47,1,67.5; 32,-9,77; 21,-13,80; 44,-12,71; 32,-24,82.2;
20,-26,86; 46,-24,76.8; 56,-20,65.5; 63.5,-18,45; 69,-17,25; 69,-17,10; 17,-40,88.5;
27,-43,84.5; 40,-42,75; 53.5,-43,58.5; 62.5,-43,33; 63,-43,12; 20,-55,89; 31,-58,81;
26,-66,84; 38,-64,71.5; 49,-64,55; 56.5,-62,30; 58,-62,8; 12,-99,92.5; 22,-100,84;
29,-97,73.5; 12,-85,91; 25,-82,82.5; 37,-83,68; 45,-82,50; 52,-80,28; 55,-76,6;
20,-111,77; 31,-106,60; 41,-98,42; 49,-90,20; 12,-112,82; 20,-109,55; 35,-100,25;
51,-80,-10; 55,-55,-12"""


def points() -> Array:
    """All base points of one half, (n, 3) [mm]; those on the midline have x = 0."""
    rows = [(0.0, *map(float, p.split(","))) for p in MIDLINE.split(";")]
    rows += [tuple(map(float, p.split(","))) for p in SIDE.split(";")]
    return np.array(rows, dtype=np.float64)


@lru_cache(maxsize=1)
def _table() -> RectBivariateSpline:
    """Radius [mm] over (angle from the x axis, angle about it), cubic in both."""
    half = points()
    other = half[half[:, 0] > 0] * (-1.0, 1.0, 1.0)
    d = np.concatenate([half, other]) - CENTRE
    radius = np.linalg.norm(d, axis=1)
    fit = RBFInterpolator(d / radius[:, None], radius, kernel="cubic", smoothing=4e-4)
    polar = np.radians(np.linspace(0.0, 180.0, 181))
    about = np.radians(np.linspace(-190.0, 190.0, 381))
    t, a = np.meshgrid(polar, about, indexing="ij")
    way = np.stack([np.cos(t), np.sin(t) * np.sin(a), np.sin(t) * np.cos(a)], axis=-1).reshape(-1, 3)
    return RectBivariateSpline(polar, about, fit(way).reshape(t.shape))


def base(x: Array, y: Array, z: Array) -> Array:
    """Distance estimate of the base [mm]."""
    dx, dy, dz = x - CENTRE[0], y - CENTRE[1], z - CENTRE[2]
    rho = np.sqrt(dx * dx + dy * dy + dz * dz) + 1e-9
    polar, about = np.arccos(np.clip(dx / rho, -1.0, 1.0)), np.arctan2(dy, dz)
    table = _table()
    r = table.ev(polar, about)
    slope = table.ev(polar, about, dx=1)
    turn = table.ev(polar, about, dy=1) / np.maximum(np.sin(polar), 0.05)
    return np.asarray((rho - r) / np.sqrt(1.0 + (slope * slope + turn * turn) / (r * r)))
