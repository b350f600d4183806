"""The scene as lists of parts in the world: a layer for each light and window, and the boards."""

from __future__ import annotations

from dataclasses import dataclass

from renderer.scene.models import Scene
from renderer.scene.parts import RGB, Part


@dataclass(frozen=True)
class Layer:
    """One light or window.

    parts   in the world, at full dimmer and neutral colour
    dim     0..1, cct [K] and colour (factors) are applied after tracing
    flux    lumens at full dimmer, before any skirt
    """

    name: str
    purpose: str
    parts: tuple[Part, ...]
    dim: float
    cct: float
    colour: RGB
    flux: float


def layers(scene: Scene) -> list[Layer]:
    """A layer for each light, in the order of the file, then for each window."""
    found = []
    for name, light in scene.light.items():
        parts = tuple(light.parts(light.placed(scene.sitter, scene.camera)))
        found.append(Layer(name, light.purpose, parts, light.dim, light.cct, light.colour, light.flux()))
    if scene.room is not None:
        for name, window in scene.room.window.items():
            parts = tuple(window.parts(scene.room))
            found.append(
                Layer(name, window.purpose, parts, window.dim, window.cct, window.colour, window.flux())
            )
    return found


def boards(scene: Scene) -> dict[str, tuple[Part, ...]]:
    """The parts of each card and flag, by `card.NAME` and `flag.NAME`."""
    found = {}
    for family, named in (("card", scene.card), ("flag", scene.flag)):
        for name, board in named.items():
            found[f"{family}.{name}"] = tuple(board.parts(board.placed(scene.sitter, scene.camera)))
    return found
