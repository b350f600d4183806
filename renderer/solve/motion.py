"""What may be off on the day: each light nearer, further round, higher, turned, dimmed; the sitter higher."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from renderer.scene import place
from renderer.scene.change import changed, written
from renderer.scene.models import Scene
from renderer.scene.parts import Vec3
from renderer.scene.vector import add, length, scale, subtract, unit
from renderer.solve.move import FAMILIES, Thing, moved, spot_of

SHIFT, TURN, LIFT = 0.10, 5.0, 0.05  # m, deg, m of the sitter: what a difference is given per
DIM = 5.0  # per cent of a dimmer
WITH_HEAD = 0.6  # m about the eyes within which marks go with the sitter
LEVEL, TURNED = 1e-6, 1e-9


@dataclass(frozen=True)
class Motion:
    """One thing that may be off.

    per    what a difference is given per, in `unit`; `of` moves the scene by an amount of that unit
    kind   "length", "angle", "dimmer" or "sitter": which accuracy of the rigging it falls under
    reach  m that one unit of it moves the thing by: of an azimuth, its arc; 1 where it is a length
    """

    name: str
    per: float
    unit: str
    kind: str
    of: Callable[[Scene, float], Scene]
    reach: float = 1.0


def motions(scene: Scene) -> Iterator[Motion]:
    """All of a scene's lights and cards, and the sitter's height. Windows do not move."""
    for family in ("light", "card"):
        for name in getattr(scene, family):
            yield from _of_thing(scene, Thing(family, name))
    if scene.sitter.mesh != "none":
        yield Motion("sitter, height of the eyes", LIFT, "m", "sitter", lifted)


def _of_thing(scene: Scene, thing: Thing) -> Iterator[Motion]:
    words = thing.name if thing.family == "light" else thing.path
    yield Motion(f"{words}, distance", SHIFT, "m", "length", _Nearer(thing))
    spot = spot_of(scene, thing)
    if spot.distance > LEVEL:
        arc = math.radians(spot.distance)
        yield Motion(f"{words}, azimuth", TURN, "deg", "length", _Round(thing), arc)
    yield Motion(f"{words}, height", SHIFT, "m", "length", _Higher(thing))
    source = getattr(thing.of(scene), "source", "board")
    if source != "bulb":
        yield Motion(f"{words}, turned", TURN, "deg", "angle", _Turned(thing, False))
    if source not in ("bulb", "cylinder"):
        yield Motion(f"{words}, tilted", TURN, "deg", "angle", _Turned(thing, True))


@dataclass(frozen=True)
class _Nearer:
    """Further (+) along the line from what it is aimed at to its centre."""

    thing: Thing

    def __call__(self, scene: Scene, amount: float) -> Scene:
        standing = self.thing.of(scene)
        centre = standing.centre(scene.sitter, scene.camera)
        away = unit(subtract(centre, subject(scene))) or (0.0, 0.0, 1.0)
        return _at(scene, self.thing, add(centre, scale(away, amount)))


@dataclass(frozen=True)
class _Round:
    """Round the sitter, positive to camera right."""

    thing: Thing

    def __call__(self, scene: Scene, amount: float) -> Scene:
        spot = spot_of(scene, self.thing)
        return moved(scene, self.thing, type(spot)(spot.azimuth + amount, spot.distance, spot.height))


@dataclass(frozen=True)
class _Higher:
    thing: Thing

    def __call__(self, scene: Scene, amount: float) -> Scene:
        centre = self.thing.of(scene).centre(scene.sitter, scene.camera)
        return _at(scene, self.thing, add(centre, (0.0, 0.0, amount)))


@dataclass(frozen=True)
class _Turned:
    """About the upright line through its centre, or up (+) and down."""

    thing: Thing
    tilt: bool

    def __call__(self, scene: Scene, amount: float) -> Scene:
        standing = self.thing.of(scene)
        where = standing.placed(scene.sitter, scene.camera)
        x, y, z = subtract(where.aim, where.centre)
        angle = math.radians(amount)
        if self.tilt:
            flat = max(math.hypot(x, y), TURNED)
            rise = math.atan2(z, flat) + angle
            far = math.hypot(flat, z)
            way: Vec3 = (
                x / flat * far * math.cos(rise),
                y / flat * far * math.cos(rise),
                far * math.sin(rise),
            )
        else:
            cosine, sine = math.cos(angle), math.sin(angle)
            way = (x * cosine - y * sine, x * sine + y * cosine, z)
        return changed(scene, {f"{self.thing.path}.aim": list(add(where.centre, way))})


def lifted(scene: Scene, amount: float) -> Scene:
    """The sitter's eyes higher; marks about the head go with it, lights stay where they are."""
    eyes = scene.sitter.eyes
    scene = _on_stands(scene)
    values: dict[str, Any] = {"sitter.eye_height": round(scene.sitter.eye_height + amount, 6)}
    for name, mark in scene.mark.items():
        if not isinstance(mark.at, str) and length(subtract(mark.at, eyes)) < WITH_HEAD:
            values[f"mark.{name}.at"] = list(add(mark.at, (0.0, 0.0, amount)))
    return changed(scene, values)


def _on_stands(scene: Scene) -> Scene:
    """Things written on a circle about the eyes put where they hang now: they do not go with the eyes."""
    for family in FAMILIES:
        for name, standing in getattr(scene, family).items():
            if standing.around is not None and standing.around.elevation is not None:
                thing = Thing(family, name)
                scene = _at(scene, thing, thing.of(scene).centre(scene.sitter, scene.camera))
    return scene


def subject(scene: Scene) -> Vec3:
    """What distances are taken from: the nose; with nobody there, where the eyes would be."""
    if scene.sitter.mesh == "none":
        return scene.sitter.eyes
    return place.nose(scene.sitter, scene.camera)


def _at(scene: Scene, thing: Thing, point: Vec3) -> Scene:
    """With its centre at a world point, however its place was written."""
    data = written(scene)[thing.family][thing.name]
    data.pop("around", None)
    return changed(scene, {thing.path: data | {"at": [round(value, 6) for value in point]}})
