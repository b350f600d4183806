"""What lights, cards and flags share: a place, given in one of two ways, and something they face."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from typing import Annotated

from pydantic import Field

from renderer.scene import place
from renderer.scene.camera import Camera
from renderer.scene.field import CENTIMETRES, COORDINATE, MILLIMETRES, Point, Problem, Quantity, Table
from renderer.scene.parts import Vec3
from renderer.scene.place import LightPlace
from renderer.scene.sitter import Sitter

CIRCLE = ("elevation", "radius")
"""Keys of a place on a circle about the eyes; the other way to say it is UPRIGHT."""
UPRIGHT = ("distance", "height")


class Around(Table):
    """A place round the sitter: by distance over the floor and height, or on a circle about the eyes."""

    azimuth: Annotated[float, Quantity("degrees", -360.0, 360.0)] = Field(
        description="degrees from the line sitter to camera, positive to camera right"
    )
    distance: Annotated[float, Quantity("metres", 0.0, 50.0, slips=(CENTIMETRES, MILLIMETRES))] | None = (
        Field(
            default=None,
            description="metres, horizontal, from the line through the midpoint of the pupils to the centre;"
            " with height",
        )
    )
    height: Annotated[float, COORDINATE] | None = Field(
        default=None, description="metres from the floor to the centre; with distance"
    )
    elevation: Annotated[float, Quantity("degrees", -90.0, 90.0)] | None = Field(
        default=None,
        description="degrees over the level of the eyes, 90 straight overhead; with radius, instead of"
        " distance and height",
    )
    radius: Annotated[float, Quantity("metres", 0.0, 50.0, slips=(CENTIMETRES, MILLIMETRES))] | None = Field(
        default=None,
        description="metres from the midpoint of the pupils to the centre; with elevation",
    )

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        circle, upright = ([key for key in keys if key in given] for keys in (CIRCLE, UPRIGHT))
        if circle and upright:
            text = f"its place is given twice: expected {' and '.join(UPRIGHT)} or {' and '.join(CIRCLE)}"
            yield (circle[0],), f"{text}, not {upright[0]} with {circle[0]}"
        elif circle or len(upright) < len(UPRIGHT):
            for key in CIRCLE if circle else UPRIGHT:
                if key not in given:
                    yield (key,), f"missing key; expected {cls.model_fields[key].description}"

    def centre(self, sitter: Sitter, camera: Camera) -> Vec3:
        """The world point that it names [m]."""
        if self.elevation is not None and self.radius is not None:
            angle = math.radians(self.elevation)
            distance, up = self.radius * math.cos(angle), self.radius * math.sin(angle)
            return place.around(camera, self.azimuth, distance, sitter.eye_height + up)
        if self.distance is None or self.height is None:
            raise ValueError("a place round the sitter that is not whole passed validation")
        return place.around(camera, self.azimuth, self.distance, self.height)


class Standing(Table):
    """Something that stands (or hangs) in the scene."""

    at: Point | None = Field(default=None, description="[x, y, z] of the centre, metres; this or around")
    around: Around | None = Field(default=None, description="place round the sitter; this or at")
    aim: Point | None = Field(
        default=None, description="[x, y, z] it is turned to, metres; the nose unless given"
    )

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        if "at" not in given and "around" not in given:
            yield (), "has no place: expected at = [x, y, z] or around = { azimuth, distance, height }"
        elif "at" in given and "around" in given:
            yield ("around",), "its place is given twice: expected either at or around, not both"

    def centre(self, sitter: Sitter, camera: Camera) -> Vec3:
        """World place of its centre [m]."""
        if self.at is not None:
            return self.at
        if self.around is None:
            raise ValueError("a thing without a place passed validation")
        return self.around.centre(sitter, camera)

    def placed(self, sitter: Sitter, camera: Camera) -> LightPlace:
        """Its place in the world, turned to `aim` or else to the nose."""
        aim = self.aim if self.aim is not None else place.nose(sitter, camera)
        return LightPlace(self.centre(sitter, camera), aim, place.towards_camera(camera))
