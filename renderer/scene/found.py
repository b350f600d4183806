"""The room's own light as it was found: even light off the ceiling, at the level that a meter read."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated, ClassVar

from pydantic import Field

from renderer.scene.field import RED_GREEN_BLUE, Kelvin, Problem, Quantity, Several, Share, Table
from renderer.scene.parts import BLACK, RGB, Part, Rectangle, Vec3
from renderer.scene.white import DUV_MEANING, LOCUS_MEANING, Duv, Locus, White

FOUND = "found"
"""Name of its layer."""
UNDER = 0.001
"""How far the shining sheet hangs under the ceiling [m], so that a ray meets it first."""


class FoundLight(Table):
    """All lamps of the room together, as light that the whole ceiling sends down evenly (Lambertian).

    Its level is `lux` on a dome at the face, turned to the lens, with every other light off and everything
    standing where the scene has it; the luminance of the ceiling that brings this, bounce included, is known
    when the scene is traced (`renderer.meter.found`). Where the room's lamps hang is not modelled: their
    shadows, hot spots and reflections are left out.
    """

    purpose: ClassVar[str] = "practical"

    lux: Annotated[float, Quantity("lux", 0.0, 2e5, above=True)] = Field(
        description="lux; read by a dome at the face, turned to the lens, with the room's own lights alone"
    )
    cct: Kelvin = Field(default=3000.0, description="kelvin; colour temperature")
    locus: Locus | None = Field(default=None, description=LOCUS_MEANING)
    duv: Duv | None = Field(default=None, description=DUV_MEANING)
    colour: Annotated[RGB, Several(Quantity("a factor", 0.0, 10.0), RED_GREEN_BLUE)] = Field(
        default=(1.0, 1.0, 1.0), description="[r, g, b], linear factors; the lux read stay the same"
    )
    dim: Share = Field(default=1.0, description="dimmer, 0 to 1; 1 is the light as it was read")

    def problems(self) -> Iterator[Problem]:
        if max(self.colour) <= 0:
            yield ("colour",), "expected at least one factor above 0; got [0, 0, 0], which passes nothing"
        yield from self.white().problems()

    def white(self) -> White:
        """Its colour."""
        return White(self.cct, self.locus, self.duv, self.colour)

    def parts(self, low: Vec3, high: Vec3, ceiling: RGB, luminance: float | None = None) -> list[Part]:
        """The ceiling of a room from `low` to `high`, of its own reflectance.

        luminance  cd/m2; unless given lux / pi, that of even light all round: right in its order alone
        """
        x, y = ((low[i] + high[i]) / 2 for i in (0, 1))
        half_u: Vec3 = ((high[0] - low[0]) / 2, 0.0, 0.0)
        half_v: Vec3 = (0.0, (high[1] - low[1]) / 2, 0.0)
        sheet = Rectangle((x, y, high[2] - UNDER), half_u, half_v, (0.0, 0.0, -1.0))
        level = self.lux / math.pi if luminance is None else luminance
        return [Part(sheet, level, ceiling, BLACK)]
