"""Lips, philtrum, mouth line, mentolabial and nasolabial folds, as relief on the base."""

import numpy as np

from .blend import Array, bell, curve, step, stroke

HALF = 25.6
SEAM = curve([(0, -66.6), (3, -66.4), (8, -65.9), (15, -66.2), (21, -66.8), (25.6, -67.3), (32, -68)])
BOW = curve(
    [(0, -59.6), (2.2, -59.1), (4.8, -58.2), (8, -58.8), (14, -61.2), (20, -64.2), (25.6, -67.1), (32, -68)]
)
FOOT = curve([(0, -76.4), (6, -76.1), (12, -74.6), (18, -71.9), (22, -69.5), (25.6, -67.5), (32, -68)])


def lip_weight(x: Array, y: Array, z: Array) -> Array:
    """1 on the red of the lips, 0 on skin, soft over 1 mm."""
    x = np.abs(x)
    inside = np.minimum(BOW(x) - y, y - FOOT(x))
    return 0.9 * step(-1.1, 1.6, inside) * step(HALF - 0.6, HALF - 3.4, x) * (z > 60)


def relief(x: Array, y: Array, z: Array, fullness: float = 1.0) -> Array:
    """Height of the lips and philtrum over the base [mm], positive outward."""
    seam, bow, foot = SEAM(x), BOW(x), FOOT(x)
    out = np.clip(x / HALF, 0.0, 1.3)
    full = np.clip(1.0 - out * out, 0.0, 1.0)
    up = np.maximum(bow - seam, 0.4)
    down = np.maximum(seam - foot, 0.4)
    s, d = (y - seam) / up, (seam - y) / down
    upper = fullness * 3.3 * full**0.8 * _roll(s, 0.50, 1.0, 2.1)
    lower = fullness * 3.7 * full**0.7 * _roll(d, 0.42, 1.0, 1.75)
    lips = np.where(y > seam, upper, lower)
    seam_cut = 1.6 * bell(y - seam, 0.9) * step(1.03, 0.85, out) + 0.6 * bell(y - seam, 2.0) * full
    edge = 0.22 * bell(y - bow - 0.2, 1.1) * step(1.0, 0.5, out)
    dip = step(-45.0, -50.0, y) * step(-60.5, -55.5, y)
    wide = 2.5 + 0.06 * (-46.0 - y)
    philtrum = dip * (0.42 * bell(x - 2.0 * wide, 2.1) - 0.75 * bell(x, wide))
    corner = -0.9 * bell(np.hypot(x - 26.4, (y + 67.4) * 0.9), 2.6) + 0.3 * bell(
        np.hypot(x - 31.0, y + 68.5), 5.5
    )
    chin_fold = -0.9 * bell(y + 83.5 - 0.010 * x * x, 3.0) * bell(x, 15.0)
    front = step(55.0, 68.0, z)
    return front * (lips - seam_cut + edge + philtrum + corner + chin_fold)


def folds(x: Array, y: Array, z: Array) -> Array:
    """Nasolabial fold: soft groove with a fuller cheek beside it; positive engraves [mm]."""
    gap, t, side = stroke(x, y, [(17.5, -32.0), (21.5, -38.0), (26.5, -48.0), (30.5, -58.0), (32.5, -66.0)])
    fade = step(0.0, 0.18, t) * step(1.0, 0.45, t)
    cheek = side * gap
    return step(55.0, 68.0, z) * fade * (0.75 * bell(gap, 2.2) - 0.5 * bell(cheek - 4.5, 4.0))


def _roll(s: Array, top: float, edge: float, reach: float) -> Array:
    """Profile of a lip across its height: 0 at the seam, 1 at `top`, 0.55 at `edge`, gone at `reach`."""
    rise = np.sqrt(np.clip(1.0 - (1.0 - np.clip(s / top, 0.0, 1.0)) ** 2, 0.0, 1.0))
    fall = 0.55 + 0.45 * step(edge + 0.1, top - 0.1, s) / float(step(edge + 0.1, top - 0.1, np.array(top)))
    tail = step(reach, edge - 0.1, s)
    return np.where(s < top, rise, fall * tail)
