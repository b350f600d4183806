"""Eye: lids as a shell round the globe, almond opening, corner fills, upper fold; the globe itself is a mesh.

Globe radius 12 mm, corneal front radius 7.8 mm, corneal diameter 11.7 mm: textbook schematic eye values
(vision-science dictionary, table C7: cornea 7.8 mm, 11.71 +- 0.42 mm).
"""

from dataclasses import dataclass

import numpy as np

from .blend import Array, bell, curve, cut, meet, sphere, step, union

GLOBE = 12.0
CORNEA = 7.8
LIMBUS = 5.85
CORNEA_OFFSET = float(np.sqrt(GLOBE**2 - LIMBUS**2) - np.sqrt(CORNEA**2 - LIMBUS**2))
APEX = CORNEA_OFFSET + CORNEA
LID = 13.7
# flesh that fills both corners beside the globe: depth from the globe's centre, by sideways place
FILL = curve(
    [
        (-17, 8.6),
        (-14.5, 7.6),
        (-12, 6.4),
        (-10.6, 4.4),
        (-9.6, -1.0),
        (-8.5, -8.0),
        (9, -8.0),
        (10.4, -2.0),
        (11.4, 1.6),
        (12.6, 3.4),
        (14.5, 4.6),
        (16, 5.2),
    ]
)


@dataclass(frozen=True)
class Eye:
    """Place and shape of one eye [mm]; corners and lid heights are relative to the centre of the globe."""

    centre: tuple[float, float, float] = (31.5, 0.0, 65.3)
    inner: tuple[float, float] = (-15.2, -1.6)
    outer: tuple[float, float] = (14.2, 1.4)
    upper: float = 4.75
    lower: float = 5.45
    fold: float = 4.2
    fold_depth: float = 1.0

    def lids(self, x: Array) -> tuple[Array, Array]:
        """Heights of the upper and lower lid edge at sideways place `x`; crossed beyond the corners."""
        (xi, yi), (xo, yo) = self.inner, self.outer
        t = (2.0 * (x - self.centre[0]) - xi - xo) / (xo - xi)
        line = self.centre[1] + 0.5 * (yi + yo) + 0.5 * (yo - yi) * t
        edge = 1.0 - t * t
        full = np.sign(edge) * np.abs(edge) ** np.where(edge > 0, 0.86, 1.0)
        up = line + self.upper * full * (1.0 - 0.16 * t)
        down = line - self.lower * full * (1.0 + 0.20 * t)
        return up, down

    def opening(self, x: Array, y: Array) -> Array:
        """Signed plane distance estimate to the almond, negative inside it [mm]."""
        up, down = self.lids(x)
        e = 0.05
        up2, down2 = self.lids(x + e)
        a = (y - up) / np.sqrt(1.0 + ((up2 - up) / e) ** 2)
        b = (down - y) / np.sqrt(1.0 + ((down2 - down) / e) ** 2)
        return meet(a, b, 0.6)

    def caruncle(self) -> tuple[tuple[float, float, float], float]:
        """Centre and radius of the pink bead in the inner corner."""
        cx, cy, cz = self.centre
        return (cx + self.inner[0] + 2.5, cy + self.inner[1] + 0.1, cz + 5.9), 2.0


def globe(x: Array, y: Array, z: Array, eye: Eye, grow: float) -> Array:
    """Globe with its corneal bulge, grown by `grow` [mm]."""
    cx, cy, cz = eye.centre
    ball = sphere(x, y, z, eye.centre, GLOBE + grow)
    return np.minimum(ball, sphere(x, y, z, (cx, cy, cz + CORNEA_OFFSET), CORNEA + grow))


def add_eye(f: Array, x: Array, y: Array, z: Array, eye: Eye) -> Array:
    """Join lids to the face field and open them (points near the eye only)."""
    cx, cy, cz = eye.centre
    bump = sphere(x, y, z, (cx, cy, cz + CORNEA_OFFSET - 0.8), CORNEA + LID - GLOBE)
    shell = union(sphere(x, y, z, eye.centre, LID), bump, 4.0)
    for centre, radius in (((cx - 12.5, cy - 1.2, cz + 7.0), 3.0), ((cx + 12.6, cy + 1.0, cz + 1.4), 4.2)):
        shell = union(shell, sphere(x, y, z, centre, radius), 3.0)
    f = union(f, shell, 4.0)
    f = f + _folds(x, y, z, eye)
    floor = sphere(x, y, z, eye.centre, GLOBE - 0.4)
    floor = union(floor, 0.5 * (z - cz - FILL(x - cx)), 0.8)
    centre, radius = eye.caruncle()
    floor = union(floor, sphere(x, y, z, centre, radius), 1.6)
    gap = np.maximum(eye.opening(x, y), -floor)
    gap = np.maximum(gap, cz - 6.0 - z)
    f = cut(f, gap, 0.9)
    pocket = np.maximum(globe(x, y, z, eye, 0.02), cz - 4.03 - z)
    return np.maximum(f, -pocket)


def _folds(x: Array, y: Array, z: Array, eye: Eye) -> Array:
    """Upper-lid fold with its soft roll above, and a faint lower-lid furrow; positive engraves [mm]."""
    up, down = eye.lids(x)
    t = (x - eye.centre[0]) / 15.0
    front = step(eye.centre[2] - 3.0, eye.centre[2] + 3.0, z)
    fade = step(1.28, 0.8, np.abs(t + 0.02)) * front
    above = (
        y
        - np.maximum(up, eye.centre[1] + eye.outer[1] * np.clip(t, -0.4, 1.0))
        - eye.fold * (1.0 - 0.25 * t * t)
    )
    crease = eye.fold_depth * (0.85 * bell(above, 1.15) - 0.6 * bell(above - 2.8, 2.1)) - 0.15 * bell(
        above + 2.2, 1.6
    )
    below = down - y - 4.6 + 1.2 * t
    furrow = 0.3 * bell(below, 1.6) - 0.25 * bell(below + 3.2, 1.7)
    return fade * (crease + furrow)
