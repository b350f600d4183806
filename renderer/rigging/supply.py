"""What each circuit carries: watts and amperes against its breaker."""

from __future__ import annotations

import math
from dataclasses import dataclass

from renderer.scene.models import Scene

CONTINUOUS = 1.25
"""A load of three hours or more counts 125 %, which is 80 % of a breaker not rated for 100 %: NEC
210.19(A)(1) and 210.20(A), United States. NEC 530 and other countries have rules of their own."""


@dataclass(frozen=True)
class Draw:
    """What a circuit carries, all its lights at full.

    lights     watts of each light on it
    watts      in all, with the circuit's other load
    amps       I = P / (V power factor)
    allowed    A that may be drawn: the breaker's, or 1 / 1.25 of it under a continuous load
    breaker    A
    factor     1.25 under a continuous load, 1 otherwise
    """

    lights: dict[str, float]
    watts: float
    amps: float
    allowed: float
    breaker: float
    factor: float

    @property
    def share(self) -> float:
        """Of the breaker's rating, as it is drawn."""
        return self.amps / self.breaker

    @property
    def over(self) -> bool:
        """Whether it draws more than is allowed."""
        return self.amps > self.allowed * (1.0 + 1e-9)


def amperes(watts: float, volts: float, power_factor: float = 1.0) -> float:
    """I = P / (V power factor), r.m.s. [A]."""
    return watts / (volts * power_factor)


def allowed(breaker: float, continuous: bool = True) -> float:
    """Amperes that may be drawn through a breaker of that rating [A]."""
    return breaker / CONTINUOUS if continuous else breaker


def how_many(
    watts: float, volts: float, breaker: float, power_factor: float = 1.0, continuous: bool = True
) -> int:
    """Lights of that many watts that one circuit carries."""
    return math.floor(allowed(breaker, continuous) / amperes(watts, volts, power_factor) + 1e-9)


def draws(scene: Scene) -> dict[str, Draw]:
    """Each circuit of a scene by name."""
    found = {}
    for name, circuit in scene.circuit.items():
        lights = {
            lamp: light.watts
            for lamp, light in scene.light.items()
            if light.circuit == name and light.watts is not None
        }
        watts = sum(lights.values()) + circuit.other_watts
        found[name] = Draw(
            lights,
            watts,
            amperes(watts, circuit.volts, circuit.power_factor),
            allowed(circuit.amps, circuit.continuous),
            circuit.amps,
            CONTINUOUS if circuit.continuous else 1.0,
        )
    return found


def unknown(scene: Scene) -> list[str]:
    """Lights that no circuit's sum holds, each with what it lacks."""
    found = []
    for name, light in scene.light.items():
        lacks = [key for key in ("watts", "circuit") if getattr(light, key) is None]
        if lacks:
            found.append(f"light.{name} has no {' and no '.join(lacks)}")
    return found
