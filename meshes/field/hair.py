"""Hair as its own closed solid over the scalp: cropped, or a bob; the hairline is a height over azimuth."""

import numpy as np

from .base import base
from .blend import Array, bell, curve, cut, meet, step, union
from .sitter import Sitter

LINE = curve(
    [
        (0, 66),
        (9, 67.5),
        (18, 70.5),
        (27, 71.5),
        (35, 67),
        (42, 56),
        (48, 43),
        (54, 31),
        (60, 18),
        (65, 4),
        (71, -10),
        (77, -20),
        (81, -22),
        (85, -14),
        (90, 1),
        (97, 13),
        (104, 17),
        (113, 12),
        (121, -8),
        (130, -36),
        (140, -52),
        (155, -60),
        (180, -63),
    ]
)
SIDE = curve(
    [
        (115, 30),
        (105, 55),
        (85, 76),
        (60, 85),
        (30, 88),
        (0, 89.5),
        (-40, 87),
        (-62, 82.5),
        (-80, 75),
        (-100, 66),
    ]
)
BACK = curve(
    [
        (115, -40),
        (105, -75),
        (85, -97),
        (60, -109),
        (30, -114),
        (0, -114),
        (-40, -107),
        (-62, -101),
        (-80, -92),
        (-100, -82),
    ]
)


def inside(x: Array, y: Array, z: Array) -> Array:
    """Distance above the hairline along the scalp [mm], negative on bare skin; uneven by about 1 mm."""
    azimuth = np.degrees(np.arctan2(x, z))
    rise = (LINE(azimuth + 1.0) - LINE(azimuth - 1.0)) / (np.radians(2.0) * 78.0)
    uneven = (
        0.5 * np.sin(azimuth * 0.31 + 0.8)
        + 0.45 * np.sin(azimuth * 0.83 + 1.9)
        + 0.25 * np.sin(azimuth * 1.7)
    )
    return np.asarray((y - LINE(azimuth)) / np.sqrt(1.0 + rise * rise) + uneven)


def strands(x: Array, y: Array, z: Array) -> Array:
    """Uneven ridges -1..1 that run away from the crown, fading at the whorl."""
    azimuth = np.arctan2(x, z + 40.0)
    drift = 0.10 * np.sin(0.05 * y + 4.0 * azimuth)
    a = np.sin(41.0 * (azimuth + drift) + 2.0 * np.sin(0.06 * y + 3.0 * azimuth))
    b = np.sin(67.0 * (azimuth - 0.7 * drift) + 1.6 * np.sin(0.09 * y - 5.0 * azimuth + 1.0))
    return (0.6 * a + 0.5 * b) * step(10.0, 40.0, np.hypot(x, z + 40.0))


def cropped(x: Array, y: Array, z: Array) -> Array:
    """Short hair: 1 mm at the hairline, 4.5 mm at the sides, 12 mm on the crown [mm]."""
    rim = inside(x, y, z)
    full = 3.5 + 8.5 * step(5.0, 105.0, y) * step(115.0, 40.0, z)
    depth = 0.5 + full * step(-4.0, 36.0, rim)
    solid = base(x, y, z) - depth - 0.3 * strands(x, y, z) * step(0.0, 12.0, rim)
    return meet(solid, -rim, 1.5)


def bob(x: Array, y: Array, z: Array) -> Array:
    """Hair to the jaw, parted in the middle and laid behind the temples, covering the ears [mm]."""
    rim = inside(x, y, z)
    top = base(x, y, z) - 1.0 - 13.0 * step(-2.0, 26.0, rim) * step(125.0, 20.0, z) ** 0.5
    top = np.maximum(top, -rim)
    rx, zb = SIDE(y), BACK(y)
    mid = -18.0
    ahead = 62.0 - 0.10 * np.clip(20.0 - y, 0.0, 100.0)
    rz = np.where(z < mid, mid - zb, ahead)
    q = np.sqrt((x / rx) ** 2.3 + (np.abs(z - mid) / rz) ** 2.3 + 1e-12)
    curtain = (q - 1.0) * np.minimum(rx, rz)
    edge = 30.0 + 0.22 * np.clip(y - 10.0, -100.0, 60.0)
    curtain = meet(curtain, z - edge, 10.0)
    ends = -78.0 + 0.10 * z + 1.2 * np.sin(0.9 * np.degrees(np.arctan2(x, z + 20.0)))
    curtain = meet(curtain, ends - y, 7.0)
    curtain = meet(curtain, y - 74.0, 12.0)
    hollow = (np.sqrt((x / (rx - 13.0)) ** 2 + ((z - mid) / (rz - 12.0)) ** 2) - 1.0) * (rx - 13.0)
    curtain = cut(curtain, np.maximum(hollow, y + 48.0), 5.0)
    whole = union(top, curtain, 10.0)
    part = 2.2 * bell(x, 2.6) * step(60.0, 95.0, y) * step(-70.0, -20.0, z)
    locks = np.sin(0.55 * np.degrees(np.arctan2(x, z + 18.0)) + 1.5 * np.sin(0.04 * y)) * step(30.0, -10.0, y)
    return whole + part - 0.45 * strands(x, y, z) * step(0.0, 12.0, rim) * step(-10.0, 30.0, y) - 0.5 * locks


STYLES = {"cropped": cropped, "bob": bob}


class Hair:
    """Callable field of one style on one sitter, mirror symmetric in x."""

    def __init__(self, sitter: Sitter, style: str) -> None:
        self.sitter, self.style = sitter, STYLES[style]

    def __call__(self, x: Array, y: Array, z: Array) -> Array:
        """Distance estimate [mm] at flat arrays of coordinates."""
        return self.style(*self.sitter.canonical(np.abs(x), y, z))
