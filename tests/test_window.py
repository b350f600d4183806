"""A window with a stated lux: what it passes on, against configuration factors in closed form."""

from __future__ import annotations

import pytest
import view_factor as vf

from renderer.preview import Preview
from renderer.scene.load import loads

LIMIT = 4.0  # standard errors
LUX, TRANSMITTANCE, PROUD = 1250.0, 0.7, 0.001
WIDTH, HEIGHT, UP, AWAY = 1.3, 1.2, 1.45, 1.8
SCENE = f"""
[room]
width = {2 * AWAY}
depth = 4.2
height = 2.4
back_wall = 1.5
[room.reflectance]
floor = 0
ceiling = 0
back = 0
front = 0
camera_left = 0
camera_right = 0
[room.window.pane]
wall = "WALL"
centre = [0.5, {UP}]
width = {WIDTH}
height = {HEIGHT}
lux = {LUX}
transmittance = {TRANSMITTANCE}
purpose = "key"
[sitter]
mesh = "none"
[camera]
at = [0, 2, 1.2]
[mark.facing]
at = [0, 0.5, {UP}]
facing = [SIDE, 0, 0]
meter = "flat"
[mark.level]
at = [0, 0.5, {UP - HEIGHT / 2}]
facing = "up"
meter = "flat"
"""


@pytest.mark.parametrize(("wall", "side"), [("camera_right", "1"), ("camera_left", "-1")])
def test_a_meter_reads_the_lux_outside_times_transmittance_and_factor(wall: str, side: str) -> None:
    """E = pi L F and L = transmittance x lux / pi, so E = transmittance x lux x F in a black room."""
    scene = loads(SCENE.replace("WALL", wall).replace("SIDE", side))
    numbers = Preview.trace(scene, within=0.01, picture=False, face=False, seed=7, threads=2).numbers()
    c = AWAY - PROUD
    factors = {
        "facing": 4 * vf.rectangle_corner(WIDTH / 2, HEIGHT / 2, c),
        "level": 2 * vf.rectangle_perpendicular(HEIGHT, WIDTH / 2, c),
    }
    for mark, factor in factors.items():
        level = numbers.marks[mark].level
        assert abs(level.value - TRANSMITTANCE * LUX * factor) < LIMIT * level.error
        assert level.error < 0.01 * level.value
