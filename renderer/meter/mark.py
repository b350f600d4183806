"""Where the meter is held: the marks of the scene, and those that every sitter gets.

Distances and directions of the standing marks follow practice: a flat disc at the key-side cheek facing
the key, one at the other cheek turned 45 degrees off the lens away from the key, a dome at the nose
towards the lens (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from renderer.errors import InputError
from renderer.kernels import layout
from renderer.scene.landmark import SPOKEN, unknown
from renderer.scene.layer import key_of
from renderer.scene.models import Mark as WrittenMark
from renderer.scene.place import head_axes, to_camera_right, towards_camera
from renderer.world.build import World
from renderer.world.sitter import Landmark

OFF_SKIN = 0.020  # m between the skin and the receptor
SPOT_HALF_ANGLE = math.radians(0.5)  # a spot meter of one degree
KIND = {"flat": layout.FLAT, "dome": layout.DOME, "spot": layout.CONE}
FACE, KEY_CHEEK, SHADOW_CHEEK = "face", "key_cheek", "shadow_cheek"
KEY_SPOT, SHADOW_SPOT = "key_cheek_spot", "shadow_cheek_spot"


@dataclass(frozen=True)
class Mark:
    """A meter in the world.

    meter  "flat" (cosine receptor), "dome" (hemispherical receptor) or "spot" (a cone from the lens)
    at     place of the receptor; of a spot meter, the lens [m]
    axis   unit: normal of the receptor, or line of sight
    what   what it measures, in words
    """

    name: str
    meter: str
    at: np.ndarray
    axis: np.ndarray
    what: str


def light_centre(world: World, name: str) -> np.ndarray:
    """Middle of a light's open faces, by area [m]."""
    index = [layer.name for layer in world.layers].index(name)
    light = world.packed.lights[index]
    shapes = world.packed.shapes[light["first"] : light["first"] + light["count"]]
    return np.asarray((shapes["middle"] * shapes["area"][:, None]).sum(axis=0) / shapes["area"].sum())


def key_light(world: World) -> str:
    """The light that ratios are read against; see `key_of`."""
    return key_of(world.layers)


def key_is_at_sitter_left(world: World) -> bool:
    """Whether the key stands on the sitter's left, seen by the head as it is turned."""
    _, left, _ = head_axes(world.scene.sitter, world.scene.camera)
    return bool((light_centre(world, key_light(world)) - np.array(world.scene.sitter.eyes)) @ left >= 0.0)


def probes_of(marks: list[Mark]) -> np.ndarray:
    """PROBE records for the kernels."""
    probes = np.zeros(len(marks), layout.PROBE)
    for record, mark in zip(probes, marks, strict=True):
        record["kind"] = KIND[mark.meter]
        record["at"], record["axis"] = mark.at, mark.axis
        record["half_angle"] = SPOT_HALF_ANGLE
    return probes


def marks_of(world: World) -> tuple[list[Mark], list[str]]:
    """All marks, and a line for each standing one that cannot be had.

    raises InputError for a mark of the scene that names a landmark the sitter does not have
    """
    standing, missing = _standing_marks(world)
    written = [_written_mark(world, name, mark) for name, mark in world.scene.mark.items()]
    named = {mark.name for mark in written}
    return [mark for mark in standing if mark.name not in named] + written, missing


def _standing_marks(world: World) -> tuple[list[Mark], list[str]]:
    camera = world.scene.camera
    lens = np.array(camera.at)
    marks: list[Mark] = []
    missing: list[str] = []
    if world.scene.sitter.mesh == "none":
        missing.append("nobody sits there: no readings at face and cheeks")
    elif not {"malar_l", "malar_r", "pronasale"} <= world.landmarks.keys():
        missing.append("readings at face and cheeks, lighting ratio: the mesh has no landmarks")
    else:
        nose = world.landmarks["pronasale"].position
        to_lens = _unit(lens - nose)
        marks.append(Mark(FACE, "dome", nose + OFF_SKIN * to_lens, to_lens, "at the nose, dome to the lens"))
        marks += _cheek_marks(world, lens)
        if "vertex" in world.landmarks:
            top = world.landmarks["vertex"].position + np.array([0.0, 0.0, 2.0 * OFF_SKIN])
            up = np.array([0.0, 0.0, 1.0])
            marks.append(Mark("head_top", "flat", top, up, "over the head, flat disc up"))
    room = world.scene.room
    if room is not None:
        height = min(world.scene.sitter.eye_height, room.height - 0.05)
        at = np.array([0.0, room.lower[1] + 0.02, height])
        facing = np.array([0.0, 1.0, 0.0])
        marks.append(Mark("back_wall", "flat", at, facing, "on the back wall at eye height, flat disc out"))
    return marks, missing


def _cheek_marks(world: World, lens: np.ndarray) -> list[Mark]:
    camera = world.scene.camera
    at_left = key_is_at_sitter_left(world)
    key_side, shadow_side = ("malar_l", "malar_r") if at_left else ("malar_r", "malar_l")
    near, far = world.landmarks[key_side], world.landmarks[shadow_side]
    key = light_centre(world, key_light(world))
    near_at = near.position + OFF_SKIN * near.normal
    far_at = far.position + OFF_SKIN * far.normal
    away = np.array(to_camera_right(camera))
    if away @ (key - np.array(world.scene.sitter.eyes)) > 0.0:
        away = -away
    turned = _unit(np.array(towards_camera(camera)) + away)
    side = ("the sitter's left", "the sitter's right")
    side = side if at_left else side[::-1]
    return [
        Mark(KEY_CHEEK, "flat", near_at, _unit(key - near_at), f"{side[0]} cheek, flat disc to the key"),
        Mark(
            SHADOW_CHEEK,
            "flat",
            far_at,
            turned,
            f"{side[1]} cheek, flat disc 45 degrees off the lens away from the key",
        ),
        Mark(KEY_SPOT, "spot", lens, _unit(near.position - lens), f"skin of {side[0]} cheek"),
        Mark(SHADOW_SPOT, "spot", lens, _unit(far.position - lens), f"skin of {side[1]} cheek"),
    ]


def _written_mark(world: World, name: str, mark: WrittenMark) -> Mark:
    camera = world.scene.camera
    if isinstance(mark.at, str):
        landmark = _landmark(world.landmarks, name, mark.at)
        point = landmark.position
        at = point if mark.meter == "spot" else point + OFF_SKIN * landmark.normal
    else:
        at = np.array(mark.at)
    if mark.meter == "spot":
        lens = np.array(camera.at)
        return Mark(name, "spot", lens, _unit(at - lens), "from the lens to the mark")
    if isinstance(mark.facing, str):
        fixed = {
            "up": (0.0, 0.0, 1.0),
            "down": (0.0, 0.0, -1.0),
            "back": tuple(-x for x in towards_camera(camera)),
            "camera_right": to_camera_right(camera),
            "camera_left": tuple(-x for x in to_camera_right(camera)),
        }
        if mark.facing == "camera":
            axis = np.array(camera.at) - at
        elif mark.facing in fixed:
            axis = np.array(fixed[mark.facing])
        else:
            axis = light_centre(world, mark.facing) - at
        return Mark(name, mark.meter, at, _unit(axis), f"facing {mark.facing}")
    return Mark(name, mark.meter, at, _unit(np.array(mark.facing)), "facing as written")


def _landmark(landmarks: Mapping[str, Landmark], mark: str, word: str) -> Landmark:
    wrong = unknown(word, landmarks)
    if wrong:
        raise InputError(f"mark.{mark}.at: {wrong}")
    return landmarks[SPOKEN.get(word, word)]


def _unit(vector: np.ndarray) -> np.ndarray:
    return np.asarray(vector / np.linalg.norm(vector))
