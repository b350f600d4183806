"""Statics of a loaded stand: moments about the mast, the edge it goes over, a light that is caught falling.

Plain closed forms over horizontal arms, the mast upright on a level floor that does not give. Nothing here
holds a factor of its own: 1 is where it goes over.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

GRAVITY = 9.80665
"""Standard gravity [m/s2], exact by definition: 3rd CGPM, 1901."""


@dataclass(frozen=True)
class Mass:
    """`kg` at `arm` [m] from the mast, positive on the side of the light."""

    kg: float
    arm: float


def moment(masses: Sequence[Mass]) -> float:
    """About the mast [N m], positive when it pulls down on the side of the light."""
    return GRAVITY * sum(mass.kg * mass.arm for mass in masses)


def counterweight(masses: Sequence[Mass], arm: float) -> float:
    """Kilograms that balance `masses` from `arm` [m, above 0] on the other side; 0 where none is needed."""
    return max(0.0, moment(masses) / (GRAVITY * arm))


def restoring(masses: Sequence[Mass], edge: float) -> float:
    """Moment [N m] that holds it down, about an edge on the light's side, `edge` [m] from the mast."""
    return GRAVITY * sum(mass.kg * max(0.0, edge - mass.arm) for mass in masses)


def overturning(masses: Sequence[Mass], edge: float) -> float:
    """Moment [N m] that tips it, about the same edge."""
    return GRAVITY * sum(mass.kg * max(0.0, mass.arm - edge) for mass in masses)


def tip_margin(masses: Sequence[Mass], edge: float) -> float:
    """restoring / overturning: it goes over below 1. Infinite where nothing reaches over the edge."""
    over = overturning(masses, edge)
    return restoring(masses, edge) / over if over > 0.0 else math.inf


def bag_for(masses: Sequence[Mass], edge: float, arm: float, margin: float = 1.0) -> float:
    """Kilograms of a bag at `arm` (as `Mass.arm`, on the near side of the edge) that bring it to `margin`.

    Infinite for a bag on the edge itself, which helps nothing.
    """
    missing = margin * overturning(masses, edge) - restoring(masses, edge)
    if missing <= 0.0:
        return 0.0
    return missing / (GRAVITY * (edge - arm)) if edge > arm else math.inf


def tipping_pull(masses: Sequence[Mass], edge: float, height: float) -> float:
    """Level pull [N] at `height` [m] that just lifts the far feet; 0 where it goes over by itself."""
    return max(0.0, restoring(masses, edge) - overturning(masses, edge)) / height


def catching_force(kg: float, drop: float, stop: float) -> float:
    """Mean force [N] on what brings a fallen mass to rest: m g (drop / stop + 1), both in metres."""
    return kg * GRAVITY * (drop / stop + 1.0)


def mirrored(masses: Sequence[Mass]) -> list[Mass]:
    """The same seen from the other side, for the edge there."""
    return [Mass(mass.kg, -mass.arm) for mass in masses]
