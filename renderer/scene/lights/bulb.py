"""A bulb: a sphere that lights all ways."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from pydantic import Field

from renderer.scene.field import Problem, Size
from renderer.scene.lights.base import Lamp
from renderer.scene.parts import Part, Sphere, Vec3
from renderer.scene.place import LightPlace
from renderer.scene.vector import length, subtract


class BulbLight(Lamp):
    """A sphere of light; `aim` changes nothing."""

    source: Literal["bulb"] = Field(description="the kind of light")
    diameter: Size = Field(description="metres")

    def open_area(self) -> float:
        return math.pi * self.diameter**2

    def factor_at_1m(self) -> float:
        """From the centre, F = (R / d)^2 with d = 1 (inverse square, exact for a sphere)."""
        return (self.diameter / 2) ** 2

    def problems(self) -> Iterator[Problem]:
        yield from super().problems()
        yield from self._reach_problem(self.diameter / 2)

    def contains(self, place: LightPlace, point: Vec3) -> bool:
        return length(subtract(point, place.centre)) < self.diameter / 2

    def parts(self, place: LightPlace) -> list[Part]:
        ball = Sphere(place.centre, self.diameter / 2)
        return [Part(ball, self.face_luminance(), self.face_reflectance, self.housing_reflectance)]
