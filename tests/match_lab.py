"""Scenes whose meters are traced in a blink, and readings made of them as a crew would take them."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from typing import Any

import numpy as np

from renderer.scene.change import changed
from renderer.scene.load import loads
from renderer.scene.models import Scene
from renderer.solve.readings.given import Given
from renderer.solve.readings.metering import Metering

FAR = (2.0, 1.5)  # m from the lamps to the meter between them
LUMENS = (1000.0, 400.0)
SPACE = f"""
[sitter]
mesh = "none"
[camera]
at = [3.0, 0.5, 1.2]
[light.key]
source = "bulb"
at = [0.0, {FAR[0]}, 1.2]
diameter = 0.02
lumens = {LUMENS[0]}
[light.lamp]
source = "bulb"
purpose = "practical"
at = [0.0, {-FAR[1]}, 1.2]
diameter = 0.02
lumens = {LUMENS[1]}
[mark.ahead]
at = [0.0, 0.0, 1.2]
facing = [0, 1, 0]
[mark.behind]
at = [0.0, 0.0, 1.2]
facing = [0, -1, 0]
"""
ROOM = """# an empty room
title = "Empty room"
[sitter]
mesh = "none"
[camera]
at = [0.0, 1.4, 1.2]
[room]
width = 4.0
depth = 4.0
height = 2.5
back_wall = 2.0
[room.reflectance]
back = 0.6 # as painted, they say
front = 0.6
camera_left = 0.6
camera_right = 0.6
floor = 0.25
ceiling = 0.7
[light.key]
source = "disc"
around = { azimuth = 40, distance = 1.2, height = 1.7 }
diameter = 0.5
lumens = 1500
[light.edge]
source = "bulb"
purpose = "edge"
at = [-0.8, -1.0, 1.9]
diameter = 0.2
lumens = 500
[light.wall]
source = "bulb"
purpose = "background"
at = [1.2, -1.5, 0.6]
diameter = 0.1
lumens = 200
[mark.nose]
at = [0.0, 0.1, 1.2]
facing = "camera"
[mark.shadow]
at = [0.0, 0.1, 1.2]
facing = "camera_left"
[mark.top]
at = [0.0, 0.0, 1.3]
facing = "up"
[mark.low]
at = [0.0, 0.0, 1.0]
facing = "down"
[mark.right]
at = [1.9, 0.5, 1.4]
facing = "camera_left"
"""


@functools.cache
def scene(text: str = ROOM) -> Scene:
    return loads(text)


def traced(of: Scene, changes: Mapping[str, Any], seed: int, within: float = 0.01) -> Metering:
    """The meters of a scene in which something is not as written, with random numbers of its own."""
    return Metering.traced(changed(of, changes), within, seed, 2)


def readings(
    metering: Metering, error: float, seed: int, meter: float = 0.0, rounding: float = 0.0
) -> list[Given]:
    """Every light alone and all together at every mark that has light, each off by a normal error [stops]."""
    rng = np.random.default_rng(seed)
    found = []
    for i, mark in enumerate(metering.marks):
        for light in (None, *range(len(metering.lights))):
            level = float(metering.levels[i].sum() if light is None else metering.levels[i, light])
            if level > 1e-3:
                name = None if light is None else metering.lights[light]
                off = level * 2.0 ** (meter + error * rng.standard_normal())
                found.append(Given(name, mark.name, off, rounding, len(found) + 2, f"{off:.3g} lux"))
    return found
