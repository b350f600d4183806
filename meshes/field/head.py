"""The whole head and bust as one field; each part is evaluated only where it can matter."""

from collections.abc import Callable

import numpy as np

from .base import base
from .blend import Array
from .ear import add_ear
from .eye import add_eye
from .mouth import folds, relief
from .neck import add_neck
from .nose import add_nose
from .sitter import Sitter


class Head:
    """Callable field f(x, y, z) [mm], negative inside, mirror symmetric in x."""

    def __init__(self, sitter: Sitter | None = None) -> None:
        self.sitter = sitter or Sitter()
        self.eye = self.sitter.eye

    def __call__(self, x: Array, y: Array, z: Array) -> Array:
        """Distance estimate at flat arrays of coordinates [mm]."""
        who = self.sitter
        ax, ay, az = np.abs(x), y, z
        x, y, z = who.canonical(ax, ay, az)
        f = base(x, y, z)
        front = (x < 40) & (y > -95) & (y < -25) & (z > 55)
        _apply(f, front, x, y, z, self._mouth)
        nose = (x < 38) & (y > -64) & (y < 46) & (z > 62)
        _apply(f, nose, x, y, z, self._nose)
        cx, cy, cz = self.eye.centre
        eye = (np.abs(ax - cx) < 25) & (np.abs(ay - cy) < 24) & (az > cz - 22) & (az < cz + 30)
        _apply(f, eye, ax, ay, az, lambda g, a, b, c: add_eye(g, a, b, c, self.eye))
        ear = (x > 50) & (y > -62) & (y < 30) & (z > -60) & (z < 24)
        _apply(f, ear, x, y, z, add_ear)
        _apply(f, y < -5.0, x, y, z, add_neck)
        return f

    def _mouth(self, f: Array, x: Array, y: Array, z: Array) -> Array:
        who = self.sitter
        return f - relief(x / who.mouth_breadth, y, z, who.lip_fullness) + who.fold * folds(x, y, z)

    def _nose(self, f: Array, x: Array, y: Array, z: Array) -> Array:
        who = self.sitter
        bridge = who.nose_bridge * np.exp(-(((y - 2.0) / 13.0) ** 2)) * np.exp(-((x / 12.0) ** 2))
        ahead = np.where(z > 88.0, 88.0 + (z - 88.0) / who.nose_protrusion, z) - bridge
        return add_nose(f, x / who.nose_breadth, y, ahead)


def _apply(f: Array, where: np.ndarray, x: Array, y: Array, z: Array, part: Callable[..., Array]) -> None:
    """Replace `f` where the mask holds by what `part` makes of it."""
    if where.any():
        f[where] = part(f[where], x[where], y[where], z[where])
