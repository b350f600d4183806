"""A head, and the sheets of diffusion that stand before it."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field

from renderer.enclosure.diffusion import Diffusion
from renderer.scene.field import SHARE, Problem, Quantity, Share, Size, Table, plain
from renderer.scene.lights.inside import Lumens

Grade = Literal["eighth", "quarter", "half", "full", "opal", "grid cloth"]
SIZES = ("width", "height", "diameter")
CLOTHS = ("grade", "loss", "transmittance")
WIDEST = 120.0
"""Degrees of a flat face with one luminance in all directions; a wider beam no flat aperture has."""
CELLS = 24
"""Cells of a table across a sheet (`uneven.CELLS`): a spot of light has to be wider than one."""


class FlatHead(Table):
    """A head with a round, flat aperture and a beam I0 cos^n about its axis."""

    diameter: Size = Field(description="metres, of its aperture")
    lumens: Lumens = Field(description="lumens at full dimmer")
    beam: Annotated[float, Quantity("degrees", 5.0, WIDEST)] = Field(
        description="degrees between the directions of half its peak intensity; 120 for a bare flat face"
    )

    @property
    def exponent(self) -> float:
        """n of I0 cos^n, with cos^n(beam / 2) = 1 / 2."""
        return math.log(0.5) / math.log(math.cos(math.radians(self.beam) / 2.0))

    def spot(self, distance: float) -> float:
        """Width [m] of its light on a sheet at `distance` [m]: edge to edge at half the light of the middle,
        which falls off like cos^(n + 3)."""
        return 2.0 * distance * math.sqrt(4.0 ** (1.0 / (self.exponent + 3.0)) - 1.0)


class Sheet(Table):
    """One sheet of diffusion, its middle on the axis of the head and square to it."""

    distance: Annotated[float, Quantity("metres", 0.0, 20.0, above=True)] = Field(
        description="metres from the aperture of the head"
    )
    diameter: Size | None = Field(default=None, description="metres; round")
    width: Size | None = Field(default=None, description="metres; rectangular")
    height: Size | None = Field(default=None, description="metres; rectangular")
    grade: Grade | None = Field(default=None, description="its grade by name; this, loss or transmittance")
    loss: Annotated[float, Quantity("stops", 0.0, 10.0)] | None = Field(
        default=None, description="stops that it takes; this, grade or transmittance"
    )
    transmittance: Annotated[float, Quantity("a share", 0.001, 1.0, slips=SHARE.slips)] | None = Field(
        default=None, description="share of the light that passes, 0.001 to 1; this, grade or loss"
    )
    reflectance: Share | None = Field(
        default=None,
        description="share of the light that returns, 0 to 1; nine tenths of what does not pass unless given",
    )

    straight: Annotated[float, Quantity("a share", 0.0, 0.9, slips=SHARE.slips)] = Field(
        default=0.0,
        description="of what passes, the share that keeps its direction, 0 to 0.9; the head is seen by it",
    )

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        sizes = [key for key in SIZES if key in given]
        if sizes not in (["diameter"], ["width", "height"]):
            found = " and ".join(sizes) if sizes else "none of them"
            yield (), f"its size is unclear: expected width and height, or diameter alone; got {found}"
        cloths = [key for key in CLOTHS if key in given]
        if len(cloths) != 1:
            found = " and ".join(cloths) if cloths else "none of them"
            yield (), f"its cloth is unclear: expected one of {', '.join(CLOTHS)}; got {found}"

    def problems(self) -> Iterator[Problem]:
        passes = self._cloth(0.0).transmittance
        if self.reflectance is not None and passes + self.reflectance > 1.0 + 1e-9:
            made, most = (plain(round(x, 6)) for x in (passes + self.reflectance, 1.0 - passes))
            yield ("reflectance",), f"makes {made} with what passes: expected at most {most}"

    def cloth(self) -> Diffusion:
        """What it does to light."""
        return self._cloth(self.reflectance)

    def _cloth(self, reflectance: float | None) -> Diffusion:
        if self.grade is not None:
            return Diffusion.of_grade(self.grade, reflectance, self.straight)
        if self.transmittance is None:
            return Diffusion.of_loss(self.loss or 0.0, reflectance, self.straight)
        return Diffusion.of_loss(-math.log2(self.transmittance), reflectance, self.straight)

    def size(self) -> tuple[float, float]:
        """Width and height [m]; of a round one its diameter twice."""
        return self.width or self.diameter or 0.0, self.height or self.diameter or 0.0


def row_problems(head: FlatHead, sheets: Sequence[Sheet]) -> Iterator[Problem]:
    """What does not fit between the sheets of a row, or between them and the head."""
    if not sheets:
        yield (), "none given: expected at least one, each under [[light.NAME.sheet]]"
        return
    first = sheets[0].distance
    if first < head.diameter:
        text = f"is nearer than the aperture is wide: expected at least {plain(head.diameter)} metres"
        yield (0, "distance"), f"{text}; got {plain(first)}"
    for i, sheet in enumerate(sheets):
        least = max(sheet.size()) / CELLS / head.spot(1.0)
        if sheet.distance < least:
            spot = f"a spot of {head.spot(sheet.distance):.3f} m in its middle"
            yield (i, "distance"), f"so near, this beam is {spot}: expected at least {least:.2f} metres"
    for i, (near, far) in enumerate(pairwise(sheets), 1):
        if far.distance <= near.distance + 1e-9:
            text = f"expected more than that of the sheet before, {plain(near.distance)} metres"
            yield (i, "distance"), f"{text}; got {plain(far.distance)}"
        if (near.diameter is None) != (far.diameter is None):
            yield (i,), "round and rectangular are mixed: expected one kind in a row"
    if len(sheets) > 2 and len({sheet.size() for sheet in sheets}) > 1:
        yield (), "three or more in a row have to be of one size"
