"""The room from the door: a wide picture from a corner behind the camera, traced a second time."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from renderer.brief.cut import stops
from renderer.preview import Preview
from renderer.scene import place
from renderer.scene.camera import Camera
from renderer.scene.layer import boards, key_of, layers
from renderer.scene.models import Scene
from renderer.scene.parts import Vec3
from renderer.scene.vector import subtract
from renderer.world.build import build, pack_camera

if TYPE_CHECKING:
    from renderer.film import tracing

SHARE, LEAST, MOST = 0.6, 96, 640
"""Width of the picture over the longer side of the camera's, and its limits [pixels]."""
LENS_MM = 21.0
"""On a sensor 36 mm wide: 81 degrees across."""
EYES = 1.65
"""Height of a person who stands in the door [m]."""
OFF_WALL = 0.15
BEHIND, ASIDE = 1.2, 1.0
"""Metres behind the camera and beside it, where there is no room."""


def room_view(
    preview: Preview,
    within: float = 0.3,
    seed: int = 0,
    threads: int | None = None,
    watch: tracing.Watcher | None = None,
) -> np.ndarray:
    """Trace the scene of a preview from the door and develop it in its mix and at its exposure.

    returns  (h, w, 3) uint8 sRGB
    """
    scene = preview.scene
    world = replace(build(scene), camera=pack_camera(door(scene)))
    seen = Preview.trace(
        world, within=within, seed=seed, threads=threads, face=False, magnify=False, watch=watch
    )
    return replace(seen, layers=seen.layers.with_mix(preview.layers.mix)).picture()


def door(scene: Scene) -> Camera:
    """A camera in a corner behind the camera, or behind it without a room: where the sitter's head is not
    hidden, then where the key is farther."""
    key = layers_key(scene)
    at = max(_places(scene), key=lambda point: (_sees_sitter(scene, point), math.dist(point[:2], key[:2])))
    return scene.camera.model_copy(
        update={
            "at": at,
            "aim": (0.0, 0.0, 1.0),
            "lens_mm": LENS_MM,
            "sensor_width_mm": 36.0,
            "picture": _pixels(scene),
        }
    )


def _pixels(scene: Scene) -> tuple[int, int]:
    wide = round(min(max(SHARE * max(scene.camera.picture), LEAST), MOST) / 4) * 4
    return wide, wide * 3 // 4


def layers_key(scene: Scene) -> Vec3:
    """The middle of the key's first part [m]."""
    lit = layers(scene)
    name = key_of(lit)
    return next(layer for layer in lit if layer.name == name).parts[0].shape.centre


def _places(scene: Scene) -> Iterator[Vec3]:
    ahead, right = place.towards_camera(scene.camera), place.to_camera_right(scene.camera)
    x, y, _ = scene.camera.at
    if scene.room is None:
        for sign in (-1.0, 1.0):
            yield (
                x + BEHIND * ahead[0] + sign * ASIDE * right[0],
                y + BEHIND * ahead[1] + sign * ASIDE * right[1],
                EYES,
            )
        return
    low, high = scene.room.lower, scene.room.upper
    height = min(EYES, high[2] - OFF_WALL)
    inset = [min(OFF_WALL, 0.2 * (high[i] - low[i])) for i in (0, 1)]
    corners = [
        (a, b)
        for a in (low[0] + inset[0], high[0] - inset[0])
        for b in (low[1] + inset[1], high[1] - inset[1])
    ]
    behind = sorted(corners, key=lambda corner: -(corner[0] * ahead[0] + corner[1] * ahead[1]))[:2]
    clear = [corner for corner in behind if not _inside_light(scene, (*corner, height))] or behind
    yield from ((*corner, height) for corner in clear)


def _inside_light(scene: Scene, point: Vec3) -> bool:
    return any(
        light.contains(light.placed(scene.sitter, scene.camera), point) for light in scene.light.values()
    )


def _sees_sitter(scene: Scene, point: Vec3) -> bool:
    """Whether no light, card or flag stands between a point and the sitter's eyes."""
    eyes = scene.sitter.eyes
    parts = [part for layer in layers(scene) if layer.name in scene.light for part in layer.parts]
    parts += [part for several in boards(scene).values() for part in several]
    return not any(stops(part.shape, eyes, subtract(point, eyes)) for part in parts)
