"""A plain crew-neck garment over the bust: its own closed body, a ribbed collar at the root of the neck."""

import numpy as np

from .blend import Array, bell, meet, step, union
from .neck import FLOOR, bust, neck
from .noise import noise
from .sitter import Sitter

# the collar is a leaning oval about the root of the neck, seen along the neck; sculptor's mm
MIDDLE = (-177.5, -34.9)  # its height and depth
RUN = (-0.435, 0.900)  # from its back to its front, per mm: height and depth
HALF_ACROSS, AHEAD, BEHIND = 76.0, 71.0, 60.0
NAPE = -149.0  # height of the collar behind
GAP = 2.6  # cloth over skin


def collar(x: Array, y: Array, z: Array) -> Array:
    """Distance outside the collar's line [mm]: off the oval, and behind below a height as well."""
    u = RUN[0] * (y - MIDDLE[0]) + RUN[1] * (z - MIDDLE[1])
    half = np.where(u > 0.0, AHEAD, BEHIND)
    a, b = x / HALF_ACROSS, u / half
    q = np.sqrt(a * a + b * b + 1e-12)
    slope = np.sqrt((a / HALF_ACROSS) ** 2 + (b / half) ** 2) / q
    oval = (q - 1.0) / np.maximum(slope, 1e-3)
    return union(oval, NAPE + 0.6 * np.maximum(z + 55.0, 0.0) - y, 14.0)


class Cloth:
    """Callable field of the garment [mm], mirror symmetric in x."""

    def __init__(self, sitter: Sitter) -> None:
        self.sitter = sitter

    def __call__(self, x: Array, y: Array, z: Array) -> Array:
        """Distance estimate at flat arrays of coordinates."""
        x0, y0, z0 = self.sitter.canonical(np.abs(x), y, z)
        skin = union(neck(x0, y0, z0), bust(x0, y0, z0), 26.0)  # over the notch between the collar bones
        out = collar(x0, y0, z0)
        # folds hang from the shoulder's point and pull a little from the collar
        fold = 1.2 * noise(np.arctan2(y0 + 185.0, x0 - 178.0) * 7.0, z0 / 90.0, 0.0 * x0, 101)
        fold += 0.9 * noise(x0 / 30.0 + 0.015 * y0, y0 / 75.0, z0 / 60.0, 102)
        seam = 0.6 * bell(x0 - 172.0 + 0.25 * (y0 + 195.0), 1.8)
        body = skin - GAP - (0.5 + fold) * step(12.0, 50.0, out) + seam
        body = meet(body, -out, 3.0)
        band = meet(skin - GAP - 1.3, np.abs(out - 8.0) - 9.5, 4.0)
        both = np.maximum(union(body, band, 0.8), y0 + 138.0)
        return np.maximum(both, FLOOR - 1.31 - y0)


def near_collar(p: Array, sitter: Sitter) -> np.ndarray:
    """True (n,) where places (n, 3) lie on the collar's band."""
    out = collar(*sitter.canonical(np.abs(p[:, 0]), p[:, 1], p[:, 2]))
    return np.asarray((out < 21.0) & (p[:, 1] > -235.0))
