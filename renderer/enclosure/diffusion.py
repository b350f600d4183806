"""Flat diffusion by its grade: what passes, what comes back, and what passes without being scattered."""

from __future__ import annotations

from dataclasses import dataclass

from renderer.enclosure.check import choice, number, shares
from renderer.units import stops_to_ratio

GRADES = {"eighth": 0.25, "quarter": 0.33, "half": 0.75, "full": 1.5, "opal": 0.5, "grid cloth": 2.5}
"""Loss in stops by grade. Common practice, no source; rolls of one name differ by a third of a stop."""
HEAT = 0.1
"""Share of what does not pass that a pale cloth keeps, unless told; the rest returns. No source."""


@dataclass(frozen=True)
class Diffusion:
    """Of the light that meets it, from either side, 0 to 1 passes and 0 to 1 returns; the rest is heat.

    transmittance  all that passes
    reflectance    what returns, scattered evenly (Lambertian)
    straight       of what passes, the share that keeps its direction, 0 to 1; the other part is scattered
                   evenly. Weak grades let much pass straight; how much is the cloth's own and not in its name

    Raises InputError where a share leaves 0 to 1, or transmittance and reflectance together exceed 1.
    """

    transmittance: float
    reflectance: float
    straight: float = 0.0

    def __post_init__(self) -> None:
        shares("diffusion", self.transmittance, self.reflectance)
        number("diffusion: straight", self.straight, 0.0, 1.0)

    @classmethod
    def of_loss(cls, stops: float, reflectance: float | None = None, straight: float = 0.0) -> Diffusion:
        """From its loss [stops]: 2^-stops passes. Unless told, 9 / 10 of the rest returns.

        A loss read by a meter on the axis also holds what the cloth spreads past the meter, so it counts
        somewhat too much as lost where the head was hard. Raises InputError.
        """
        passes = stops_to_ratio(-number("diffusion: loss", stops, 0.0, 20.0, "stops"))
        return cls(passes, (1.0 - HEAT) * (1.0 - passes) if reflectance is None else reflectance, straight)

    @classmethod
    def of_grade(cls, grade: str, reflectance: float | None = None, straight: float = 0.0) -> Diffusion:
        """From its grade by name (`GRADES`). Raises InputError for one that is not known."""
        return cls.of_loss(GRADES[choice("diffusion: grade", grade, tuple(GRADES))], reflectance, straight)

    @property
    def scattered(self) -> float:
        """Share of the light that passes scattered, 0 to 1."""
        return self.transmittance * (1.0 - self.straight)

    @property
    def direct(self) -> float:
        """Share of the light that passes straight, 0 to 1."""
        return self.transmittance * self.straight

    @property
    def absorbed(self) -> float:
        return max(0.0, 1.0 - self.transmittance - self.reflectance)
