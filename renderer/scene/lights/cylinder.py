"""A fabric cylinder (drum, lantern): light from its side and its ends, with skirts where it must not go."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from pydantic import Field

from renderer.scene.field import Direction, Problem, Size
from renderer.scene.lights.base import Lamp
from renderer.scene.lights.skirt import Patch, Skirt, drop_patches, radians, side_patches
from renderer.scene.parts import RGB, Disc, Part, Tube, Vec3
from renderer.scene.place import LightPlace
from renderer.scene.vector import add, dot, scale, subtract
from renderer.scene.vector import length as norm

Face = Literal["open", "closed"]


class CylinderLight(Lamp):
    """A cylinder of fabric, lit evenly from within; bottom is the end that `axis` points away from.

    The open faces share one luminance. Skirts absorb what would have left through them: the flux of a
    skirted cylinder is `skirted_flux`, less what an inner face of a drop takes.
    """

    source: Literal["cylinder"] = Field(description="the kind of light")
    diameter: Size = Field(description="metres")
    length: Size = Field(description="metres along the axis")
    axis: Direction = Field(
        default=(0.0, 0.0, 1.0), description="direction [x, y, z] from the lower end to the upper"
    )
    side: Face = Field(default="open", description="open (fabric) or closed")
    bottom: Face = Field(default="open", description="open (fabric) or closed")
    top: Face = Field(default="closed", description="open (fabric) or closed")
    skirt: list[Skirt] = Field(default=[], description="skirts, inner first")

    def side_area(self) -> float:
        """Area of the whole side [m2]."""
        return math.pi * self.diameter * self.length

    def end_area(self) -> float:
        """Area of one end [m2]."""
        return math.pi * (self.diameter / 2) ** 2

    def open_area(self) -> float:
        ends = (self.bottom == "open") + (self.top == "open")
        return self.side_area() * (self.side == "open") + self.end_area() * ends

    def skirted_flux(self) -> float:
        """Lumens that leave the open faces past the skirts that lie on the side."""
        if self.side == "closed":
            return self.flux()
        radius = self.diameter / 2
        hidden = sum(
            radius * math.radians(patch.turn[1] - patch.turn[0]) * (patch.height[1] - patch.height[0])
            for patch in side_patches(self.skirt, self.length)
            if patch.skirts
        )
        return self.flux() - math.pi * self.face_luminance() * hidden

    def factor_at_1m(self) -> float:
        """Of the side, without skirts, at mid height 1 m from the axis: 2 F_V of half the length.

        F_V, a plane element facing the axis at the level of the foot, with L = l / R, H = 1 / R
        (Howell, catalogue of configuration factors, B; in fire engineering Mudan 1984).
        """
        radius = self.diameter / 2
        half, h = self.length / 2 / radius, 1.0 / radius
        x, y = (1 + h) ** 2 + half**2, (1 - h) ** 2 + half**2
        first = math.atan(half / math.sqrt(h * h - 1)) / (math.pi * h)
        inner = (x - 2 * h) / (h * math.sqrt(x * y)) * math.atan(math.sqrt(x * (h - 1) / (y * (h + 1))))
        outer = math.atan(math.sqrt((h - 1) / (h + 1))) / h
        return 2 * (first + half / math.pi * (inner - outer))

    def problems(self) -> Iterator[Problem]:
        yield from super().problems()
        if self.open_area() <= 0:
            yield (), 'side, bottom and top are all closed: expected at least one of them "open"'
        elif self.lux_at_1m is not None and self.side == "closed":
            yield ("lux_at_1m",), "is measured off the side, which is closed: use lumens or luminance"
        else:
            yield from self._reach_problem(self.diameter / 2)
        for i, skirt in enumerate(self.skirt):
            yield from ((("skirt", i, *path), text) for path, text in skirt.height_problems(self.length))

    def contains(self, place: LightPlace, point: Vec3) -> bool:
        away = subtract(point, place.centre)
        along = dot(away, self.axis)
        return (
            abs(along) < self.length / 2 and norm(subtract(away, scale(self.axis, along))) < self.diameter / 2
        )

    def parts(self, place: LightPlace) -> list[Part]:
        """Ends, patches of the side and drops; no two of them overlap."""
        half = self.length / 2
        bottom = self._end(place, -half, scale(self.axis, -1.0), self.bottom)
        top = self._end(place, half, self.axis, self.top)
        side = [self._patch(place, patch) for patch in side_patches(self.skirt, self.length)]
        return [bottom, top, *side, *(self._patch(place, patch) for patch in drop_patches(self.skirt))]

    def _end(self, place: LightPlace, along: float, normal: Vec3, face: Face) -> Part:
        disc = Disc(add(place.centre, scale(self.axis, along)), normal, self.diameter / 2)
        return self._part(disc, face == "open")

    def _part(self, shape: Disc | Tube, is_open: bool) -> Part:
        if is_open:
            return Part(shape, self.face_luminance(), self.face_reflectance, self.face_reflectance)
        return Part(shape, 0.0, self.housing_reflectance, self.housing_reflectance)

    def _patch(self, place: LightPlace, patch: Patch) -> Part:
        u, v = place.turn_axes(self.axis)
        phi_from, phi_to = radians(patch.turn)
        low, high = (edge - self.length / 2 for edge in patch.height)
        tube = Tube(place.centre, u, v, self.axis, self.diameter / 2, phi_from, phi_to, low, high)
        if not patch.skirts:
            return self._part(tube, self.side == "open")
        outer: RGB = self.skirt[patch.skirts[-1]].reflectance
        inner: RGB = self.skirt[patch.skirts[0]].inside_reflectance
        return Part(tube, 0.0, outer, inner)
