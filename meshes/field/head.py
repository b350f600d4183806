"""The whole head and bust as one field; each part is evaluated only where it can matter."""

from collections.abc import Callable

import numpy as np

from .base import base
from .blend import Array
from .ear import add_ear
from .eye import Eye, add_eye
from .mouth import folds, relief
from .neck import add_neck
from .nose import add_nose


class Head:
    """Callable field f(x, y, z) [mm], negative inside, mirror symmetric in x."""

    def __init__(self, eye: Eye | None = None) -> None:
        self.eye = eye or Eye()

    def __call__(self, x: Array, y: Array, z: Array) -> Array:
        """Distance estimate at flat arrays of coordinates [mm]."""
        x = np.abs(x)
        f = base(x, y, z)
        front = (x < 40) & (y > -95) & (y < -25) & (z > 55)
        _apply(f, front, x, y, z, lambda g, a, b, c: g - relief(a, b, c) + folds(a, b, c))
        nose = (x < 34) & (y > -62) & (y < 46) & (z > 62)
        _apply(f, nose, x, y, z, add_nose)
        cx, cy, cz = self.eye.centre
        eye = (np.abs(x - cx) < 25) & (np.abs(y - cy) < 24) & (z > cz - 22) & (z < cz + 30)
        _apply(f, eye, x, y, z, lambda g, a, b, c: add_eye(g, a, b, c, self.eye))
        ear = (x > 50) & (y > -62) & (y < 30) & (z > -60) & (z < 24)
        _apply(f, ear, x, y, z, add_ear)
        _apply(f, y < -5.0, x, y, z, add_neck)
        return f


def _apply(f: Array, where: np.ndarray, x: Array, y: Array, z: Array, part: Callable[..., Array]) -> None:
    """Replace `f` where the mask holds by what `part` makes of it."""
    if where.any():
        f[where] = part(f[where], x[where], y[where], z[where])
