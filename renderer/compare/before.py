"""A room as it was found, beside the same room as lit."""

from __future__ import annotations

from typing import Any

from renderer.compare.comparison import Comparison, side_by_side
from renderer.errors import InputError
from renderer.scene.change import written
from renderer.scene.layer import layers
from renderer.scene.models import Scene
from renderer.scene.parts import Vec3
from renderer.scene.validate import checked
from renderer.scene.vector import blend, subtract, unit

RIGGED = ("light", "card", "flag", "breakup", "support", "circuit", "target")
"""What is brought in, and what is wanted of it: all of it goes."""


def as_found(scene: Scene) -> Scene:
    """The scene before anything was rigged: room, sitter and camera, the room's own light and its windows at
    full; every light, card, flag and breakup taken away, bodies and all. Meters stay where they are, turned
    to where the lights will be.

    Raises InputError for a scene whose room has neither a light of its own nor a window.
    """
    found = scene.room.found if scene.room is not None else None
    if found is None and not scene.windows:
        name = f'"{scene.title}"' if scene.title else "the scene"
        raise InputError(
            f"{name}: nothing lights the room as it was found; expected [room.found], a reading in lux, or"
            " a [room.window.NAME]"
        )
    centres = {layer.name: _centre(layer.parts) for layer in layers(scene)}
    data = {key: value for key, value in written(scene).items() if key not in RIGGED}
    data["title"] = f"{scene.title}: as found" if scene.title else "As found"
    data["note"] = "Nothing rigged yet: the room's own light."
    for source in (data["room"].get("found"), *data["room"].get("window", {}).values()):
        if source is not None:
            source["dim"] = 1.0
    for name, mark in data.get("mark", {}).items():
        if mark["facing"] in scene.light:
            at = scene.mark[name].at
            eyes = scene.sitter.eyes
            away = unit(subtract(centres[mark["facing"]], eyes if isinstance(at, str) else at))
            mark["facing"] = list(away or (0.0, 1.0, 0.0))
    made, faults = checked(data, scene.source_path)
    if made is None or faults:
        raise InputError(*(f"as found: {text}" for _, text in faults))
    return made


def _centre(parts: Any) -> Vec3:
    """Middle of a light's parts; good enough to turn a meter to."""
    return blend(*((1.0 / len(parts), part.shape.centre) for part in parts))


def before_and_after(scene: Scene, **options: Any) -> Comparison:
    """The room as found (A) beside the room as lit (B), at one exposure; `options` as of `Preview.trace`."""
    return side_by_side([as_found(scene), scene], **options)
