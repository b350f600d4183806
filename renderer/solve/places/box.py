"""Where a light or board may stand, in words: `key in azimuth 20..70, height 1.5..2.2, distance 0.8..1.4`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from renderer.errors import InputError
from renderer.scene.models import Scene
from renderer.solve.move import Spot, Thing, spot_of, thing_of

AXES = ("azimuth", "distance", "height")
RANGES = {
    "azimuth": (-180.0, 180.0, "degrees"),
    "distance": (0.0, 50.0, "metres"),
    "height": (0.0, 20.0, "metres"),
}
EXAMPLE = "key in azimuth 20..70, height 1.5..2.2, distance 0.8..1.4"


@dataclass(frozen=True)
class Box:
    """spans  (low, high) of azimuth [deg], distance and height [m]; not named, it is the place now"""

    thing: Thing
    spans: tuple[tuple[float, float], ...]

    @property
    def open(self) -> tuple[int, ...]:
        """Numbers of the axes that there is a choice in."""
        return tuple(i for i, (low, high) in enumerate(self.spans) if high > low)

    def spot(self, parts: Sequence[float]) -> Spot:
        """The place at parts (0 to 1) of the open axes."""
        values = [low for low, _ in self.spans]
        for i, part in zip(self.open, parts, strict=True):
            low, high = self.spans[i]
            values[i] = low + min(1.0, max(0.0, part)) * (high - low)
        return Spot(*values)

    def parts(self, spot: Spot) -> list[float]:
        """The inverse of `spot`; beyond 0 to 1 outside the box."""
        values = (spot.azimuth, spot.distance, spot.height)
        return [(values[i] - self.spans[i][0]) / (self.spans[i][1] - self.spans[i][0]) for i in self.open]

    def words(self) -> str:
        spans = (f"{AXES[i]} {self.spans[i][0]:g}..{self.spans[i][1]:g}" for i in self.open)
        return f"{self.thing.path} in {', '.join(spans)}"


def box_of(scene: Scene, text: str) -> Box:
    """The box that a person wrote. Raises InputError."""
    option = f"--place {text}"
    found = re.fullmatch(r"\s*([\w.-]+)\s+in\s+(.+)", text)
    if found is None:
        raise InputError(f"{option}: expected THING in RANGES, such as '{EXAMPLE}'")
    thing = thing_of(scene, found[1], option)
    now = spot_of(scene, thing)
    spans = {"azimuth": (now.azimuth,) * 2, "distance": (now.distance,) * 2, "height": (now.height,) * 2}
    named = set()
    for part in found[2].split(","):
        words = re.fullmatch(r"\s*(\w+)\s+(\S+?)\s*(?:\.\.|to)\s*(\S+)\s*", part)
        if words is None:
            raise InputError(f'{option}: cannot read "{part.strip()}"; expected such as height 1.5..2.2')
        axis = words[1]
        if axis not in AXES:
            near = get_close_matches(axis, AXES, 1)
            hint = f'; did you mean "{near[0]}"?' if near else ""
            raise InputError(f'{option}: there is no "{axis}"{hint} (there are: {", ".join(AXES)})')
        if axis in named:
            raise InputError(f"{option}: {axis} is given twice")
        named.add(axis)
        low, high = (_number(option, axis, word) for word in words.groups()[1:])
        if low > high:
            raise InputError(f"{option}: {axis}: expected the lower value first; got {low:g}..{high:g}")
        spans[axis] = (low, high)
    box = Box(thing, tuple(spans[axis] for axis in AXES))
    if not box.open:
        raise InputError(f"{option}: leaves no choice; expected a range such as height 1.5..2.2")
    return box


def _number(option: str, axis: str, word: str) -> float:
    low, high, unit = RANGES[axis]
    try:
        value = float(word)
    except ValueError:
        raise InputError(f'{option}: {axis}: expected {unit}, written as a number; got "{word}"') from None
    if not low <= value <= high:
        hint = f"; did you mean {value / 100:g}?" if unit == "metres" and low <= value / 100 <= 5.0 else ""
        raise InputError(f"{option}: {axis}: expected {unit} from {low:g} to {high:g}; got {value:g}{hint}")
    return value
