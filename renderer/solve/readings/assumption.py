"""What a scene takes for granted and a reading can find out: reflectances, outputs, places, the meter.

Each has an amount, 0 as the scene has it, and a usual error: how far it commonly is off before anything was
read. All usual errors are common practice, no source; the sizes are own choices.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from renderer.scene.change import changed, written
from renderer.scene.found import FOUND
from renderer.scene.models import Scene
from renderer.scene.parts import RGB
from renderer.scene.skin import luminance
from renderer.scene.vector import add, length, scale, subtract, unit
from renderer.solve.motion import subject
from renderer.solve.move import Spot, Thing, placing

WALLS = ("back", "front", "camera_left", "camera_right")
SURFACES = (*WALLS, "floor", "ceiling")
ODDS = 0.5
"""Usual error of a reflectance r, of ln(r / (1 - r)): 0.6 +-0.12, 0.8 +-0.08, 0.2 +-0.08."""
OUTPUT = 1.0 / 3.0
"""Usual error of a lamp's output [stops]: ageing, mains, a level told for another lamp."""
PLACE = 0.05
"""Usual error of a height or distance [m], as `tolerance` has it for a crew."""
METER = 0.2
"""Usual error of a meter as a whole [stops]: ISO 2720 leaves makers C from 240 to 400 for a flat disc."""

Keys = dict[str, Any]


@dataclass(frozen=True)
class Assumption:
    """One of them.

    name    as in --free; words: as a person says it
    kind    "reflectance", "output", "place" or "meter"
    usual   standard deviation of its amount before anything is read
    keys    keys of the scene, by path, that hold it at an amount; empty for the meter
    light   whose output or place it is
    value   how it is told: the amount turned into `unit`, as reflectance, metres, or stops
    """

    name: str
    words: str
    kind: str
    unit: str
    usual: float
    keys: Callable[[Scene, float], Keys]
    value: Callable[[float], float]
    light: str | None = None

    @property
    def linear(self) -> bool:
        """Whether readings go with it in closed form, so that nothing has to be traced."""
        return self.kind in ("output", "meter")

    def of(self, scene: Scene, amount: float) -> Scene:
        """The scene with it. Raises InputError where that cannot be."""
        return changed(scene, self.keys(scene, amount)) if amount else scene

    def spread(self, amount: float, error: float) -> float:
        """The error of `value`, of an error of the amount."""
        return 0.5 * abs(self.value(amount + error) - self.value(amount - error))


def meter() -> Assumption:
    """The whole meter reads by so many stops too much."""
    return Assumption("meter", "the meter", "meter", "stops", METER, lambda scene, _: {}, lambda x: x)


def surfaces(scene: Scene, name: str, words: str, which: tuple[str, ...]) -> Assumption | None:
    """One common factor on the odds r / (1 - r) of some surfaces; None where all are black."""
    assert scene.room is not None
    levels = [luminance(getattr(scene.room.reflectance, it)) for it in which]
    several = [level for level in levels if level > 0.0]
    if not several:
        return None

    def keys(now: Scene, amount: float) -> Keys:
        assert now.room is not None
        rgb = {it: getattr(now.room.reflectance, it) for it in which}
        return {f"room.reflectance.{it}": _plain(lighter(value, amount)) for it, value in rgb.items()}

    def value(amount: float) -> float:
        return sum(_lighter(level, amount) for level in several) / len(several)

    return Assumption(name, words, "reflectance", "", ODDS, keys, value)


def card(scene: Scene, name: str) -> Assumption | None:
    """Reflectance of a card's front; None where a word says it, or it is black."""
    board = scene.card[name]
    rgb, path = board.front(), f"card.{name}"
    if board.finish in ("white", "black") or not luminance(rgb) > 0.0:
        return None
    words = f"reflectance of {path}"
    return Assumption(
        path, words, "reflectance", "", ODDS,
        lambda now, amount: {f"{path}.reflectance": _plain(lighter(now.card[name].front(), amount))},
        lambda amount: _lighter(luminance(rgb), amount),
    )  # fmt: skip


def output(scene: Scene, light: str) -> Assumption:
    """A lamp gives so many stops more than the scene says."""

    def keys(now: Scene, amount: float) -> Keys:
        return brighter(now, light, 2.0**amount)

    words = f"output of {light}"
    return Assumption(f"{light}.output", words, "output", "stops", OUTPUT, keys, lambda x: x, light)


def brighter(scene: Scene, light: str, factor: float) -> Keys:
    """The key that says how much light it gives at full dimmer, times a factor."""
    if light in scene.windows:
        return {f"room.window.{light}.lux": _rounded(factor * scene.windows[light].lux)}
    if light == FOUND and light not in scene.light and scene.room is not None and scene.room.found:
        return {"room.found.lux": _rounded(factor * scene.room.found.lux)}
    data, path = written(scene)["light"][light], f"light.{light}"
    for inner in ("lamp", "head"):
        if isinstance(data.get(inner), dict) and "lumens" in data[inner]:
            return {f"{path}.{inner}.lumens": _rounded(factor * data[inner]["lumens"])}
    for key in scene.light[light].levels:
        if data.get(key):
            return {f"{path}.{key}": _rounded(factor * data[key])}
    if data.get("readings"):
        return {f"{path}.readings": [[far, _rounded(factor * lux)] for far, lux in data["readings"]]}
    return {f"{path}.lumens": _rounded(factor * scene.light[light].flux())}  # of a photometric file


def _rounded(value: float) -> float:
    return float(f"{value:.5g}")


def height(scene: Scene, light: str) -> Assumption:
    """It hangs so many metres higher, aimed as before."""
    thing = Thing("light", light)
    z = thing.of(scene).centre(scene.sitter, scene.camera)[2]

    def keys(now: Scene, amount: float) -> Keys:
        x, y, level = thing.of(now).centre(now.sitter, now.camera)
        return _put(now, thing, (x, y, level + amount))

    return Assumption(
        f"{light}.height", f"height of {light}", "place", "m", PLACE, keys, lambda x: z + x, light
    )


def distance(scene: Scene, light: str) -> Assumption:
    """It is so many metres further from the nose, along the line to it."""
    thing = Thing("light", light)
    far = length(subtract(thing.of(scene).centre(scene.sitter, scene.camera), subject(scene)))

    def keys(now: Scene, amount: float) -> Keys:
        centre = thing.of(now).centre(now.sitter, now.camera)
        away = unit(subtract(centre, subject(now))) or (0.0, 0.0, 1.0)
        return _put(now, thing, add(centre, scale(away, amount)))

    words = f"distance of {light} from the nose"
    return Assumption(f"{light}.distance", words, "place", "m", PLACE, keys, lambda x: far + x, light)


def _put(scene: Scene, thing: Thing, point: tuple[float, float, float]) -> Keys:
    from renderer.scene import place

    x, y, z = point
    return placing(scene, thing, Spot(place.azimuth_of(scene.camera, point), math.hypot(x, y), z))


def lighter(rgb: RGB, amount: float) -> RGB:
    """A reflectance whose odds are e^amount as large, in each channel; 0 and 1 stay what they are."""
    red, green, blue = (_lighter(value, amount) for value in rgb)
    return red, green, blue


def _lighter(value: float, amount: float) -> float:
    odds = value * math.exp(amount)
    return odds / (1.0 - value + odds)


def _plain(rgb: RGB) -> float | list[float]:
    several = [round(value, 4) for value in rgb]
    return several[0] if len(set(several)) == 1 else several
