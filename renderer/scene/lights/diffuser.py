"""A head behind sheets of diffusion: soft light from the last, and what comes back or goes past."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar, Literal

from pydantic import Field

from renderer.scene.field import Degrees, Problem
from renderer.scene.lights.enclosed import Enclosed
from renderer.scene.lights.sheet import FlatHead, Sheet, row_problems
from renderer.scene.parts import BLACK, RGB, Disc, Part, Rectangle, Shape, Vec3, Weave
from renderer.scene.place import LightPlace
from renderer.scene.vector import blend, scale

GAP = 5e-4
"""Half the distance [m] between the two faces of a sheet that are kept apart: far above what rays step off
a surface, far below any frame."""

Side = Literal["back", "front"]


@dataclass(frozen=True)
class Leaf:
    """One face of sheet `number`."""

    shape: Disc | Rectangle
    number: int
    side: Side


class DiffuserLight(Enclosed):
    """A head, then one sheet of diffusion or several; its place is that of the last, turned to the aim.

    Every face of a sheet sends out what is worked out for it, the first one back into the room behind it.
    The light of the head is followed past the sheets, but the faces that it meets return nothing more: all
    that goes to and fro is in the balance already. Only the front of the last sheet returns light of the
    room. What passes a sheet straight shows the head, or the sheet before. Left out: what the room sends to
    the other faces and through the sheets. The head counts as a point in the middle of its aperture.
    """

    inner: ClassVar[str] = "head"
    inner_needed: ClassVar[bool] = True

    source: Literal["diffuser"] = Field(description="the kind of light")
    head: FlatHead = Field(description="the head behind, { diameter, lumens, beam }; in place of a level")
    sheet: list[Sheet] = Field(description="sheets of diffusion, the nearest to the head first")
    roll: Degrees = Field(default=0.0, description="degrees; turns rectangular sheets in their own plane")

    def open_area(self) -> float:
        """Area [m2] of the front of the last sheet."""
        width, height = self.sheet[-1].size()
        return width * height * (1.0 if self.sheet[-1].diameter is None else math.pi / 4.0)

    def flux(self) -> float:
        """Lumens that leave the front of the last sheet at full dimmer."""
        from renderer.scene.lights.lit_row import row_of

        return row_of(self).scattered_out

    def face_luminance(self) -> float:
        """Mean luminance [cd/m2] of the front of the last sheet at full dimmer."""
        return self.flux() / (math.pi * self.open_area())

    def problems(self) -> Iterator[Problem]:
        yield from super().problems()
        yield from ((("sheet", *path), text) for path, text in row_problems(self.head, self.sheet))

    def leaves(self, place: LightPlace) -> list[Leaf]:
        """Faces of the sheets, nearest to the head first."""
        sides: tuple[Side, Side] = ("back", "front")
        return [self._leaf(place, i, side) for i in range(len(self.sheet)) for side in sides]

    def _leaf(self, place: LightPlace, number: int, side: Side) -> Leaf:
        u, v, normal = place.face_axes(self.roll)
        sheet = self.sheet[number]
        centre = self._on_axis(place, sheet.distance + (GAP if side == "front" else -GAP))
        facing = scale(normal, -1.0 if side == "back" else 1.0)
        width, height = sheet.size()
        if sheet.diameter is not None:
            return Leaf(Disc(centre, facing, width / 2, u, v), number, side)
        return Leaf(Rectangle(centre, scale(u, width / 2), scale(v, height / 2), facing), number, side)

    def _on_axis(self, place: LightPlace, distance: float) -> Vec3:
        """The point [m] at this distance before the aperture; the last sheet is at the light's place."""
        return blend((1.0, place.centre), (distance - self.sheet[-1].distance, place.normal()))

    def aperture(self, place: LightPlace) -> Disc:
        u, v, normal = place.face_axes(self.roll)
        return Disc(self._on_axis(place, 0.0), normal, self.head.diameter / 2, u, v)

    def shapes(self, place: LightPlace) -> list[Shape]:
        return [*(leaf.shape for leaf in reversed(self.leaves(place))), self.aperture(place)]

    def parts(self, place: LightPlace) -> list[Part]:
        """The last sheet first, the head last. Raises InputError."""
        from renderer.scene.lights.lit_row import head_sent, leaf_sent

        parts = []
        for leaf in reversed(self.leaves(place)):
            luminance, glow = leaf_sent(self, leaf)
            is_last = leaf.side == "front" and leaf.number == len(self.sheet) - 1
            cloth = self.sheet[leaf.number].cloth()
            back: RGB = (cloth.reflectance / (1.0 - cloth.direct),) * 3 if is_last else BLACK
            weave = Weave(cloth.direct, leaf.number) if cloth.direct > 0.0 else None
            parts.append(Part(leaf.shape, luminance, back, BLACK, glow, weave=weave))
        luminance, beam = head_sent(self)
        housing = self.housing_reflectance
        return [*parts, Part(self.aperture(place), luminance, housing, housing, beam=beam)]

    def figures(self) -> Iterator[tuple[str, str]]:
        from renderer.scene.lights import lit_row

        yield from super().figures()
        yield from lit_row.figures(self)
