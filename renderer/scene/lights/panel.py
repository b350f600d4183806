"""A panel: a flat rectangle that lights one way (soft box, light-emitting panel, strip), with an egg crate
or without."""

from __future__ import annotations

import math
from typing import Literal

from pydantic import Field

from renderer.scene.field import Degrees, Size
from renderer.scene.lights.crate import Crated
from renderer.scene.parts import Part, Rectangle
from renderer.scene.place import LightPlace
from renderer.scene.vector import scale


class PanelLight(Crated):
    """A rectangle of light turned to its aim; the back is housing."""

    source: Literal["panel"] = Field(description="the kind of light")
    width: Size = Field(description="metres")
    height: Size = Field(description="metres; upright as far as the tilt allows")
    roll: Degrees = Field(default=0.0, description="degrees; turns it in its own plane")

    def open_area(self) -> float:
        return self.width * self.height

    def factor_at_1m(self) -> float:
        """On the axis: four corner pieces a x b with X = a, Y = b at distance 1, F = 4 / (2 pi) {X / sqrt(1 +
        X^2) atan[Y / sqrt(1 + X^2)] + Y / sqrt(1 + Y^2) atan[X / sqrt(1 + Y^2)]} (Siegel and Howell)."""
        x, y = self.width / 2, self.height / 2
        root_x, root_y = math.hypot(1.0, x), math.hypot(1.0, y)
        return 2 / math.pi * (x / root_x * math.atan(y / root_x) + y / root_y * math.atan(x / root_y))

    def parts(self, place: LightPlace) -> list[Part]:
        u, v, normal = place.face_axes(self.roll)
        face = Rectangle(place.centre, scale(u, self.width / 2), scale(v, self.height / 2), normal)
        return [self.face(face)]
