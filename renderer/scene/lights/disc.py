"""A round diffuser: a flat disc that lights one way, with an egg crate or without."""

from __future__ import annotations

import math
from typing import Literal

from pydantic import Field

from renderer.scene.field import Size
from renderer.scene.lights.crate import Crated
from renderer.scene.parts import Disc, Part
from renderer.scene.place import LightPlace


class DiscLight(Crated):
    """A disc of light turned to its aim; the back is housing."""

    source: Literal["disc"] = Field(description="the kind of light")
    diameter: Size = Field(description="metres")

    def open_area(self) -> float:
        return math.pi * (self.diameter / 2) ** 2

    def factor_at_1m(self) -> float:
        """On the axis, F = R^2 / (R^2 + h^2) with h = 1 (Howell, catalogue of configuration factors, B)."""
        radius = self.diameter / 2
        return radius**2 / (radius**2 + 1.0)

    def parts(self, place: LightPlace) -> list[Part]:
        u, v, normal = place.face_axes()
        disc = Disc(place.centre, normal, self.diameter / 2, u, v)
        return [self.face(disc)]
