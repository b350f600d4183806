"""All but what traces, compiled by a second process while this one compiles that, which takes three times as
long.

Run as a program it makes nothing but files in the compile cache: of the kernels that build trees, and of
those that mix, clean and develop a film and take light over while a lamp is moved.
"""

from __future__ import annotations

import subprocess
import sys
from contextlib import suppress

import numpy as np

from renderer.film.film import Film
from renderer.film.mix import Fader, Mix
from renderer.film.place import Place
from renderer.film.share import usable_cores
from renderer.kernels.compiler import cache_folder
from renderer.live.live import Kept, cleaned
from renderer.picture.develop import developed
from renderer.scene.load import loads
from renderer.scene.models import Scene
from renderer.world.build import build
from renderer.world.pack import Triangles, pack_mesh

SCENE = """
room = { width = 4.0, depth = 4.0, height = 2.5, back_wall = 1.5 }
[sitter]
mesh = "none"
[camera]
picture = [16, 16]
[light.key]
source = "bulb"
at = [0.1, 0.2, 1.2]
diameter = 0.1
lumens = 500
"""
"""Kernels are the same for all scenes, so the least will do in which paths go on and a lamp is seen."""


def begin() -> subprocess.Popen[bytes] | None:
    """The second process, where nothing is compiled yet and there is a core for it.

    It is a help and no more: where it fails, or is not done in time, this process compiles the rest itself.
    """
    if usable_cores() < 2:
        return None
    command, nowhere = [sys.executable, "-m", __name__], subprocess.DEVNULL
    with suppress(OSError):
        cache_folder().mkdir(parents=True)  # fails where kernels lie already, or none can be kept
        return subprocess.Popen(command, stdin=nowhere, stdout=nowhere, stderr=nowhere)
    return None


def compile_rest() -> None:
    """Compile by work on a film of few pixels that nothing was traced for."""
    pack_mesh(triangle())
    world = build(smallest())
    mix = Mix(tuple(map(Fader.of, world.layers)))
    width, height = world.scene.camera.picture
    film = Film.empty(width, height, 0, mix)
    cleaned(film, threads=1)
    film.layers(0.0, 0, False)
    place = Place(threads=1)
    relit = Kept(world, film, place).relit
    relit.take_over(relit.part(1), [0])
    developed(place, relit.picture(mix), 1.0)


def smallest() -> Scene:
    """The scene by which kernels are compiled."""
    return loads(SCENE, "prepare")


def triangle() -> Triangles:
    """The least mesh that a tree is built over."""
    corners, up = np.eye(3), np.tile([0.0, 0.0, 1.0], (3, 1))
    return Triangles(corners, up, up, np.zeros(3), np.array([[0, 1, 2]]), np.zeros(1, int))


if __name__ == "__main__":
    compile_rest()
