"""Hair as its own solid: the base raised inside a hairline that is a curve of height over azimuth."""

import numpy as np

from .base import base
from .blend import Array, curve, meet, step

LINE = curve([(0, 68), (18, 70), (32, 71), (41, 62), (47, 46), (54, 26), (62, 6), (70, -10), (77, -22), (82, -24),
              (87, -12), (94, 12), (103, 19), (114, 10), (122, -16), (131, -42), (146, -57), (180, -63)])


def inside(x: Array, y: Array, z: Array) -> Array:
    """Approximate distance above the hairline along the scalp [mm], negative on bare skin."""
    azimuth = np.degrees(np.arctan2(np.abs(x), z))
    rise = (LINE(azimuth + 0.5) - LINE(azimuth - 0.5)) / (np.radians(1.0) * 78.0)
    return (y - LINE(azimuth)) / np.sqrt(1.0 + rise * rise)


def cropped(x: Array, y: Array, z: Array) -> Array:
    """Short hair: 4 mm at the sides rising to 11 mm on the crown, feathered edge [mm]."""
    x = np.abs(x)
    depth = 4.0 + 7.0 * step(10.0, 105.0, y)
    edge = step(-7.0, 34.0, inside(x, y, z))
    # combed strands: ridges that run away from the crown
    azimuth = np.arctan2(x, z + 35.0)
    strand = np.sin(46.0 * azimuth + 2.2 * np.sin(0.09 * y + 3.0 * azimuth)) + 0.7 * np.sin(
        83.0 * azimuth + 1.7 * np.sin(0.13 * y + 5.0 * azimuth)
    )
    centre = step(12.0, 45.0, np.hypot(x, z + 35.0))
    solid = base(x, y, z) + 2.5 - (depth + 2.5) * edge - 0.25 * strand * edge * centre
    return meet(solid, -12.0 - inside(x, y, z), 5.0)
