"""Cards and flags: flat things that send light back, or keep it off."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from pydantic import Field

from renderer.scene.field import Degrees, Problem, Reflectance, Size
from renderer.scene.parts import Disc, Part, Rectangle
from renderer.scene.place import LightPlace
from renderer.scene.standing import Standing
from renderer.scene.vector import scale


class Board(Standing):
    """A flat rectangle (width, height) or disc (diameter); its front is turned to `aim`."""

    width: Size | None = Field(default=None, description="metres; rectangle")
    height: Size | None = Field(default=None, description="metres; rectangle")
    diameter: Size | None = Field(default=None, description="metres; disc")
    roll: Degrees = Field(default=0.0, description="degrees; turns a rectangle in its own plane")
    reflectance: Reflectance
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
        return [Part(shape, 0.0, self.reflectance, self.back_reflectance)]


class Card(Board):
    """A board that fills: white unless said otherwise."""

    reflectance: Reflectance = Field(default=(0.85,) * 3, description="of the front, 0 to 1, or [r, g, b]")
    back_reflectance: Reflectance = Field(
        default=(0.85,) * 3, description="of the back, 0 to 1, or [r, g, b]"
    )


class Flag(Board):
    """A board that cuts: black unless said otherwise."""

    reflectance: Reflectance = Field(default=(0.03,) * 3, description="of the front, 0 to 1, or [r, g, b]")
    back_reflectance: Reflectance = Field(
        default=(0.03,) * 3, description="of the back, 0 to 1, or [r, g, b]"
    )
