"""What a room gives back: nothing in open black space; in a pale room what an integrating sphere would."""

from __future__ import annotations

import math

import numpy as np
import pytest
from face_lab import EYES, THREADS, head, text, under

from renderer.film.pool import Pool
from renderer.kernels.layout import ROOM, PackedScene
from renderer.meter.face import Finding
from renderer.meter.face.ambient import room_limits
from renderer.meter.face.points import Tracer
from renderer.meter.mark import KEY_CHEEK, SHADOW_CHEEK, Mark, marks_of
from renderer.world.build import World

AHEAD = np.array([0.0, 1.0, 0.0])


def limits(world: World, marks: list[Mark]) -> dict[str, Finding]:
    with Pool(THREADS) as pool:
        return room_limits(Tracer(pool, world.camera, 5), world, marks, 0, AHEAD)


def test_open_black_space_gives_nothing_back() -> None:
    world = under(text(90.0, 0.0))
    found = limits(world, marks_of(world)[0])
    assert found["ambient_lift"].number == -math.inf


def test_a_frontal_key_limits_the_ratio_itself() -> None:
    world = under(text(10.0, 30.0))
    found = limits(world, marks_of(world)[0])
    assert "100 % of the far cheek's reading is the key itself" in found["highest_ratio"].why


def in_room(scene: PackedScene, half: float, reflectance: float) -> PackedScene:
    box = np.zeros(1, ROOM)
    box[0] = (1, (-half, -half, 0.0), (half, half, 2.0 * half), np.full((6, 3), reflectance))
    return scene._replace(room=box)


def test_pale_room_against_the_integrating_sphere() -> None:
    """Bounce of a lamp of flux F in a closed room of area A: E = F rho / (A (1 - rho)), even on every disc.

    A cube of 3 m with a small lamp 1 m off its middle is not quite even: 10 % are allowed for that.
    """
    world = under(text(90.0, math.degrees(math.asin(0.3)), 1.0))
    rho, half, flux = 0.8, 1.5, 1000.0
    lit = World(world.scene, world.layers, in_room(world.packed, half, rho), world.camera, head().sitter)
    lamp = np.array([math.sqrt(1.0 - 0.09), 0.0, EYES + 0.3])
    at = np.array([0.3, 0.3, EYES])
    axis = (lamp - at) / np.linalg.norm(lamp - at)
    mark = Mark(KEY_CHEEK, "flat", at, axis, "")
    side = Mark(SHADOW_CHEEK, "flat", at, -axis, "")
    found = limits(lit, [mark, side])
    bounce = flux * rho / (6.0 * (2.0 * half) ** 2 * (1.0 - rho))
    direct = flux / (4.0 * math.pi * float(np.sum((lamp - at) ** 2)))
    wanted = math.log2(bounce / (direct + bounce))
    # the sitter stands in the room for the disc that faces the lamp; it darkens the bounce there a little
    assert found["ambient_lift"].number == pytest.approx(wanted, abs=math.log2(1.1))
