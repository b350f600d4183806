"""What the tracing of a scene depends on, so that another scene can be told to have the same light.

A light's own layer changes whenever anything else moves: the body of another light, of a card or of the
sitter blocks and reflects it. So layers are taken over only where every shape, surface, mesh, place of a
meter and the camera's view are the same, bit for bit. What may differ is what the layers are multiplied by
afterwards: dimmer, colour temperature, colour and gel, which are no part of a layer, and how bright a light
is at full, since light is linear. Exposure, white balance, targets, titles and circuits are not traced.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import blake2b

import numpy as np

from renderer.kernels.layout import PackedScene
from renderer.meter.mark import key_light, marks_of, probes_of
from renderer.scene.found import FOUND
from renderer.world.build import World

SAME_TO = np.float32
"""Ratios of luminances within a light are compared in single precision: they come out of divisions."""


@dataclass(frozen=True)
class Footprint:
    """digest of all that is traced; levels: luminance [cd/m2] of each light's brightest shape at full."""

    digest: str
    levels: tuple[float, ...]


def footprint(world: World) -> Footprint:
    """The footprint of a world as built, its found light not yet settled. Raises InputError for a mark that
    cannot be placed."""
    shapes = world.packed.shapes
    levels = []
    relative = np.zeros(len(shapes))
    for number in range(len(world.layers)):
        own = shapes["light"] == number
        level = float(shapes["luminance"][own].max(initial=0.0))
        levels.append(level)
        if level > 0.0:
            relative[own] = shapes["luminance"][own] / level
    total = blake2b(digest_size=20)
    for piece in (*_words(world, levels), *_arrays(world, relative)):
        total.update(len(piece).to_bytes(8, "little"))
        total.update(piece)
    return Footprint(total.hexdigest(), tuple(levels))


def _words(world: World, levels: list[float]) -> Iterator[bytes]:
    """What measures and meters read beside the arrays."""
    yield repr([layer.name for layer in world.layers]).encode()
    yield repr([level > 0.0 for level in levels]).encode()
    yield (key_light(world) if world.layers else "").encode()
    yield repr([(mark.name, mark.meter, mark.what) for mark in marks_of(world)[0]]).encode()
    yield repr(sorted(world.boards.items())).encode()
    yield world.scene.sitter.model_dump_json().encode()
    found = world.scene.room.found if world.scene.room is not None else None
    if found is not None:  # its level is set by a reading under its own colour
        yield FOUND.encode() + found.model_dump_json(exclude={"lux", "dim"}).encode()


def _arrays(world: World, relative: np.ndarray) -> Iterator[bytes]:
    packed: PackedScene = world.packed
    for name in packed.shapes.dtype.names or ():
        plane = relative.astype(SAME_TO) if name == "luminance" else packed.shapes[name]
        yield plane.tobytes()
    for records in (
        packed.lights,
        packed.room,
        packed.lenses,
        packed.materials,
        world.camera,
        probes_of(marks_of(world)[0]),
    ):
        for name in records.dtype.names or ():
            yield name.encode() + records[name].tobytes()
    for plane in (packed.cards, packed.glows, packed.beams, packed.masks, *packed.mesh):
        yield repr(plane.shape).encode()
        yield np.ascontiguousarray(plane).tobytes()
    for name, mark in sorted(world.landmarks.items()):
        yield name.encode() + mark.position.tobytes() + mark.normal.tobytes()
