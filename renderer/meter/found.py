"""The room's own light brought to the level that was read: its layer alone, metered and scaled.

>>> world = settled(build(scene))
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from renderer.colour import luminance
from renderer.errors import InputError
from renderer.film.mix import Fader
from renderer.film.pool import Pool
from renderer.kernels import layout
from renderer.meter.face.points import Tracer, with_light_only
from renderer.meter.mark import FACE, OFF_SKIN, Mark, marks_of
from renderer.scene.found import FOUND
from renderer.world.build import World

WITHIN = 0.0025
"""Standard error, as a share of the level, to which the level is brought."""
REPLICAS = 16
FIRST_SAMPLES, MOST_SAMPLES = 512, 1 << 14  # of each replica
OWN_SEED = 0x0F09_5EED  # moves the seed, so that the readings of a film are independent of this one


def face_dome(world: World) -> Mark:
    """Where the dome was held: the mark "face" where it is a dome, else before the eyes, to the lens.

    Without such a mark: at eye height over the origin with nobody in the chair, and before the face of a
    sitter without landmarks or with another meter at "face".
    """
    marks, _ = marks_of(world)
    for mark in marks:
        if mark.name == FACE and mark.meter == "dome":
            return mark
    lens, eyes = np.array(world.scene.camera.at), np.array(world.scene.sitter.eyes)
    to_lens = (lens - eyes) / np.linalg.norm(lens - eyes)
    at = eyes if world.sitter is None else eyes + _front(world, eyes, to_lens) * to_lens
    return Mark(FACE, "dome", at, to_lens, "dome to the lens")


def _front(world: World, eyes: np.ndarray, to_lens: np.ndarray) -> float:
    """How far [m] before the eyes the receptor clears the head, on the line to the lens."""
    assert world.sitter is not None
    away = world.sitter.triangles.vertices - eyes
    along = away @ to_lens
    near = np.linalg.norm(away - along[:, None] * to_lens, axis=1) < 2.0 * OFF_SKIN
    return float(along[near].max(initial=0.0)) + OFF_SKIN


def settled(world: World, threads: int | None = None, seed: int = 0) -> World:
    """The world with the ceiling of `room.found` as bright as its reading asks for; others unchanged.

    The luminance is brought to a standard error of `WITHIN`; where `MOST_SAMPLES` come before that it stays
    larger, and above a tenth of the level it is refused.
    Raises InputError where none of its light comes to the meter.
    """
    found = world.scene.room.found if world.scene.room is not None else None
    names = [layer.name for layer in world.layers]
    if found is None or FOUND not in names:
        return world
    number = names.index(FOUND)
    weight = replace(Fader.of(world.layers[number]), dim=1.0).weight()
    read, error = read_dome(world, number, weight, threads, seed)
    if not read > 0.0 or error > 0.1 * read:
        raise InputError(
            f"room.found.lux: {found.lux:g} lux cannot be had: next to none of the ceiling's light comes to"
            " the meter at the face; expected the face clear of lights and boards"
        )
    return scaled(world, number, found.lux / read)


def read_dome(
    world: World, number: int, weight: np.ndarray, threads: int | None = None, seed: int = 0
) -> tuple[float, float]:
    """Lux of one layer alone, its white weighed by (3,) factors, at the face; and its standard error."""
    world = world.bare_faced
    mark, alone = face_dome(world), with_light_only(world.packed, number)
    at, axis = mark.at[None], mark.axis[None]
    samples = FIRST_SAMPLES
    with Pool(threads) as pool:
        tracer = Tracer(pool, world.camera, seed ^ OWN_SEED)
        while True:
            light = tracer.arriving(alone, at, axis, samples, REPLICAS, layout.DOME, off=0.0)
            if pool.halted.is_set():  # half a reading is none
                raise KeyboardInterrupt
            lux = luminance(light[:, 0, 0].sum(axis=1) * weight)
            read, error = float(lux.mean()), float(lux.std(ddof=1) / math.sqrt(REPLICAS))
            if error <= WITHIN * read or samples >= MOST_SAMPLES:
                return read, error
            samples *= 2


def scaled(world: World, number: int, factor: float) -> World:
    """The world with one layer `factor` times as bright, in what is packed and in what is written."""
    shapes = world.packed.shapes.copy()
    own = shapes["light"] == number
    shapes["luminance"] = np.where(own, factor * shapes["luminance"], shapes["luminance"])
    layers = list(world.layers)
    old = layers[number]
    parts = tuple(replace(part, luminance=factor * part.luminance) for part in old.parts)
    layers[number] = replace(old, parts=parts, flux=factor * old.flux)
    return replace(world, layers=layers, packed=world.packed._replace(shapes=shapes))
