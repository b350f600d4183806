"""A scene in which only some of its lights shine."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from renderer.kernels.layout import PackedScene


def shining(scene: PackedScene, lights: Sequence[int]) -> PackedScene:
    """The scene with these lights alone, numbered from 0 in this order; the others stand there, dark."""
    number = np.full(len(scene.lights) + 1, -1, np.int32)  # the last for what is no light
    number[list(lights)] = np.arange(len(lights))
    shapes = scene.shapes.copy()
    shapes["light"] = number[shapes["light"]]
    shapes["luminance"] = np.where(shapes["light"] >= 0, shapes["luminance"], 0.0)
    return scene._replace(shapes=shapes, lights=scene.lights[list(lights)].copy())
