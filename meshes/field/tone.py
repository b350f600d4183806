"""How skin varies over a face: lighter and darker, and where blood shows; faint, the same on both sides.

Own choice after looking at faces, no source. The mean over cheek and forehead stays at the colour as given.
"""

import numpy as np

from .blend import Array, bell, step
from .noise import noise
from .sitter import Sitter


def tone(p: Array, sitter: Sitter) -> tuple[Array, Array]:
    """Lightness (n,), 1 the skin as given, and redness (n,), 0..1, at (n, 3) places [mm]."""
    x, y, z = sitter.canonical(np.abs(p[:, 0]), p[:, 1], p[:, 2])
    front = step(30.0, 60.0, z)
    ear = step(69.0, 72.0, x) * step(24.0, 16.0, y) * step(-56.0, -48.0, y) * step(10.0, 0.0, z)
    eye = np.hypot((x - 31.0) / 19.0, (y + 1.0) / 13.0)
    cheek = bell(np.hypot((x - 42.0) / 17.0, (y + 27.0) / 14.0), 1.0) * front
    tip = bell(np.hypot(x / 13.0, (y + 34.0) / 11.0), 1.0) * step(88.0, 98.0, z)
    wing = bell(np.hypot((x - 15.5) / 5.0, (y + 38.0) / 8.0), 1.0) * front
    chin = bell(np.hypot(x / 17.0, (y + 99.0) / 12.0), 1.0) * front
    red = 0.5 * cheek + 0.75 * tip + 0.5 * wing + 0.3 * chin + 0.75 * ear
    red += 0.35 * bell(eye - 0.75, 0.45) * front + 0.22 * step(-170.0, -200.0, y) * bell(x, 70.0)
    red += 0.16 + 0.10 * noise(x / 7.0, y / 7.0, z / 7.0, 111) + 0.06 * noise(x / 3.0, y / 3.0, z / 3.0, 112)
    hollow = bell(np.hypot((x - 25.0 - 0.25 * (y + 11.0)) / 11.0, (y + 11.5) / 4.0), 1.0) * front
    corner = bell(np.hypot(x - 14.5, y - 1.0), 6.0) * front
    socket = bell(np.hypot((x - 31.0) / 15.0, (y - 10.0) / 5.0), 1.0) * front
    beard = step(-46.0, -53.0, y) * step(-128.0, -112.0, y) * step(2.0, 22.0, z)
    beard *= step(1.0, 1.35, np.hypot(x / 30.0, (y + 67.0) / 13.0)) + bell((y + 54.0) / 5.0, 1.0) * (x < 27)
    beard *= step(-42.0, -60.0, y + 0.45 * (30.0 - np.minimum(x, 60.0)) * (x > 30)) * step(-8.0, 10.0, z)
    light = 1.0 + 0.03 * bell(np.hypot(x / 40.0, (y - 46.0) / 18.0), 1.0) * front
    light -= 0.09 * hollow + 0.06 * corner + 0.05 * socket + 0.05 * wing + 0.03 * cheek
    light -= 0.11 * sitter.stubble * np.clip(beard, 0.0, 1.0)
    light += 0.014 * noise(x / 5.0, y / 5.0, z / 5.0, 113) + 0.012 * noise(x / 2.2, y / 2.2, z / 2.2, 114)
    return light, np.clip(red * (1.0 - 0.5 * sitter.stubble * np.clip(beard, 0.0, 1.0)), 0.0, 1.0)
