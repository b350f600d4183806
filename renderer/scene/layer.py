"""The scene as lists of parts in the world: a layer for each light and window, and the boards."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from renderer.scene import sight
from renderer.scene.beam import factor_towards
from renderer.scene.breakup import Breakup
from renderer.scene.found import FOUND, FoundLight
from renderer.scene.models import Room, Scene
from renderer.scene.parts import Part, Vec3
from renderer.scene.skin import luminance
from renderer.scene.white import White


@dataclass(frozen=True)
class Layer:
    """One light or window, or the room's own light.

    parts   in the world, at full dimmer and neutral colour
    dim     0..1, applied after tracing, as white is
    white   its colour temperature, gels and factors
    flux    lumens at full dimmer, before any skirt, crate and gel
    """

    name: str
    purpose: str
    parts: tuple[Part, ...]
    dim: float
    white: White
    flux: float

    def luminance(self, eye: Vec3) -> float:
        """Of its brightest face [cd/m2] as an eye has it, with its dimmer, gels and colour as they are."""
        seen = (
            part.luminance * factor_towards(part, point, eye) * _brightest(part)
            for part in sight.open_parts(self.parts)
            for point in sight.seen_points(part, eye, self.parts)
        )
        return max(seen, default=0.0) * self.dim * luminance(self.white.factors)


class Purposeful(Protocol):
    """A light by name and purpose: a layer, or its fader in a mix."""

    @property
    def name(self) -> str: ...
    @property
    def purpose(self) -> str: ...


def key_of(lights: Sequence[Purposeful]) -> str:
    """The light that ratios are read against: the first whose purpose is key, else the first of all."""
    return next((light.name for light in lights if light.purpose == "key"), lights[0].name)


def layers(scene: Scene) -> list[Layer]:
    """A layer for each light, in the order of the file, for each window, and for the room's own light."""
    found = []
    for name, light in scene.light.items():
        parts = tuple(light.parts(light.placed(scene.sitter, scene.camera)))
        found.append(Layer(name, light.purpose, parts, light.dim, light.white(), light.flux()))
    if scene.room is not None:
        for name, window in scene.room.window.items():
            parts = tuple(window.parts(scene.room))
            found.append(Layer(name, window.purpose, parts, window.dim, window.white(), window.flux()))
        if scene.room.found is not None:
            found.append(_found(scene.room, scene.room.found))
    return found


def _found(room: Room, light: FoundLight) -> Layer:
    """The room's own light; its level is a guess here (see `renderer.meter.found`)."""
    parts = tuple(light.parts(room.lower, room.upper, room.reflectance.ceiling))
    flux = math.pi * parts[0].luminance * room.width * room.depth
    return Layer(FOUND, light.purpose, parts, light.dim, light.white(), flux)


def _brightest(part: Part) -> float:
    """Luminance of the brightest place of a part over its mean."""
    if part.glow is None:
        return 1.0
    cells = [value for row in part.glow for value in row]
    return max(cells) * len(cells) / sum(cells)


def boards(scene: Scene) -> dict[str, tuple[Part, ...]]:
    """The parts of each card, flag and breakup, by `card.NAME` and so on.

    Raises InputError for a breakup whose picture cannot be read.
    """
    found = {}
    for family, named in scene.boards().items():
        for name, board in named.items():
            parts = board.parts(board.placed(scene.sitter, scene.camera))
            if isinstance(board, Breakup):
                parts = [replace(part, mask=board.mask(scene.source_path)) for part in parts]
            found[f"{family}.{name}"] = tuple(parts)
    return found
