"""Moving a light or a board: its place round the sitter as numbers, and the scene with it elsewhere."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from renderer.errors import InputError
from renderer.scene import place
from renderer.scene.change import changed
from renderer.scene.models import Scene
from renderer.scene.standing import Standing

FAMILIES = ("light", "card", "flag", "breakup")


@dataclass(frozen=True)
class Thing:
    """A light, card, flag or breakup by family and name."""

    family: str
    name: str

    @property
    def path(self) -> str:
        return f"{self.family}.{self.name}"

    def of(self, scene: Scene) -> Standing:
        found: Standing = getattr(scene, self.family)[self.name]
        return found


@dataclass(frozen=True)
class Spot:
    """azimuth [deg] from the line sitter to camera, positive to camera right; horizontal distance from the
    line through the pupils, height over the floor [m]; both of the centre."""

    azimuth: float
    distance: float
    height: float

    def as_json(self) -> dict[str, float]:
        return {
            "azimuth_deg": round(self.azimuth, 2),
            "distance_m": round(self.distance, 4),
            "height_m": round(self.height, 4),
        }

    def words(self) -> str:
        return f"azimuth {self.azimuth:.0f} deg, distance {self.distance:.2f} m, height {self.height:.2f} m"


def thing_of(scene: Scene, word: str, what: str) -> Thing:
    """`key`, `light.key` or `card.fill`. Raises InputError for what is not there; `what` names the option."""
    family, dot, name = word.partition(".")
    for kind in FAMILIES:
        if dot and family == kind and name in getattr(scene, kind):
            return Thing(kind, name)
        if word in getattr(scene, kind):
            return Thing(kind, word)
    names = [*scene.light, *(f"{kind}.{it}" for kind in FAMILIES[1:] for it in getattr(scene, kind))]
    near = get_close_matches(word, names, 1, 0.4)
    hint = f'; did you mean "{near[0]}"?' if near else ""
    raise InputError(f'{what}: there is no light or board "{word}"{hint} (there are: {", ".join(names)})')


def spot_of(scene: Scene, thing: Thing) -> Spot:
    """Where it stands now."""
    x, y, z = thing.of(scene).centre(scene.sitter, scene.camera)
    return Spot(place.azimuth_of(scene.camera, (x, y, z)), math.hypot(x, y), z)


def moved(scene: Scene, thing: Thing, spot: Spot, more: Mapping[str, Any] | None = None) -> Scene:
    """The scene with a thing elsewhere; its aim as written, or at the nose. `more`: other keys by path.

    Raises InputError for a place where it does not fit.
    """
    return changed(scene, {**placing(scene, thing, spot), **(more or {})})


def placing(scene: Scene, thing: Thing, spot: Spot) -> dict[str, Any]:
    """The keys that put a thing there, written the way its file writes its place."""
    if thing.of(scene).at is not None:
        point = place.around(scene.camera, spot.azimuth, spot.distance, spot.height)
        return {f"{thing.path}.at": [round(value, 5) for value in point]}
    values = {"azimuth": spot.azimuth, "distance": spot.distance, "height": spot.height}
    around = {key: round(value, 5) for key, value in values.items()}
    written = thing.of(scene).around
    if written is None or written.distance is None:  # written by elevation and radius
        return {f"{thing.path}.around": around}
    return {f"{thing.path}.around.{key}": value for key, value in around.items()}
