"""What the scene's marks are wanted to read, as bands of stops from the camera's exposure."""

from __future__ import annotations

import math

from renderer.meter.face.verdict import GIVE, ONE_RATIO, Wanted
from renderer.scene.camera import Camera
from renderer.scene.level import UNITS, Level
from renderer.units import C_DOME, C_FLAT, K, luminance_for_exposure, lux_for_exposure

LEVEL_MARGIN = 1.0 / 3.0  # stop beyond the band that is a warning (common practice, no source)


def exposure_level(meter: str, camera: Camera) -> float:
    """What a meter reads at the camera's exposure: lux, of a spot meter cd/m2."""
    if meter == "spot":
        return luminance_for_exposure(camera.t_stop, camera.iso, camera.shutter, K)
    c = C_DOME if meter == "dome" else C_FLAT
    return lux_for_exposure(camera.t_stop, camera.iso, camera.shutter, c)


def wanted_level(level: Level, meter: str, camera: Camera) -> Wanted:
    """The band in stops from exposure. One number may be missed by a third of a stop, as a ratio may."""
    low, high = (_stops(level.way, value, meter, camera) for value in level.wanted)
    unit = UNITS[level.way]
    before = "T" if level.way == "t_stop" else ""
    numbers = [f"{before}{value:g}" for value in level.wanted]
    one = low == high
    if one:
        low, high = low - ONE_RATIO, high + ONE_RATIO
    words = " to ".join(numbers[:1] if one else numbers)
    words = f"{words} {unit}".strip() + (GIVE if one else "")
    return Wanted(low, high, LEVEL_MARGIN, "stops", words, one=one)


def _stops(way: str, value: float, meter: str, camera: Camera) -> float:
    if way == "stops":
        return value
    if way == "t_stop":
        return 2.0 * math.log2(value / camera.t_stop)
    return math.log2(value / exposure_level(meter, camera))
