"""The room: a box with six reflectances, and the windows in its walls."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from renderer.scene.field import (
    CENTIMETRES,
    COORDINATE,
    MILLIMETRES,
    Kelvin,
    Length,
    Problem,
    Quantity,
    Reflectance,
    Several,
    Share,
    Size,
    Table,
    plain,
)
from renderer.scene.found import FoundLight
from renderer.scene.gel import GEL_MEANING, Gels, stacked
from renderer.scene.name import LightName
from renderer.scene.parts import RGB, Part, Rectangle, Vec3
from renderer.scene.white import DUV_MEANING, LOCUS_MEANING, Duv, Locus, White

Wall = Literal["back", "front", "camera_left", "camera_right"]
RoomSize = Annotated[float, Quantity("metres", 0.5, 50.0, slips=(CENTIMETRES, MILLIMETRES))]
PROUD = 0.001
"""How far a pane stands before its wall [m], so that a ray meets it first."""
GLASS: RGB = (0.08, 0.08, 0.08)
"""Reflectance of a clear pane; tables for building materials give 0.06 to 0.08."""


class Surfaces(Table):
    """Reflectance of each surface of the room: a number or [r, g, b], linear, 0 to 1."""

    floor: Reflectance = Field(
        default=(0.2, 0.2, 0.2), description="reflectance of the floor, 0 to 1, or [r, g, b]"
    )
    ceiling: Reflectance = Field(
        default=(0.7, 0.7, 0.7), description="reflectance of the ceiling, 0 to 1, or [r, g, b]"
    )
    back: Reflectance = Field(
        default=(0.6, 0.6, 0.6), description="the wall behind the sitter, 0 to 1, or [r, g, b]"
    )
    front: Reflectance = Field(
        default=(0.6, 0.6, 0.6), description="the wall behind the camera, 0 to 1, or [r, g, b]"
    )
    camera_left: Reflectance = Field(
        default=(0.6, 0.6, 0.6), description="the wall to camera left, 0 to 1, or [r, g, b]"
    )
    camera_right: Reflectance = Field(
        default=(0.6, 0.6, 0.6), description="the wall to camera right, 0 to 1, or [r, g, b]"
    )


class Window(Table):
    """A window: a pane that sends light evenly into the room (Lambertian).

    Its luminance is transmittance x lux / pi: the vertical illuminance on the pane from outside,
    passed on fully diffused. A view with sun or a bright sky patch is not modelled.
    """

    wall: Wall = Field(description="the wall it is in: back, front, camera_left or camera_right")
    centre: Annotated[tuple[float, float], Several(COORDINATE, ("along", "height"))] = Field(
        description="[along, height] of its middle, metres; along is x (back, front) or y (side walls)"
    )
    width: Size = Field(description="metres")
    height: Size = Field(description="metres")
    lux: Annotated[float, Quantity("lux", 0.0, 2e5)] = Field(
        description="lux; vertical illuminance on the pane from outside"
    )
    transmittance: Share = Field(
        default=0.8, description="share of the light passed by glass and curtain, 0 to 1"
    )
    cct: Kelvin = Field(default=6500.0, description="kelvin; colour temperature")
    locus: Locus | None = Field(default=None, description=LOCUS_MEANING)
    duv: Duv | None = Field(default=None, description=DUV_MEANING)
    gel: Gels = Field(default=(), description=GEL_MEANING)
    dim: Share = Field(default=1.0, description="dimmer, 0 to 1")
    purpose: Literal["key", "fill", "back", "edge", "background", "practical"] = Field(
        default="fill", description="what it does in the picture"
    )

    def problems(self) -> Iterator[Problem]:
        yield from self.white().problems()

    def white(self) -> White:
        """Its colour, gels included; it has no factors of its own."""
        return White(self.cct, self.locus, self.duv, gel=stacked(self.gel))

    def face_luminance(self) -> float:
        """cd/m2 of the pane, undimmed."""
        return self.transmittance * self.lux / math.pi

    def flux(self) -> float:
        """Lumens that enter the room, undimmed."""
        return math.pi * self.face_luminance() * self.width * self.height

    def parts(self, room: Room) -> list[Part]:
        """The pane, facing into the room."""
        low, high = room.lower, room.upper
        along, height = self.centre
        half_height: Vec3 = (0.0, 0.0, self.height / 2)
        if self.wall in ("back", "front"):
            y, inward = (low[1] + PROUD, 1.0) if self.wall == "back" else (high[1] - PROUD, -1.0)
            pane = Rectangle((along, y, height), (self.width / 2, 0.0, 0.0), half_height, (0.0, inward, 0.0))
        else:
            x, inward = (low[0] + PROUD, 1.0) if self.wall == "camera_left" else (high[0] - PROUD, -1.0)
            pane = Rectangle((x, along, height), (0.0, self.width / 2, 0.0), half_height, (inward, 0.0, 0.0))
        return [Part(pane, self.face_luminance(), GLASS, GLASS)]


class Room(Table):
    """A box round the sitter; walls square to the world's axes."""

    width: RoomSize = Field(description="metres, camera left to camera right (x)")
    depth: RoomSize = Field(description="metres, back wall to front wall (y)")
    height: RoomSize = Field(description="metres, floor to ceiling (z)")
    back_wall: Length = Field(description="metres from the sitter to the wall behind")
    camera_left_wall: Length | None = Field(
        default=None,
        description="metres from the sitter to the wall at camera left; half the width unless given",
    )
    reflectance: Surfaces = Field(default=Surfaces(), description="reflectance of each surface")
    window: dict[LightName, Window] = Field(
        default={}, description="windows by name; each is a light under its own name"
    )
    found: FoundLight | None = Field(
        default=None, description="the room's own light as it was found, off the ceiling"
    )

    @property
    def lower(self) -> Vec3:
        """Corner with the smallest x, y, z: camera left, back, floor."""
        left = self.width / 2 if self.camera_left_wall is None else self.camera_left_wall
        return -left, -self.back_wall, 0.0

    @property
    def upper(self) -> Vec3:
        """Corner with the largest x, y, z: camera right, front, ceiling."""
        low = self.lower
        return low[0] + self.width, low[1] + self.depth, self.height

    def problems(self) -> Iterator[Problem]:
        for key, size, name in (
            ("back_wall", self.depth, "depth"),
            ("camera_left_wall", self.width, "width"),
        ):
            value = getattr(self, key)
            if value is not None and not 0 < value < size:
                valid = f"above 0 and below the {name}, {plain(size)} metres"
                yield (key,), f"the sitter would be outside the room: expected {valid}; got {plain(value)}"
                return
        for name, window in self.window.items():
            yield from ((("window", name, *path), text) for path, text in self._fit(window))

    def _fit(self, window: Window) -> Iterator[Problem]:
        axis = 0 if window.wall in ("back", "front") else 1
        spans = (
            (axis, "along", window.centre[0], window.width),
            (2, "height", window.centre[1], window.height),
        )
        for i, name, centre, size in spans:
            low, high = self.lower[i], self.upper[i]
            if size > high - low:
                key = "width" if i != 2 else "height"
                yield (key,), f"the {window.wall} wall is {plain(high - low)} metres there; got {plain(size)}"
            elif centre - size / 2 < low - 1e-9 or centre + size / 2 > high + 1e-9:
                valid = f"{name} from {plain(low + size / 2)} to {plain(high - size / 2)} metres"
                text = f"the window leaves the {window.wall} wall: expected {valid}; got {plain(centre)}"
                yield ("centre",), text
