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
from renderer.scene.gel import stacked
from renderer.scene.lights import Light
from renderer.scene.models import Room, Scene, Window
from renderer.scene.parts import RGB, Part, Vec3
from renderer.scene.skin import luminance


@dataclass(frozen=True)
class Layer:
    """One light or window, or the room's own light.

    parts   in the world, at full dimmer and neutral colour
    dim     0..1, cct [K] and colour (factors) are applied after tracing
    cct     of its white behind its gels
    colour  with what the gels cost in stops in all three
    flux    lumens at full dimmer, before any skirt, crate and gel
    """

    name: str
    purpose: str
    parts: tuple[Part, ...]
    dim: float
    cct: float
    colour: RGB
    flux: float

    def luminance(self, eye: Vec3) -> float:
        """Of its brightest face [cd/m2] as an eye has it, with its dimmer, gels and colour as they are."""
        seen = (
            part.luminance * factor_towards(part, point, eye) * _brightest(part)
            for part in sight.open_parts(self.parts)
            for point in sight.seen_points(part, eye, self.parts)
        )
        return max(seen, default=0.0) * self.dim * luminance(self.colour)


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
        cct, colour = _gelled(light)
        found.append(Layer(name, light.purpose, parts, light.dim, cct, colour, light.flux()))
    if scene.room is not None:
        for name, window in scene.room.window.items():
            parts = tuple(window.parts(scene.room))
            cct, colour = _gelled(window)
            found.append(Layer(name, window.purpose, parts, window.dim, cct, colour, window.flux()))
        if scene.room.found is not None:
            found.append(_found(scene.room, scene.room.found))
    return found


def _found(room: Room, light: FoundLight) -> Layer:
    """The room's own light; its level is a guess here (see `renderer.meter.found`)."""
    parts = tuple(light.parts(room.lower, room.upper, room.reflectance.ceiling))
    flux = math.pi * parts[0].luminance * room.width * room.depth
    return Layer(FOUND, light.purpose, parts, light.dim, light.cct, light.colour, flux)


def _brightest(part: Part) -> float:
    """Luminance of the brightest place of a part over its mean."""
    if part.glow is None:
        return 1.0
    cells = [value for row in part.glow for value in row]
    return max(cells) * len(cells) / sum(cells)


def _gelled(thing: Light | Window) -> tuple[float, RGB]:
    """Colour temperature [K] and factors behind the gels: the one moves by mired, the others lose stops."""
    gel = stacked(thing.gel)
    r, g, b = (factor * gel.transmission() for factor in thing.colour)
    return gel.behind(thing.cct), (r, g, b)


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
