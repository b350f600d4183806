"""What lights, cards and flags share: a place, given in one of two ways, and something they face."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Annotated

from pydantic import Field

from renderer.scene import place
from renderer.scene.camera import Camera
from renderer.scene.field import CENTIMETRES, COORDINATE, MILLIMETRES, Point, Problem, Quantity, Table
from renderer.scene.parts import Vec3
from renderer.scene.place import LightPlace
from renderer.scene.sitter import Sitter


class Around(Table):
    """A place round the sitter."""

    azimuth: Annotated[float, Quantity("degrees", -360.0, 360.0)] = Field(
        description="degrees from the line sitter to camera, positive to camera right"
    )
    distance: Annotated[float, Quantity("metres", 0.0, 50.0, slips=(CENTIMETRES, MILLIMETRES))] = Field(
        description="metres, horizontal, from the line through the midpoint of the pupils to the centre"
    )
    height: Annotated[float, COORDINATE] = Field(description="metres from the floor to the centre")


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

    def centre(self, camera: Camera) -> Vec3:
        """World place of its centre [m]."""
        if self.at is not None:
            return self.at
        if self.around is None:
            raise ValueError("a thing without a place passed validation")
        return place.around(camera, self.around.azimuth, self.around.distance, self.around.height)

    def placed(self, sitter: Sitter, camera: Camera) -> LightPlace:
        """Its place in the world, turned to `aim` or else to the nose."""
        aim = self.aim if self.aim is not None else place.nose(sitter, camera)
        return LightPlace(self.centre(camera), aim, place.towards_camera(camera))
