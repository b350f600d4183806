"""The room's own light as it was found: the level against closed forms, and what a traced scene reads."""

from __future__ import annotations

import math

import pytest
import view_factor as vf

from renderer.errors import InputError
from renderer.meter.found import WITHIN, face_dome, settled
from renderer.meter.reading import Reading
from renderer.preview import Preview
from renderer.scene.caution import cautions
from renderer.scene.layer import layers
from renderer.scene.load import loads
from renderer.scene.summary import summary
from renderer.world.build import World, build

LIMIT = 4.0  # standard errors
WIDTH, DEPTH, HEIGHT, BEHIND, EYES = 4.0, 5.0, 2.6, 2.0, 1.2
ROOM = f"[room]\nwidth = {WIDTH}\ndepth = {DEPTH}\nheight = {HEIGHT}\nback_wall = {BEHIND}\n"
FOUND = "[room.found]\nlux = 40\ncct = 3000\n"
CAMERA = f"[camera]\nat = [0, 2, {EYES}]\n"
NOBODY = f'[sitter]\nmesh = "none"\neye_height = {EYES}\n'
BLACK = "[room.reflectance]\n" + "".join(
    f"{name} = 0\n" for name in ("floor", "ceiling", "back", "front", "camera_left", "camera_right")
)
WALLS = "[room.reflectance]\nback = [0.6, 0.3, 0.2]\ncamera_left = [0.2, 0.3, 0.6]\n"
SITTER = f"[sitter]\neye_height = {EYES}\n"
KEY = '[light.key]\nsource = "disc"\naround = { azimuth = 45, distance = 1.2, height = 1.8 }\n' + (
    "diameter = 0.6\nlumens = 900\n"
)
TRACED = {"within": 0.02, "picture": False, "face": False, "threads": 2}


def world_of(*texts: str) -> World:
    return build(loads("".join(texts)))


def solid_angle(x: float, y: float, h: float) -> float:
    """Of a rectangle x by y, seen from h under one of its corners [sr]. H. Gotoh and H. Yagi, Solid angle
    subtended by a rectangular slit, Nucl. Instrum. Methods 96, 1971 (from memory)."""
    return math.atan(x * y / (h * math.sqrt(x * x + y * y + h * h)))


def test_level_in_a_black_room() -> None:
    """A dome weighs light by (1 + cos) / 2: under an even ceiling it reads L (solid angle + pi F) / 2, F that
    of an upright element, of which the part behind its back counts against it."""
    world = settled(world_of(ROOM, BLACK, FOUND, CAMERA, NOBODY), 2, 5)
    under, side, ahead = HEIGHT - 0.001 - EYES, WIDTH / 2, DEPTH - BEHIND
    omega = 2 * (solid_angle(side, ahead, under) + solid_angle(side, BEHIND, under))
    corners = [(x, y, under) for x, y in ((-side, -BEHIND), (side, -BEHIND), (side, ahead), (-side, ahead))]
    factor = vf.polygon(corners, (0, 0, 0), (0, 1, 0)) - vf.polygon(corners, (0, 0, 0), (0, -1, 0))
    luminance = 40.0 / ((omega + math.pi * factor) / 2)
    found = world.layers[-1]
    assert found.name == "found" and found.purpose == "practical"
    assert found.parts[0].luminance == pytest.approx(luminance, rel=LIMIT * WITHIN)
    assert found.flux == pytest.approx(math.pi * WIDTH * DEPTH * found.parts[0].luminance)
    assert world.packed.shapes["luminance"][-1] == found.parts[0].luminance


def test_nobody_holds_it_at_eye_height_over_the_origin() -> None:
    mark = face_dome(world_of(ROOM, FOUND, CAMERA, NOBODY))
    assert tuple(mark.at) == (0.0, 0.0, EYES) and tuple(mark.axis) == (0.0, 1.0, 0.0)


def test_face_reads_what_was_read_in_the_room() -> None:
    """Coloured walls, coloured light, a sitter and a key that stands in the way; the error of the level and
    that of the film are independent."""
    tinted = FOUND + "colour = [1.0, 0.9, 0.5]\n"
    text = ROOM + tinted + WALLS + CAMERA + SITTER + KEY
    preview = Preview.trace(loads(text), seed=3, **TRACED)
    without = Preview.trace(loads(text.replace(tinted, "")), seed=4, **TRACED)

    def level(of: Preview) -> Reading:
        return of.numbers().marks["face"].level

    alone = level(preview.mixed(solo=["found"]))
    assert abs(alone.value - 40.0) < LIMIT * math.hypot(alone.error, 40.0 * WITHIN)
    both, key = level(preview), level(preview.mixed(mute=["found"]))
    assert both.value == pytest.approx(alone.value + key.value)
    half = level(preview.mixed(dim={"found": 0.5}))
    assert half.value == pytest.approx(0.5 * alone.value + key.value)
    # The ceiling is as it was for the key.
    ratio = preview.mixed(solo=["key"]).numbers().measures["lighting_ratio"]
    before = without.numbers().measures["lighting_ratio"]
    assert abs(ratio.value - before.value) < LIMIT * math.hypot(ratio.error, before.error)
    assert abs(key.value - level(without).value) < LIMIT * math.hypot(key.error, level(without).error)


def test_the_scene_s_own_dome_at_the_face_is_the_one() -> None:
    own = '[mark.face]\nat = [0, 0.3, 1.3]\nfacing = "up"\nmeter = '
    assert tuple(face_dome(world_of(ROOM, FOUND, CAMERA, own + '"dome"\n')).at) == (0.0, 0.3, 1.3)
    flat = face_dome(world_of(ROOM, FOUND, CAMERA, SITTER, own + '"flat"\n'))
    nose = face_dome(world_of(ROOM, FOUND, CAMERA, SITTER))
    assert flat.meter == "dome" and flat.axis[1] > 0.99
    assert 0.0 < nose.at[1] < 0.1 and 0.0 < flat.at[1] < 0.1


def test_a_meter_shut_off_from_the_room() -> None:
    lid = "[flag.lid]\nat = [0, 0.5, 2.59]\naim = [0, 0.5, 0]\nwidth = 5\nheight = 5\n"
    hidden = world_of(ROOM.replace("width = 4.0", "width = 5"), FOUND, CAMERA, NOBODY, lid)
    with pytest.raises(InputError) as caught:
        settled(hidden, 2)
    assert len(caught.value.lines) == 1
    assert caught.value.lines[0].startswith("room.found.lux: 40 lux cannot be had: next to none")


def test_a_world_without_it_stays_as_it_is() -> None:
    world = world_of(ROOM, CAMERA, NOBODY, KEY)
    assert settled(world) is world


def test_it_is_told_and_hangs_nowhere() -> None:
    scene = loads(ROOM + FOUND + CAMERA + SITTER + KEY)
    assert [layer.name for layer in layers(scene)] == ["key", "found"]
    told = " ".join(" ".join(summary(scene)).split())
    assert "room.found: off the ceiling, purpose practical" in told
    assert "40 lux on a dome at the face" in told and "3000 K" in told
    assert not [line for line in cautions(scene) if "found" in line]
