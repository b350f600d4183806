"""The white of a light: its colour temperature, its place off the black bodies, the gels before it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal

from renderer.scene.field import Problem, Quantity, plain
from renderer.scene.gel import CLEAR, Gel, misfit
from renderer.scene.parts import RGB

Locus = Literal["planckian", "daylight"]
Duv = Annotated[float, Quantity("Duv", -0.02, 0.02)]
LOCUS_MEANING = (
    "planckian (black bodies) or daylight (CIE D, from 4000 kelvin); unless given, black bodies up to 4000"
    " kelvin and daylight from 5000, evenly over from one to the other"
)
DUV_MEANING = (
    "Duv, how far its white lies off the black bodies, as a colour meter reads it: above 0 to green, below 0"
    " to pink; in place of a locus"
)
DAYLIGHT_FROM = 4000.0
"""Least colour temperature [K] of the daylight locus (CIE 15)."""
NEUTRAL: RGB = (1.0, 1.0, 1.0)


@dataclass(frozen=True)
class White:
    """What colours a light, as it is written.

    cct     of the lamp itself [K]
    locus   the line that its white lies on, None for the blend of both (`renderer.colour.white.Locus`)
    duv     its place off the black bodies in CIE 1960 u, v instead, None where not told
    colour  linear RGB factors
    gel     what its gels come to together; a gel moves along the line, so a Duv is kept
    """

    cct: float
    locus: Locus | None = None
    duv: float | None = None
    colour: RGB = NEUTRAL
    gel: Gel = CLEAR

    @property
    def behind(self) -> float:
        """Colour temperature [K] behind its gels."""
        return self.gel.behind(self.cct)

    @property
    def factors(self) -> RGB:
        """Linear RGB factors, with what its gels cost in stops."""
        r, g, b = (factor * self.gel.transmission() for factor in self.colour)
        return r, g, b

    def problems(self, key: str = "") -> Iterator[Problem]:
        """What does not go together, each with its key; `key` begins the names of locus and duv."""
        wrong = misfit(self.cct, self.gel)
        if wrong:
            yield ("gel",), wrong
            return
        if self.locus == "daylight" and self.duv is not None:
            text = "where its white lies is said twice: expected locus or duv, not both"
            yield (f"{key}duv",), text
        elif self.locus == "daylight" and self.cct < DAYLIGHT_FROM:
            text = f"daylight begins at {plain(DAYLIGHT_FROM)} kelvin; got {plain(self.cct)}"
            yield (f"{key}locus",), text
        if self.duv is not None:
            most = greenest(min(self.cct, self.behind))
            if self.duv > most:
                yield (
                    (f"{key}duv",),
                    f"no light is so green at {plain(round(min(self.cct, self.behind)))} kelvin: expected at"
                    f" most {plain(most)}; got {plain(self.duv)}",
                )


def greenest(cct: float) -> float:
    """Duv [1] at most for a white of `cct` [K]: 0.001 for each 100 K over 1200 K, up to 0.02.

    Inside the spectral colours of CIE 1931, where x + y is at most 1 from green to red; they lie 0.0041 off
    the black bodies at 1500 K and 0.011 at 2000 K.
    """
    return round(max(0.0, min(0.02, 1e-5 * (cct - 1200.0))), 4)


def in_words(white: White) -> str:
    """5600 K on the daylight locus; 5600 K, Duv +0.003"""
    text = f"{white.cct:g} K"
    if white.duv is not None:
        return f"{text}, Duv {white.duv:+g}"
    return f"{text} on the {white.locus} locus" if white.locus else text
