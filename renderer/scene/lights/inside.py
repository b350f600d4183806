"""What stands inside a fabric cylinder, and what it is made of."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from renderer.scene.field import SHARE, Length, Problem, Quantity, Share, Size, Table, plain

Lumens = Annotated[float, Quantity("lumens", 0.0, 1e7, above=True)]

WIDEST, ALL_ROUND = 179.0, 360.0
WIDEST_SEEN = 120.0
"""Degrees of a flat face with one luminance in all directions: no disc that is seen has a wider beam."""
FLATTEST, TALLEST = 0.05, 100.0
"""Length over radius within which the light inside is worked out (`renderer.enclosure.cylinder`)."""


class Cloth(Table):
    """A fabric that scatters what it lets through, but for a share that passes straight. What neither passes
    nor returns is lost as heat."""

    transmittance: Annotated[float, Quantity("a share", 0.0, 1.0, above=True, slips=SHARE.slips)] = Field(
        description="share of the light that passes, 0 to 1"
    )
    reflectance: Share = Field(description="share of the light that returns, from either side, 0 to 1")
    straight: Annotated[float, Quantity("a share", 0.0, 0.9, slips=SHARE.slips)] = Field(
        default=0.0,
        description="of what passes, the share that keeps its direction, 0 to 0.9; the lamp is seen by it",
    )

    @property
    def weave(self) -> float:
        """Share of all light that passes undeflected, 0 to 1."""
        return self.transmittance * self.straight

    def problems(self) -> Iterator[Problem]:
        both = self.transmittance + self.reflectance
        if both > 1.0 + 1e-9:
            most = plain(round(1.0 - self.transmittance, 10))
            yield ("reflectance",), f"makes {plain(both)} with the transmittance: expected at most {most}"


class InnerLamp(Table):
    """A lamp on the axis of a cylinder, small against it: a point with a beam. Its body hides nothing; where
    it is seen it is a white sphere (a bare bulb) or disc of its diameter."""

    lumens: Lumens = Field(description="lumens at full dimmer")
    beam: Annotated[float, Quantity("degrees", 1.0, ALL_ROUND)] = Field(
        default=120.0,
        description="degrees between the directions of half its peak intensity: 120 for a flat face,"
        " 360 for a bare bulb",
    )
    at: Length = Field(description="metres above the lower end of the cylinder")
    points: Literal["down", "up"] = Field(default="down", description="down or up the axis")
    diameter: Size = Field(
        default=0.06,
        description="metres across; counts where it is seen, past an end or through fabric",
    )

    @property
    def is_bare(self) -> bool:
        """Whether it lights all ways alike."""
        return self.beam == ALL_ROUND

    def problems(self) -> Iterator[Problem]:
        if not self.is_bare and self.beam > WIDEST:
            yield ("beam",), f"expected degrees from 1 to 179, or 360 for a bare bulb; got {plain(self.beam)}"

    def seen_problems(self, diameter: float, length: float) -> Iterator[Problem]:
        """What is wrong with it in a cylinder of this size [m] where it is seen."""
        if not self.is_bare and self.beam > WIDEST_SEEN:
            text = "degrees from 1 to 120, or 360 for a bare bulb, where the lamp is seen"
            yield ("beam",), f"expected {text}; got {plain(self.beam)}"
        most = min(diameter, 2.0 * min(self.at, length - self.at)) if self.is_bare else diameter
        if self.diameter >= most:
            text = f"does not fit inside: expected less than {plain(round(most, 4))} metres"
            yield ("diameter",), f"{text}; got {plain(self.diameter)}"

    def place_problem(self, length: float) -> str | None:
        """What is wrong with its place in a cylinder of this length [m]."""
        inside = 0.0 < self.at < length
        on_the_end_behind = self.at == (length if self.points == "down" else 0.0) and not self.is_bare
        if inside or on_the_end_behind:
            return None
        span = f"expected metres between 0 and {plain(length)}"
        return f"is not inside the cylinder: {span}; got {plain(self.at)}"
