"""A fabric cylinder (drum, lantern): light from its side and its ends, with skirts where it must not go."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import replace
from typing import ClassVar, Literal

from pydantic import Field

from renderer.enclosure.fabric import WALLS, Fabric, Sleeve, Wall, fate
from renderer.scene.field import Direction, Problem, Share, Size, plain
from renderer.scene.lights.enclosed import Enclosed
from renderer.scene.lights.inside import FLATTEST, TALLEST, Cloth, InnerLamp
from renderer.scene.lights.skirt import Patch, Skirt, drop_patches, radians, side_patches
from renderer.scene.parts import RGB, Disc, Part, Shape, Sphere, Tube, Vec3, Weave
from renderer.scene.place import LightPlace
from renderer.scene.skin import luminance
from renderer.scene.vector import add, dot, scale, subtract
from renderer.scene.vector import length as norm

Face = Literal["open", "closed"]
End = Literal["open", "closed", "none"]
ENDS: tuple[Wall, Wall] = ("bottom", "top")
MOST_SKIRTS = 12
"""Their edges cut the side into patches, so the work grows with the square of their number."""
PLAIN_FACE: RGB = (0.5, 0.5, 0.5)
WHITE: RGB = (1.0, 1.0, 1.0)
"""Of the lamp where it is seen: it takes no light, as in the balance."""
OFF_THE_END = 1e-3
"""Metres that the disc of a lamp stands before its place, which may be in the plane of an end."""


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
    bottom: End = Field(default="open", description="open (fabric), closed, or none: nothing there at all")
    top: End = Field(default="closed", description="open (fabric), closed, or none: nothing there at all")
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
    top_fabric: Cloth | None = Field(
        default=None, description="of the top, where it is another; { transmittance, reflectance }"
    )
    plate_reflectance: Share = Field(
        default=0.8, description="of the inside of closed faces, 0 to 1; counts with a lamp"
    )

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        yield from super().key_problems(given)
        if "lamp" in given and "fabric" not in given:
            yield (), "its lamp needs fabric round it: expected fabric = { transmittance, reflectance }"
        for key in ("fabric", "bottom_fabric", "top_fabric"):
            if key in given and "lamp" not in given:
                yield (), f"its {key} counts only with a lamp: expected lamp = {{ lumens, beam, at, points }}"

    def side_area(self) -> float:
        """Area of the whole side [m2]."""
        return math.pi * self.diameter * self.length

    def end_area(self) -> float:
        """Area of one end [m2]."""
        return math.pi * (self.diameter / 2) ** 2

    def open_area(self) -> float:
        ends = (self.bottom != "closed") + (self.top != "closed")
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
        walls: list[Wall] = ["side", *(end for end in ENDS if self.end(end) != "none")]
        return max(glow.mean_luminance(wall) for wall in walls)

    def end(self, wall: Wall) -> End:
        """What an end is."""
        return self.bottom if wall == "bottom" else self.top

    def cloth(self, wall: Wall) -> Cloth | None:
        """The fabric of a wall that is open."""
        own = {"bottom": self.bottom_fabric, "top": self.top_fabric}.get(wall)
        return own or self.fabric

    @property
    def shows_lamp(self) -> bool:
        """Whether the lamp and the inside are seen, past an end or through fabric."""
        weaves = any(cloth and cloth.straight for cloth in (self.fabric, self.bottom_fabric, self.top_fabric))
        return self.lamp is not None and (weaves or "none" in (self.bottom, self.top))

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
        for end in ENDS:
            if self.end(end) == "none" and self.lamp is None:
                text = "shows what is inside: expected lamp = { lumens, beam, at, points }"
                yield (end,), text
            if self.end(end) != "open" and getattr(self, f"{end}_fabric") is not None:
                yield (f"{end}_fabric",), f'the {end} has no fabric: expected {end} = "open"'
        if self.lamp is not None:
            yield from self._lamp_problems(self.lamp)
            if self.shows_lamp:
                seen = self.lamp.seen_problems(self.diameter, self.length)
                yield from ((("lamp", *path), text) for path, text in seen)

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
        return [*self._ends(place), *self._side(place), *self._drops(place), *self._lamp_seen(place)]

    def shapes(self, place: LightPlace) -> list[Shape]:
        patches = [*side_patches(self.skirt, self.length), *drop_patches(self.skirt)]
        inside = [self._bulb(place)] if self.shows_lamp else []
        discs: list[Shape] = [disc for disc, _ in self._discs(place)]
        return [*discs, *(self._tube(place, patch) for patch in patches), *inside]

    def _discs(self, place: LightPlace) -> list[tuple[Disc, Wall]]:
        """The ends; their turn is counted as that of the side."""
        u, v = place.turn_axes(self.axis)
        half, radius = scale(self.axis, self.length / 2), self.diameter / 2
        down = scale(self.axis, -1.0)
        bottom = Disc(subtract(place.centre, half), down, radius, u, v)
        ends: list[tuple[Disc, Wall]] = [(bottom, "bottom")]
        ends.append((Disc(add(place.centre, half), self.axis, radius, u, v), "top"))
        return [end for end in ends if self.end(end[1]) != "none"]

    def _tube(self, place: LightPlace, patch: Patch) -> Tube:
        u, v = place.turn_axes(self.axis)
        phi_from, phi_to = radians(patch.turn)
        low, high = (edge - self.length / 2 for edge in patch.height)
        return Tube(place.centre, u, v, self.axis, self.diameter / 2, phi_from, phi_to, low, high)

    def _ends(self, place: LightPlace) -> Iterator[Part]:
        for disc, wall in self._discs(place):
            yield self._open(disc, wall) if self.end(wall) == "open" else self._closed(disc)

    def _side(self, place: LightPlace) -> Iterator[Part]:
        for patch in side_patches(self.skirt, self.length):
            tube = self._tube(place, patch)
            if patch.skirts:
                part = self._skirt_part(tube, patch)
                yield replace(part, back_reflectance=self._inside(patch)) if self.lamp is not None else part
            else:
                yield self._open(tube, "side", patch) if self.side == "open" else self._closed(tube)

    def _closed(self, shape: Shape) -> Part:
        inside = self.housing_reflectance if self.lamp is None else (self.plate_reflectance,) * 3
        return Part(shape, 0.0, self.housing_reflectance, inside)

    def _open(self, shape: Shape, wall: Wall, patch: Patch | None = None) -> Part:
        if self.lamp is None or self.fabric is None:
            return Part(shape, self.face_luminance(), self.face_reflectance, self.face_reflectance)
        from renderer.scene.lights.lit_cylinder import sent

        level, glow = sent(self, wall, patch)
        cloth = self.cloth(wall) or self.fabric
        if not cloth.weave:
            return Part(shape, level, (cloth.reflectance,) * 3, (cloth.reflectance,) * 3, glow)
        met = 1.0 - cloth.weave  # of the rays; what the cloth scatters is seen by these alone
        back: RGB = (cloth.reflectance / met,) * 3
        scattered = level * (1.0 - cloth.straight) / met
        weave = Weave(cloth.weave, WALLS.index(wall))
        return Part(shape, scattered, back, back, glow, weave=weave)

    def _bulb(self, place: LightPlace) -> Shape:
        """The lamp as it is seen."""
        if self.lamp is None:
            raise ValueError("a cylinder without a lamp shows none")
        u, v = place.turn_axes(self.axis)
        way = scale(self.axis, -1.0 if self.lamp.points == "down" else 1.0)
        at = add(place.centre, scale(self.axis, self.lamp.at - self.length / 2))
        if self.lamp.is_bare:
            return Sphere(at, self.lamp.diameter / 2)
        return Disc(add(at, scale(way, OFF_THE_END)), way, self.lamp.diameter / 2, u, v)

    def _lamp_seen(self, place: LightPlace) -> Iterator[Part]:
        if self.shows_lamp:
            from renderer.scene.lights.lit_cylinder import lamp_sent

            level, beam = lamp_sent(self)
            yield Part(self._bulb(place), level, WHITE, WHITE, beam=beam)

    def _drops(self, place: LightPlace) -> Iterator[Part]:
        for patch in drop_patches(self.skirt):
            yield self._skirt_part(self._tube(place, patch), patch)

    def _inside(self, patch: Patch) -> RGB:
        """Reflectance, from inside, of the side with a skirt over it."""
        lining = luminance(self.skirt[patch.skirts[0]].inside_reflectance)
        wall = Fabric(0.0, self.plate_reflectance)
        if self.side == "open" and self.fabric is not None:
            wall = Fabric(self.fabric.transmittance, self.fabric.reflectance)
        return (fate(wall, Sleeve(lining)).returned,) * 3

    def _skirt_part(self, tube: Tube, patch: Patch) -> Part:
        outer: RGB = self.skirt[patch.skirts[-1]].reflectance
        inner: RGB = self.skirt[patch.skirts[0]].inside_reflectance
        return Part(tube, 0.0, outer, inner)

    def figures(self) -> Iterator[tuple[str, str]]:
        yield from super().figures()
        if self.lamp is not None:
            from renderer.scene.lights import lit_cylinder

            yield from lit_cylinder.figures(self)
