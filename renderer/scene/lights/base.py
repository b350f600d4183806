"""What every light has: a place, a purpose, a dimmer, a colour and a level.

A new light is one file beside this one with a subclass of `Lamp`, and one entry in the table of
`renderer.scene.lights`.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Annotated, ClassVar, Literal

from pydantic import Field, PrivateAttr

from renderer.scene.field import RED_GREEN_BLUE, Kelvin, Problem, Quantity, Reflectance, Several, Share, plain
from renderer.scene.gel import GEL_MEANING, Gels, stacked
from renderer.scene.parts import RGB, Part, Shape, Vec3
from renderer.scene.place import LightPlace
from renderer.scene.standing import Standing
from renderer.scene.white import DUV_MEANING, LOCUS_MEANING, Duv, Locus, White

Purpose = Literal["key", "fill", "back", "edge", "background", "practical"]
LEVELS = ("lumens", "lux_at_1m", "luminance")


class Lamp(Standing):
    """A light whose open faces have one even luminance (Lambertian)."""

    levels: ClassVar[tuple[str, ...]] = LEVELS
    """The keys of which one says how much light it gives."""

    source: str
    purpose: Purpose = Field(default="key", description="what it does in the picture")
    dim: Share = Field(default=1.0, description="dimmer, 0 to 1")
    cct: Kelvin = Field(default=5600.0, description="kelvin; colour temperature")
    locus: Locus | None = Field(default=None, description=LOCUS_MEANING)
    duv: Duv | None = Field(default=None, description=DUV_MEANING)
    colour: Annotated[RGB, Several(Quantity("a factor", 0.0, 10.0), RED_GREEN_BLUE)] = Field(
        default=(1.0, 1.0, 1.0), description="[r, g, b], linear factors of a gel"
    )
    gel: Gels = Field(default=(), description=GEL_MEANING)
    lumens: Annotated[float, Quantity("lumens", 0.0, 1e7, above=True)] | None = Field(
        default=None, description="lumens from all open faces at full dimmer; this, lux_at_1m or luminance"
    )
    lux_at_1m: Annotated[float, Quantity("lux", 0.0, 1e7, above=True)] | None = Field(
        default=None,
        description="lux on a meter facing it 1 m away at full dimmer; this, lumens or luminance",
    )
    luminance: Annotated[float, Quantity("cd/m2", 0.0, 1e9, above=True)] | None = Field(
        default=None, description="cd/m2 of the open faces at full dimmer; this, lumens or lux_at_1m"
    )
    watts: Annotated[float, Quantity("watts", 0.0, 20000.0, above=True)] | None = Field(
        default=None, description="watts that it draws at full dimmer"
    )
    circuit: str | None = Field(default=None, description="the circuit it is plugged into, by name")
    face_reflectance: Reflectance = Field(
        default=(0.5, 0.5, 0.5),
        description="reflectance of the open faces (diffusing fabric), 0 to 1, or [r, g, b]",
    )
    housing_reflectance: Reflectance = Field(
        default=(0.05, 0.05, 0.05),
        description="reflectance of its back and closed faces, 0 to 1, or [r, g, b]",
    )
    _folder: Path | None = PrivateAttr(None)

    def settle(self, folder: Path | None) -> None:
        """Say where the relative paths of files that it names start; None for the working folder."""
        self._folder = folder

    def file_problems(self) -> Iterator[Problem]:
        """What is wrong with the files that it names."""
        return iter(())

    def open_area(self) -> float:
        """Area [m2] of the faces that send out light, before any skirt."""
        raise NotImplementedError

    def factor_at_1m(self) -> float:
        """Configuration factor F to a small flat meter that faces it 1 m away: E = pi L F."""
        raise NotImplementedError

    def parts(self, place: LightPlace) -> list[Part]:
        """What it is made of, in the world, at full dimmer and neutral colour."""
        raise NotImplementedError

    def shapes(self, place: LightPlace) -> list[Shape]:
        """The shapes of its parts: all that the check of what fits where needs."""
        return [part.shape for part in self.parts(place)]

    def figures(self) -> Iterator[tuple[str, str]]:
        """What else is to be said of its light at full dimmer: a label and a text each."""
        return iter(())

    def remarks(self, place: LightPlace) -> Iterator[str]:
        """What a person should look at twice."""
        return iter(())

    def contains(self, place: LightPlace, point: Vec3) -> bool:
        """Whether a world point is inside its body."""
        return False

    def face_luminance(self) -> float:
        """Luminance L [cd/m2] of the open faces at full dimmer.

        lumens     L = flux / (pi area): Lambertian faces, all open ones alike. A skirt comes on top and
                   absorbs: it does not brighten what is left open.
        lux_at_1m  L = E / (pi F)
        """
        if self.luminance is not None:
            return self.luminance
        if self.lumens is not None:
            return self.lumens / (math.pi * self.open_area())
        return (self.lux_at_1m or 0.0) / (math.pi * self.factor_at_1m())

    def flux(self) -> float:
        """Lumens leaving the open faces at full dimmer, before any skirt: pi L area."""
        return math.pi * self.face_luminance() * self.open_area()

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        yield from super().key_problems(given)
        levels, each = [key for key in cls.levels if key in given], ", ".join(cls.levels)
        if not levels and cls.needs_level(given):
            yield (), f"has no level: expected one of {each}"
        for extra in levels[1:]:
            yield (extra,), f"a second level beside {levels[0]}: expected exactly one of {each}"

    @classmethod
    def needs_level(cls, given: Collection[str]) -> bool:
        """Whether something has to say how much light it gives."""
        return True

    def problems(self) -> Iterator[Problem]:
        if max(self.colour) <= 0:
            yield ("colour",), "expected at least one factor above 0; got [0, 0, 0], which passes nothing"
        yield from self.white().problems()

    def white(self) -> White:
        """Its colour, gels included."""
        return White(self.cct, self.locus, self.duv, self.colour, stacked(self.gel))

    def _reach_problem(self, radius: float) -> Iterator[Problem]:
        """A meter 1 m from the axis or centre has to be outside the light."""
        if self.lux_at_1m is not None and radius >= 1.0:
            yield (
                ("lux_at_1m",),
                f"1 m from its middle is inside it (radius {plain(radius)} metres); use lumens or luminance",
            )
