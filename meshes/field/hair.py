"""Hair as a closed body over the scalp that carries the tufts: short, or to the jaw."""

from dataclasses import dataclass

import numpy as np

from .base import base
from .blend import Array, bell, curve, cut, meet, step, union
from .hairline import inside
from .noise import noise
from .sitter import Sitter

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


@dataclass(frozen=True)
class Style:
    """Factors of a way to wear hair: `long` hangs to the jaw; the rest is for short hair, 1 is cropped."""

    long: bool = False
    length: float = 1.0
    depth: float = 1.0
    tousle: float = 1.0


STYLES = {
    "cropped": Style(),
    "close": Style(length=0.55, depth=0.5, tousle=0.6),
    "tousled": Style(length=1.55, depth=1.3, tousle=1.4),
    "bob": Style(long=True),
}


def cropped(x: Array, y: Array, z: Array, recede: float, depth: float) -> Array:
    """Short hair: nothing at the hairline, 3 mm at the sides, 13 mm on the crown [mm]."""
    rim = inside(x, y, z, recede)
    full = 2.6 + 10.5 * step(48.0, 112.0, y) * step(112.0, 55.0, z)
    return base(x, y, z) - depth * full * step(-2.0, 34.0, rim)


def bob(x: Array, y: Array, z: Array) -> Array:
    """Hair to the jaw, laid behind the temples, covering the ears [mm]."""
    rim = inside(x, y, z)
    top = base(x, y, z) - 12.5 * step(-2.0, 26.0, rim) * step(125.0, 20.0, z) ** 0.5
    top = np.maximum(top, -5.0 - rim)
    rx, zb = SIDE(y), BACK(y)
    mid = -18.0
    ahead = 62.0 - 0.10 * np.clip(20.0 - y, 0.0, 100.0)
    rz = np.where(z < mid, mid - zb, ahead)
    q = np.sqrt((x / rx) ** 2.3 + (np.abs(z - mid) / rz) ** 2.3 + 1e-12)
    curtain = (q - 1.0) * np.minimum(rx, rz)
    edge = 30.0 + 0.22 * np.clip(y - 10.0, -100.0, 60.0)
    curtain = meet(curtain, z - edge, 10.0)
    ends = -78.0 + 0.10 * z
    curtain = meet(curtain, ends - y, 7.0)
    curtain = meet(curtain, y - 74.0, 12.0)
    hollow = (np.sqrt((x / (rx - 13.0)) ** 2 + ((z - mid) / (rz - 12.0)) ** 2) - 1.0) * (rx - 13.0)
    curtain = cut(curtain, np.maximum(hollow, y + 48.0), 5.0)
    part = 2.2 * bell(x, 2.6) * step(60.0, 95.0, y) * step(-70.0, -20.0, z)
    return union(top, curtain, 10.0) + part


def grain(x: Array, y: Array, z: Array) -> Array:
    """Uneven ridges -1..1 that run away from the crown, fading at the whorl."""
    far = np.hypot(x, z + 40.0)
    turn = 52.0 * np.arctan2(x, z + 40.0)
    a = noise(turn / 2.6, y / 26.0, far / 30.0, 21) + 0.7 * noise(turn / 1.3, y / 18.0, far / 22.0, 22)
    return np.asarray(a / 1.7 * step(10.0, 40.0, far))


class Hair:
    """Callable field of one style on one sitter, mirror symmetric in x."""

    def __init__(self, sitter: Sitter, style: str) -> None:
        self.sitter, self.style = sitter, STYLES[style]

    def carrier(self, x: Array, y: Array, z: Array) -> Array:
        """The smooth surface that the tufts lie on [mm]."""
        x0, y0, z0 = self.sitter.canonical(np.abs(x), y, z)
        if self.style.long:
            return bob(x0, y0, z0)
        return cropped(x0, y0, z0, self.sitter.recede, self.style.depth)

    def __call__(self, x: Array, y: Array, z: Array) -> Array:
        """Distance estimate [mm] at flat arrays of coordinates: the carrier, sunk, with its grain."""
        x0, y0, z0 = self.sitter.canonical(np.abs(x), y, z)
        rim = self.rim(x, y, z)
        sunk = 1.0 + 1.6 * step(17.0, 5.0, rim + 3.5 * noise(x / 5.0, y / 5.0, z / 5.0, 23)) * step(
            20.0, 36.0, y
        )
        sunk += 0.9 * step(14.0, 5.0, rim) * step(36.0, 20.0, y)
        body = self.carrier(x, y, z) + sunk - 0.8 * grain(x0, y0, z0)
        return body if self.style.long else meet(body, -4.0 - rim, 1.5)

    def rim(self, x: Array, y: Array, z: Array) -> Array:
        """Distance above the hairline [mm]."""
        x0, y0, z0 = self.sitter.canonical(np.abs(x), y, z)
        return inside(x0, y0, z0, self.sitter.recede)

    def scalp(self, x: Array, y: Array, z: Array) -> Array:
        """The bare scalp [mm]."""
        return base(*self.sitter.canonical(np.abs(x), y, z))
