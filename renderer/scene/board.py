"""Cards and flags: flat things that send light back, or keep it off."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Annotated, Literal

from pydantic import Field

from renderer.scene.field import Degrees, Problem, Quantity, Reflectance, Size
from renderer.scene.parts import BLACK, RGB, Disc, Part, Rectangle
from renderer.scene.place import LightPlace
from renderer.scene.standing import Standing
from renderer.scene.vector import scale

FINISHES = {"white": 0.85, "silver": 0.85, "black": 0.04}
"""Reflectance of a card's front by its finish; common practice, no source."""
SMOOTH_FOIL = 0.2
"""GGX alpha of silver unless told: between a mirror board and a beaded one; own choice, no source."""


class Board(Standing):
    """A flat rectangle (width, height) or disc (diameter); its front is turned to `aim`."""

    width: Size | None = Field(default=None, description="metres; rectangle")
    height: Size | None = Field(default=None, description="metres; rectangle")
    diameter: Size | None = Field(default=None, description="metres; disc")
    roll: Degrees = Field(default=0.0, description="degrees; turns a rectangle in its own plane")
    reflectance: Reflectance | None
    back_reflectance: Reflectance

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        yield from super().key_problems(given)
        sizes = [key for key in ("width", "height", "diameter") if key in given]
        if sizes not in (["diameter"], ["width", "height"]):
            found = " and ".join(sizes) if sizes else "none of them"
            yield (), f"its size is unclear: expected width and height, or diameter alone; got {found}"

    def parts(self, place: LightPlace) -> list[Part]:
        """The board in the world; it sends out nothing of its own."""
        u, v, normal = place.face_axes(self.roll)
        shape: Disc | Rectangle
        if self.diameter is not None:
            shape = Disc(place.centre, normal, self.diameter / 2)
        else:
            half_u, half_v = scale(u, (self.width or 0.0) / 2), scale(v, (self.height or 0.0) / 2)
            shape = Rectangle(place.centre, half_u, half_v, normal)
        return [Part(shape, 0.0, self.front(), self.back_reflectance, gloss=self.gloss())]

    def front(self) -> RGB:
        """Reflectance of its front, linear RGB."""
        return self.reflectance or BLACK

    def gloss(self) -> float | None:
        """Roughness of a front that mirrors, None for one that scatters evenly."""
        return None


class Card(Board):
    """A board that fills: white unless said otherwise.

    White and black scatter evenly (Lambertian). Silver is a rough metal: it returns its reflectance of light
    from any direction, gathered about the mirror direction, the closer the smaller its roughness (GGX alpha).
    """

    finish: Literal["white", "silver", "black"] | None = Field(
        default=None, description="white, silver (which mirrors) or black; what the front is, in one word"
    )
    roughness: Annotated[float, Quantity("GGX alpha", 0.02, 0.6)] | None = Field(
        default=None,
        description="of a silver front, GGX alpha: 0.05 all but a mirror, 0.2 (unless given) smooth foil,"
        " 0.4 beaded or crumpled",
    )
    reflectance: Reflectance | None = Field(
        default=None,
        description="of the front, 0 to 1, or [r, g, b]; 0.85 unless given, 0.04 for a black finish",
    )
    back_reflectance: Reflectance = Field(
        default=(0.85,) * 3, description="of the back, 0 to 1, or [r, g, b]"
    )

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        yield from super().key_problems(given)
        if "roughness" in given and "finish" not in given:
            yield ("roughness",), 'counts only where the front mirrors: expected finish = "silver" beside it'

    def problems(self) -> Iterator[Problem]:
        yield from super().problems()
        if self.finish in ("white", "black"):
            for key in ("reflectance", "roughness"):
                if getattr(self, key) is not None:
                    text = f'beside finish = "{self.finish}", which says it: expected one of the two'
                    yield (key,), text if key == "reflectance" else 'expected it only with finish = "silver"'

    def front(self) -> RGB:
        return self.reflectance or (FINISHES[self.finish or "white"],) * 3

    def gloss(self) -> float | None:
        if self.finish != "silver":
            return None
        return SMOOTH_FOIL if self.roughness is None else self.roughness


class Flag(Board):
    """A board that cuts: black unless said otherwise."""

    reflectance: Reflectance = Field(default=(0.03,) * 3, description="of the front, 0 to 1, or [r, g, b]")
    back_reflectance: Reflectance = Field(
        default=(0.03,) * 3, description="of the back, 0 to 1, or [r, g, b]"
    )
