"""Where hair grows: the hairline as a height over azimuth, and how dense the growth is about it."""

import numpy as np

from .blend import Array, bell, curve, step
from .noise import noise

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


def inside(x: Array, y: Array, z: Array, recede: float = 0.0) -> Array:
    """Distance above the hairline along the scalp [mm], negative on bare skin.

    recede  mm that the line stands higher over the temples, half of it in the middle
    """
    azimuth = np.degrees(np.arctan2(np.abs(x), z))
    rise = (LINE(azimuth + 1.0) - LINE(azimuth - 1.0)) / (np.radians(2.0) * 78.0)
    line = LINE(azimuth) + recede * (bell(azimuth - 33.0, 19.0) + 0.6 * bell(azimuth, 25.0))
    return np.asarray((y - line) / np.sqrt(1.0 + rise * rise))


def growth(x: Array, y: Array, z: Array, recede: float = 0.0) -> Array:
    """Density of the hair 0..1: full above the hairline, thinning unevenly over about a centimetre."""
    patchy = 1.4 * noise(x / 9.0, y / 9.0, z / 9.0, 11) + 1.8 * noise(x / 3.0, y / 3.0, z / 3.0, 12)
    return step(-5.0, 6.5, inside(x, y, z, recede) + patchy)
