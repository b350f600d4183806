"""A fabric cylinder (drum, lantern): light from its side and its ends, with skirts where it must not go."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from typing import ClassVar, Literal

from pydantic import Field

from renderer.enclosure.fabric import Wall
from renderer.scene.field import Direction, Problem, Share, Size, plain
from renderer.scene.lights.enclosed import Enclosed
from renderer.scene.lights.inside import FLATTEST, TALLEST, Cloth, InnerLamp
from renderer.scene.lights.skirt import Patch, Skirt, drop_patches, radians, side_patches
from renderer.scene.parts import RGB, Disc, Part, Shape, Tube, Vec3
from renderer.scene.place import LightPlace
from renderer.scene.vector import add, dot, scale, subtract
from renderer.scene.vector import length as norm

Face = Literal["open", "closed"]
MOST_SKIRTS = 12
"""Their edges cut the side into patches, so the work grows with the square of their number."""
PLAIN_FACE: RGB = (0.5, 0.5, 0.5)


class CylinderLight(Enclosed):
    """A cylinder of fabric; bottom is the end that `axis` points away from.

    Without a lamp it is lit evenly from within: the open faces share one luminance, and a skirt absorbs
    what would have left through it (`skirted_flux`, less what an inner face of a drop takes). With a lamp
    the luminance of every face, and how it varies over it, follow from what lamp, fabric and skirts send
    to and fro inside. What is left out then: light that comes in from the room, or is sent back in by a
    drop, and the body of the lamp.
    """

    inner: ClassVar[str] = "lamp"
    inner_needed: ClassVar[bool] = False

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
    lamp: InnerLamp | None = Field(
        default=None, description="the lamp inside, { lumens, beam, at, points }; in place of a level"
    )
    fabric: Cloth | None = Field(
        default=None, description="of the open faces, { transmittance, reflectance }; with a lamp"
    )
    bottom_fabric: Cloth | None = Field(
        default=None, description="of the bottom, where it is another; { transmittance, reflectance }"
    )
    plate_reflectance: Share = Field(
        default=0.8, description="of the inside of closed faces, 0 to 1; counts with a lamp"
    )

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        yield from super().key_problems(given)
        if "lamp" in given and "fabric" not in given:
            yield (), "its lamp needs fabric round it: expected fabric = { transmittance, reflectance }"
        for key in ("fabric", "bottom_fabric"):
            if key in given and "lamp" not in given:
                yield (), f"its {key} counts only with a lamp: expected lamp = {{ lumens, beam, at, points }}"

    def side_area(self) -> float:
        """Area of the whole side [m2]."""
        return math.pi * self.diameter * self.length

    def end_area(self) -> float:
        """Area of one end [m2]."""
        return math.pi * (self.diameter / 2) ** 2

    def open_area(self) -> float:
        ends = (self.bottom == "open") + (self.top == "open")
        return self.side_area() * (self.side == "open") + self.end_area() * ends

    def flux(self) -> float:
        """Lumens that leave the open faces at full dimmer: before skirts, but past them with a lamp."""
        if self.lamp is None:
            return super().flux()
        from renderer.scene.lights.lit_cylinder import glow_of

        return glow_of(self).emitted()

    def face_luminance(self) -> float:
        """Of the open faces [cd/m2] at full dimmer; with a lamp the mean of the brightest of them."""
        if self.lamp is None:
            return super().face_luminance()
        from renderer.scene.lights.lit_cylinder import glow_of

        glow = glow_of(self)
        return max(glow.mean_luminance("side"), glow.mean_luminance("bottom"), glow.mean_luminance("top"))

    def skirted_flux(self) -> float:
        """Lumens that leave the open faces past the skirts that lie on the side."""
        if self.side == "closed" or self.lamp is not None:
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
        if len(self.skirt) > MOST_SKIRTS:
            yield ("skirt",), f"expected at most {MOST_SKIRTS} skirts; got {len(self.skirt)}"
        for i, skirt in enumerate(self.skirt):
            yield from ((("skirt", i, *path), text) for path, text in skirt.height_problems(self.length))
        if self.lamp is not None:
            yield from self._lamp_problems(self.lamp)

    def _lamp_problems(self, lamp: InnerLamp) -> Iterator[Problem]:
        misplaced = lamp.place_problem(self.length)
        if misplaced:
            yield ("lamp", "at"), misplaced
        radius = self.diameter / 2
        if not FLATTEST * radius <= self.length <= TALLEST * radius:
            span = f"{plain(FLATTEST * radius)} to {plain(TALLEST * radius)} metres at this diameter"
            yield ("length",), f"expected {span}, with a lamp; got {plain(self.length)}"
        if self.face_reflectance != PLAIN_FACE:
            yield ("face_reflectance",), "with a lamp its faces are fabric: expected fabric.reflectance alone"

    def contains(self, place: LightPlace, point: Vec3) -> bool:
        away = subtract(point, place.centre)
        along = dot(away, self.axis)
        return (
            abs(along) < self.length / 2 and norm(subtract(away, scale(self.axis, along))) < self.diameter / 2
        )

    def parts(self, place: LightPlace) -> list[Part]:
        """Ends, patches of the side and drops; no two of them overlap. Raises InputError."""
        return [*self._ends(place), *self._side(place), *self._drops(place)]

    def shapes(self, place: LightPlace) -> list[Shape]:
        patches = [*side_patches(self.skirt, self.length), *drop_patches(self.skirt)]
        return [*(disc for disc, _ in self._discs(place)), *(self._tube(place, patch) for patch in patches)]

    def _discs(self, place: LightPlace) -> list[tuple[Disc, Wall]]:
        """The ends; their turn is counted as that of the side."""
        u, v = place.turn_axes(self.axis)
        half, radius = scale(self.axis, self.length / 2), self.diameter / 2
        down = scale(self.axis, -1.0)
        bottom = Disc(subtract(place.centre, half), down, radius, u, v)
        return [(bottom, "bottom"), (Disc(add(place.centre, half), self.axis, radius, u, v), "top")]

    def _tube(self, place: LightPlace, patch: Patch) -> Tube:
        u, v = place.turn_axes(self.axis)
        phi_from, phi_to = radians(patch.turn)
        low, high = (edge - self.length / 2 for edge in patch.height)
        return Tube(place.centre, u, v, self.axis, self.diameter / 2, phi_from, phi_to, low, high)

    def _ends(self, place: LightPlace) -> Iterator[Part]:
        for disc, wall in self._discs(place):
            is_open = (self.bottom if wall == "bottom" else self.top) == "open"
            yield self._open(disc, wall) if is_open else self._closed(disc)

    def _side(self, place: LightPlace) -> Iterator[Part]:
        for patch in side_patches(self.skirt, self.length):
            tube = self._tube(place, patch)
            if patch.skirts:
                yield self._skirt_part(tube, patch)
            else:
                yield self._open(tube, "side", patch) if self.side == "open" else self._closed(tube)

    def _closed(self, shape: Shape) -> Part:
        return Part(shape, 0.0, self.housing_reflectance, self.housing_reflectance)

    def _open(self, shape: Shape, wall: Wall, patch: Patch | None = None) -> Part:
        if self.lamp is None or self.fabric is None:
            return Part(shape, self.face_luminance(), self.face_reflectance, self.face_reflectance)
        from renderer.scene.lights.lit_cylinder import sent

        luminance, glow = sent(self, wall, patch)
        cloth = self.bottom_fabric or self.fabric if wall == "bottom" else self.fabric
        return Part(shape, luminance, (cloth.reflectance,) * 3, (cloth.reflectance,) * 3, glow)

    def _drops(self, place: LightPlace) -> Iterator[Part]:
        for patch in drop_patches(self.skirt):
            yield self._skirt_part(self._tube(place, patch), patch)

    def _skirt_part(self, tube: Tube, patch: Patch) -> Part:
        outer: RGB = self.skirt[patch.skirts[-1]].reflectance
        inner: RGB = self.skirt[patch.skirts[0]].inside_reflectance
        return Part(tube, 0.0, outer, inner)

    def figures(self) -> Iterator[tuple[str, str]]:
        yield from super().figures()
        if self.lamp is not None:
            from renderer.scene.lights import lit_cylinder

            yield from lit_cylinder.figures(self)
