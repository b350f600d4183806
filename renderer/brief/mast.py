"""Where a stand can be put: the scene says what it holds and how far out, and leaves the side open."""

from __future__ import annotations

import math
from dataclasses import dataclass

from renderer.brief.unit import Unit
from renderer.scene import place
from renderer.scene.models import Scene
from renderer.scene.support import Support

TURNS = [sign * step for step in range(0, 181, 15) for sign in ((1, -1) if step else (1,))]
FEET_OFF_SITTER = 0.30
"""Metres kept between the feet of a stand and the chair, tried first; own choice."""


@dataclass(frozen=True)
class Mast:
    """A stand on the floor.

    x, y      m, of its mast
    towards   deg from camera right towards the camera's side of the room (x to y): from the mast to its light
    height    m of its top; that of the light where the scene gives none
    proposed  whether the place was chosen here, since the scene does not say it
    """

    support: Support
    unit: Unit
    x: float
    y: float
    towards: float
    height: float
    proposed: bool
    fits: bool

    @property
    def counterweight_at(self) -> tuple[float, float] | None:
        """Place over the floor of a boom's counterweight [m]."""
        boom = self.support.boom
        if boom is None:
            return None
        turn = math.radians(self.towards)
        arm = boom.counterweight_arm
        return self.x - arm * math.cos(turn), self.y - arm * math.sin(turn)


def masts(scene: Scene, units: list[Unit]) -> list[Mast]:
    """The stands of a scene in the order of their units. A light right on its mast has the mast under it; one
    that stands out has it away from the sitter, or the nearest way round that keeps to the room, off the
    sitter and out of the picture."""
    found = []
    for unit in units:
        if unit.family == "light" and unit.support is not None and unit.centre is not None:
            found.append(_mast(scene, scene.support[unit.support], unit))
    return found


def _mast(scene: Scene, support: Support, unit: Unit) -> Mast:
    assert unit.centre is not None
    x, y, z = unit.centre
    height = support.height if support.height is not None else (unit.high if support.boom is not None else z)
    if support.out < 0.01:
        return Mast(support, unit, x, y, 0.0, height, False, _fits(scene, support, x, y))
    away = math.degrees(math.atan2(y, x))
    for turn in TURNS:
        angle = math.radians(away + turn)
        at = x + support.out * math.cos(angle), y + support.out * math.sin(angle)
        if _fits(scene, support, *at):
            return Mast(support, unit, *at, away + turn + 180.0, height, True, True)
    angle = math.radians(away)
    at = x + support.out * math.cos(angle), y + support.out * math.sin(angle)
    return Mast(support, unit, *at, away + 180.0, height, True, False)


def _fits(scene: Scene, support: Support, x: float, y: float) -> bool:
    """Whether the feet keep to the room, off the sitter and out of the picture."""
    feet = support.legs_radius
    if scene.room is not None:
        low, high = scene.room.lower, scene.room.upper
        if not (low[0] + feet <= x <= high[0] - feet and low[1] + feet <= y <= high[1] - feet):
            return False
    if math.hypot(x, y) < feet + FEET_OFF_SITTER:
        return False
    lens = place.camera_place(scene.camera)
    ahead = (x - lens.at[0]) * lens.forward[0] + (y - lens.at[1]) * lens.forward[1]
    aside = abs((x - lens.at[0]) * lens.right[0] + (y - lens.at[1]) * lens.right[1])
    half = math.tan(math.radians(scene.camera.width_angle) / 2.0)
    return not (ahead > -feet and aside < half * max(ahead, 0.0) + 0.1)
