"""Fabric and the sleeves over it: what becomes of light that meets them from inside."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from renderer.enclosure.check import SAME, choice, number, shares
from renderer.errors import InputError

FULL_TURN = 360.0
SILVER, WHITE, BLACK = 0.85, 0.8, 0.04
"""Reflectance of the inside of a sleeve: silvered, white, black. Common practice, no source."""

Wall = Literal["side", "bottom", "top"]
WALLS: tuple[Wall, ...] = ("side", "bottom", "top")


@dataclass(frozen=True)
class Fabric:
    """A diffusing fabric: of the light that meets it, 0 to 1 passes and 0 to 1 returns; the rest is heat.

    Both parts are scattered evenly (Lambertian). An open end is Fabric(1, 0), a dead one Fabric(0, 0.04).
    Raises InputError where a share leaves 0 to 1 or both together exceed 1.
    """

    transmittance: float
    reflectance: float

    def __post_init__(self) -> None:
        shares("fabric", self.transmittance, self.reflectance)


@dataclass(frozen=True)
class Sleeve:
    """Opaque cloth over part of a fabric cylinder.

    reflectance  of its inside, 0 to 1
    covers       from, to [degrees] round the axis; a full turn unless given
    height       low, high [m] above the lower edge; the whole side unless given
    on           the side, the bottom or the top
    outside      True: it lies outside the fabric, so light passes the fabric on its way to it and back.
                 False: it hangs inside and hides the fabric

    Raises InputError for an empty span, or a height on an end.
    """

    reflectance: float
    covers: tuple[float, float] = (0.0, FULL_TURN)
    height: tuple[float, float] | None = None
    on: Wall = "side"
    outside: bool = True

    def __post_init__(self) -> None:
        number("sleeve: reflectance", self.reflectance, 0.0, 1.0)
        choice("sleeve: on", self.on, WALLS)
        start, end = (number("sleeve: covers", edge, -720.0, 720.0, "degrees") for edge in self.covers)
        if not SAME < end - start <= FULL_TURN + SAME:
            raise InputError(
                f"sleeve: covers {end - start:g} degrees: expected more than 0, at most 360;"
                f" got [{start:g}, {end:g}]"
            )
        if self.height is None:
            return
        if self.on != "side":
            raise InputError(f"sleeve: has a height but lies on the {self.on}: expected one on the side")
        low, high = (number("sleeve: height", edge, 0.0, unit="metres") for edge in self.height)
        if high - low <= SAME:
            raise InputError(f"sleeve: height is empty: low must be less than high; got [{low:g}, {high:g}]")

    def goes_round(self) -> bool:
        """Whether it covers the full turn."""
        return self.covers[1] - self.covers[0] >= FULL_TURN - SAME


@dataclass(frozen=True)
class Fate:
    """Of light that meets a wall from inside, the share that returns, passes, and ends in the sleeve.

    What is left of 1 ends in the fabric.
    """

    returned: float
    passed: float
    in_sleeve: float


def fate(fabric: Fabric, sleeve: Sleeve | None = None) -> Fate:
    """Bare fabric, or fabric behind an opaque sleeve.

    Between a fabric (passes t, returns r on either face) and a close sleeve (returns s) light goes to and
    fro: the sleeve meets t (1 + r s + (r s)^2 ...) = t / (1 - r s), and inside returns r + t s t / (1 - r s).
    source  Stokes' pile of plates, Proc. R. Soc. 11, 1862 (from memory): the geometric series
    """
    t = fabric.transmittance
    r = min(fabric.reflectance, 1.0 - t)  # they may exceed 1 by rounding
    if sleeve is None:
        return Fate(r, t, 0.0)
    s = sleeve.reflectance
    if not sleeve.outside:
        return Fate(s, 0.0, 1.0 - s)
    meets = t / (1.0 - r * s) if t > 0.0 else 0.0  # then r s < 1
    return Fate(r + t * s * meets, 0.0, (1.0 - s) * meets)
