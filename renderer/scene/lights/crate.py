"""Egg crates: a grid of black cells before a flat light, which keeps it off the walls."""

from __future__ import annotations

import math
from collections.abc import Iterator

from pydantic import Field

from renderer.scene.beam import Beam
from renderer.scene.field import Problem, Size, Table, plain
from renderer.scene.lights.base import Lamp
from renderer.scene.parts import RGB, Part, Shape

LEAST = 5.0
"""Smallest cut-off angle [deg]; narrower ones are lost between the whole degrees of the table."""


class Crate(Table):
    """Square cells with thin black walls, much smaller than the light; their sides lie along its axes."""

    cell: Size = Field(description="metres, width of a cell")
    depth: Size = Field(description="metres, depth of the cells")

    def problems(self) -> Iterator[Problem]:
        if self.cut_off() < LEAST:
            least = plain(round(self.depth * math.tan(math.radians(LEAST)), 4))
            yield (
                ("cell",),
                f"shuts all but the {self.cut_off():.1f} degrees next to the axis: expected a cut-off"
                f" atan(cell / depth) of {LEAST:g} degrees or more, so at least {least} metres at this depth",
            )

    def cut_off(self) -> float:
        """Angle [degrees] from the axis, along a side of the cells, from which nothing is seen of the light.

        Along the diagonal of the cells it is atan(sqrt(2) cell / depth).
        """
        return math.degrees(math.atan2(self.cell, self.depth))

    def open_share(self, gamma: float, turn: float) -> float:
        """Share of the light that is seen through the cells at gamma and turn [rad].

        The far opening of a cell is seen shifted by depth tan(a) along each side: what still overlaps the
        near one is the product of max(0, 1 - depth tan(a) / cell) along both (plane geometry).
        """
        slope = self.depth / self.cell * math.tan(min(gamma, 1.57))
        along, across = slope * abs(math.cos(turn)), slope * abs(math.sin(turn))
        return max(0.0, 1.0 - along) * max(0.0, 1.0 - across)

    def share(self) -> float:
        """Share of an even (Lambertian) face's lumens that passes: the configuration factor from the one
        opening of a cell to the other, equal squares in parallel planes, x = cell / depth

            F = 2 / (pi x^2) {ln sqrt[(1 + x^2)^2 / (1 + 2 x^2)] + 2 x sqrt(1 + x^2) atan[x / sqrt(1 + x^2)]
                - 2 x atan x}

        source  Howell, catalogue of configuration factors, C-11 (from memory)
        """
        x = self.cell / self.depth
        if x < 0.02:
            return x * x / math.pi  # all else cancels to nothing; off by x^2 of itself
        root = math.hypot(1.0, x)
        grown = 0.5 * math.log((1.0 + x * x) ** 2 / (1.0 + 2.0 * x * x))
        return 2.0 / (math.pi * x * x) * (grown + 2.0 * x * (root * math.atan(x / root) - math.atan(x)))

    def beam(self) -> Beam:
        """As a table of directions: within 0.02 of `open_share`, ending up to 2 degrees past its cut-off."""
        return Beam.of(self.open_share)


class Crated(Lamp):
    """A flat light that may have an egg crate before it.

    The crate takes light away and brightens nothing: the level is that of the light without it.
    """

    crate: Crate | None = Field(
        default=None, description="egg crate before it: { cell, depth }, metres; its level is without it"
    )

    def face(self, shape: Shape) -> Part:
        """Its open face, with the crate before it."""
        beam = self.crated_beam()
        luminance, reflectance = self.face_luminance(), self.crated_reflectance()
        factors = None if beam is None else beam.factors
        return Part(shape, luminance, reflectance, self.housing_reflectance, beam=factors)

    def crated_beam(self) -> Beam | None:
        """How the luminance goes with direction; None for an even face without a crate."""
        return self.crate.beam() if self.crate is not None else None

    def crated_reflectance(self) -> RGB:
        """Of the open face: light of the room has to pass the cells twice."""
        share = self.crate.share() if self.crate is not None else 1.0
        r, g, b = self.face_reflectance
        return r * share**2, g * share**2, b * share**2

    def crated_flux(self) -> float:
        """Lumens at full dimmer past the crate, as traced."""
        beam = self.crated_beam()
        return self.flux() if beam is None else self.face_luminance() * self.open_area() * beam.within()

    def figures(self) -> Iterator[tuple[str, str]]:
        yield from super().figures()
        if self.crate is not None:
            left = self.crated_flux() / self.flux()
            yield (
                "crate",
                f"cells {self.crate.cell:g} m wide, {self.crate.depth:g} m deep: nothing beyond"
                f" {self.crate.cut_off():.1f} degrees from its axis; it takes {1.0 - left:.0%} of the lumens,"
                f" {-math.log2(left):.1f} stops, none of what goes straight ahead",
            )
