"""A part of the picture, magnified: the camera record that sees it with finer pixels."""

from __future__ import annotations

import numpy as np

from renderer.kernels import layout
from renderer.world.build import World

MAGNIFIED = 4.0  # times finer than the picture
WIDEST = 1280  # pixels
ABOUT_EYES = (0.021, 0.016)  # m beside the pupils, and above and below
FACING = 0.25  # least cosine between the gaze and the way to the lens


def window(camera: np.ndarray, box: tuple[float, float, float, float], factor: float) -> np.ndarray:
    """CAMERA record (one) of a part of the picture, with pixels `factor` times finer.

    box  left, top, right, bottom [pixels]; it may reach beyond the picture
    """
    left, top, right, bottom = box
    whole = camera[0]
    part = np.zeros(1, layout.CAMERA)
    across = 0.5 * (left + right - whole["width"])
    down = 0.5 * (top + bottom - whole["height"])
    part["at"] = whole["at"]
    part["forward"] = whole["forward"] + across * whole["step_right"] + down * whole["step_down"]
    part["step_right"], part["step_down"] = whole["step_right"] / factor, whole["step_down"] / factor
    part["width"] = max(1, round(factor * (right - left)))
    part["height"] = max(1, round(factor * (bottom - top)))
    return part


def eye_window(world: World) -> np.ndarray | None:
    """The camera (CAMERA record, one) that sees both eyes four times magnified; less if that were very wide.

    None without landmarks of the eyes, or where both look away from the lens.
    """
    pupils = [world.landmarks[name] for name in ("pupil_l", "pupil_r") if name in world.landmarks]
    if len(pupils) < 2:
        return None
    camera = world.camera[0]
    to_lens = [camera["at"] - pupil.position for pupil in pupils]
    if max(way @ it.normal / np.linalg.norm(way) for way, it in zip(to_lens, pupils, strict=True)) < FACING:
        return None
    step = float(np.linalg.norm(camera["step_right"]))
    x, y, depths = [], [], []
    for way in to_lens:
        depth = float(-way @ camera["forward"])
        if depth <= 0.0:
            return None
        x.append(0.5 * camera["width"] - float(way @ camera["step_right"]) / (depth * step * step))
        y.append(0.5 * camera["height"] - float(way @ camera["step_down"]) / (depth * step * step))
        depths.append(depth)
    beside, above = (reach / (min(depths) * step) for reach in ABOUT_EYES)
    box = (min(x) - beside, min(y) - above, max(x) + beside, max(y) + above)
    return window(world.camera, box, min(MAGNIFIED, WIDEST / (box[2] - box[0])))
