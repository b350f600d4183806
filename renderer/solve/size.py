"""The smallest picture that a scene's targets can be read off; its proportions stay, and so its frame."""

from __future__ import annotations

import math

from renderer.scene.models import Scene

PIXEL = 0.0024  # m at the head: what background, edge light and separation need (four pixels to 10 mm)
LEAST = 16  # pixels of the shorter side, where no picture is wanted
OF_PICTURE = ("background", "separation_min", "rim")


def needs_picture(scene: Scene) -> bool:
    """Whether a target is read off the picture."""
    return scene.target is not None and any(getattr(scene.target, key) is not None for key in OF_PICTURE)


def sized(scene: Scene, picture: bool | None = None) -> Scene:
    """The scene with that picture, or with next to none; `picture` None: as its targets need it."""
    camera = scene.camera
    width, height = camera.picture
    if needs_picture(scene) if picture is None else picture:
        away = math.dist(camera.at, scene.sitter.eyes)
        factor = min(1.0, away * camera.sensor_width_mm / camera.lens_mm / PIXEL / width)
    else:
        factor = LEAST / min(width, height)
    small = (max(LEAST, round(factor * width)), max(LEAST, round(factor * height)))
    return scene.model_copy(update={"camera": camera.model_copy(update={"picture": small})})
