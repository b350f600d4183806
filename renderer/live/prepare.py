"""All kernels compiled ahead, by a picture of a few pixels in which a light moves."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from renderer.errors import InputError
from renderer.film.device import AUTO, GPU
from renderer.film.film import Film
from renderer.film.mix import Fader, Mix
from renderer.kernels.compiler import cache_folder
from renderer.kernels.shelf import Shelf
from renderer.live import ahead
from renderer.live.live import Live
from renderer.scene.change import changed
from renderer.scene.load import loads
from renderer.scene.models import Scene
from renderer.world.pack import Triangles, pack_mesh

SCENE = """
[sitter]
mesh = "none"
[camera]
picture = [16, 16]
[light.key]
source = "bulb"
at = [0.5, 1.0, 1.6]
diameter = 0.1
lumens = 500
"""
"""Kernels are the same for all scenes, so the least of them will do: no room, an empty chair, one bulb."""


@dataclass(frozen=True)
class Prepared:
    """Names of kernels that lay on disk and of those just compiled, where they lie, and the seconds."""

    found: list[str]
    made: list[str]
    folder: Path
    seconds: float


def prepare(on: str = AUTO) -> Prepared:
    """Compile what is not on disk yet, for the processor or a place of `renderer.film.device`.

    Raises InputError for a folder that cannot be written, before it compiles, and for a card that is not
    there.
    """
    started, folder = time.monotonic(), cache_folder()
    found, made = len(Shelf.found), len(Shelf.made)
    Shelf.strict = True
    beside = ahead.begin() if on != GPU else None
    try:
        scene = smallest()
        with Live(on) as live:
            live.show(scene)
            live.show(changed(scene, {"light.key.diameter": 0.2}))
        Film.empty(1, 1, 0, Mix((Fader("key"),))).layers(0.0, 0, False)
        pack_mesh(triangle())
    except OSError as error:
        raise InputError(
            f"halfstop prepare: compiled kernels cannot be kept in {folder}: {error.strerror or error};"
            " HALFSTOP_CACHE names another folder"
        ) from None
    finally:
        Shelf.strict = False
    lay_there, made_now = Shelf.found[found:], Shelf.made[made:]
    if beside:  # nothing lay there before
        lay_there, made_now = [], made_now + lay_there
        beside.wait()
    return Prepared(lay_there, made_now, folder, time.monotonic() - started)


def smallest() -> Scene:
    """The scene by which kernels are compiled."""
    return loads(SCENE, "prepare")


def triangle() -> Triangles:
    """The least mesh that a tree is built over."""
    corners, up = np.eye(3), np.tile([0.0, 0.0, 1.0], (3, 1))
    return Triangles(corners, up, up, np.zeros(3), np.array([[0, 1, 2]]), np.zeros(1, int))
