"""What may differ between sitters, and the warp of space that makes the differences."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.interpolate import PchipInterpolator

from .blend import Array, bell, step
from .eye import Eye

FIXED = 300.0  # beyond this height nothing moves [mm]


@dataclass(frozen=True)
class Sitter:
    """Parameters of one head; 1 or 0 is the middle head. Lengths in mm, factors without unit."""

    face_breadth: float = 1.0
    face_length: float = 1.0  # from the nose down to the chin
    head_height: float = 1.0  # from the brow up
    brow_depth: float = 0.0  # mm the brow ridge stands farther forward
    nose_length: float = 1.0
    nose_protrusion: float = 1.0
    nose_breadth: float = 1.0
    nose_bridge: float = 0.0  # mm the bridge stands farther forward at the eyes
    jaw_breadth: float = 1.0
    chin_forward: float = 0.0
    cheek: float = 0.0  # mm of fullness at the cheek apples
    eye_opening: float = 1.0
    eye_tilt: float = 0.0  # mm the outer corner stands higher
    lip_fullness: float = 1.0
    mouth_breadth: float = 1.0
    neck: float = 1.0
    shoulder: float = 1.0
    brow_weight: float = 1.0  # thickness of the painted brow
    fold: float = 1.0  # depth of the folds of the face: below 1 younger, above 1 older
    stubble: float = 0.0  # shadow of a shaved beard, 0 to 1
    hair: str = "cropped"  # a style of hair.py, or none: shaved
    recede: float = 0.0  # mm that the hairline stands higher over the temples

    @cached_property
    def _heights(self) -> tuple[PchipInterpolator, PchipInterpolator]:
        """Canonical height to actual height, and back."""
        nose, face = self.nose_length, self.face_length
        base = -8.0 - 37.6 * nose
        down = [(-FIXED, -FIXED), (-215.0, -215.0 - 0.3 * (113 * (face - 1)))]
        chin = base - (114.0 - 45.6) * face
        down += [(-150.0, -150.0 + 0.75 * (chin + 114.0)), (-114.0, chin), (-80.0, base - 34.4 * face)]
        down += [
            (-45.6, base),
            (-26.8, -8.0 - 18.8 * nose),
            (-8.0, -8.0),
            (0.0, 0.0),
            (12.0, 12.0),
            (24.0, 24.0),
        ]
        up = [(115.0, 24.0 + 91.0 * self.head_height), (FIXED, FIXED)]
        pairs = np.array(down + up)
        return PchipInterpolator(pairs[:, 0], pairs[:, 1]), PchipInterpolator(pairs[:, 1], pairs[:, 0])

    def _breadth(self, y0: Array, z: Array) -> Array:
        """Factor of the sideways place at a canonical height."""
        face = (
            (self.face_breadth - 1.0) * step(-40.0, 25.0, z) * step(95.0, 50.0, y0) * step(-135.0, -105.0, y0)
        )
        jaw = (self.jaw_breadth - 1.0) * step(-45.0, -10.0, z) * bell(y0 + 88.0, 36.0)
        bust = (self.shoulder - 1.0) * step(-150.0, -205.0, y0)
        neck = (self.neck - 1.0) * bell(y0 + 150.0, 50.0) * step(45.0, 20.0, z)
        return 1.0 + face + jaw + bust + neck

    def canonical(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        """Place in the middle head of an actual place (x >= 0)."""
        y0 = np.where(np.abs(y) < FIXED, self._heights[1](np.clip(y, -FIXED, FIXED)), y)
        x0 = x / self._breadth(y0, z)
        ahead = step(40.0, 75.0, z)
        brow = self.brow_depth * bell(y0 - 20.0, 10.0) * step(58.0, 40.0, x0) * (1.0 - 0.55 * bell(x0, 11.0))
        chin = self.chin_forward * bell(y0 + 104.0, 16.0) * step(40.0, 12.0, x0)
        cheek = self.cheek * bell(np.hypot(x0 - 37.0, y0 + 30.0), 15.0)
        slim = 1.0 + (self.neck - 1.0) * bell(y0 + 155.0, 42.0) * step(50.0, 30.0, z)
        return x0, y0, (z - ahead * (brow + chin + cheek) + 30.0) / slim - 30.0

    def actual(self, x0: float, y0: float, z: float = 80.0) -> tuple[float, float]:
        """Sideways place and height of a canonical point of the face's front."""
        y = float(self._heights[0](y0))
        return x0 * float(self._breadth(np.array([y0]), np.array([z]))[0]), y

    @cached_property
    def eye(self) -> Eye:
        """The eye at its place in this head."""
        middle = Eye()
        x, y = self.actual(middle.centre[0], middle.centre[1], 70.0)
        xi, yi = middle.inner
        xo, yo = middle.outer
        return Eye(
            centre=(round(x, 4), round(y, 4), middle.centre[2]),
            inner=(xi, yi - 0.3 * self.eye_tilt),
            outer=(xo, yo + 0.7 * self.eye_tilt),
            upper=middle.upper * self.eye_opening,
            lower=middle.lower * (0.5 + 0.5 * self.eye_opening),
            fold_depth=self.fold**0.5,
        )
