"""The plan: room, sitter, camera and its cone, units with their aims and stands, marks, from above."""

from __future__ import annotations

import math
from collections.abc import Sequence

from renderer.brief.drawing import Drawing, Pen
from renderer.brief.frame import framed, grid, scale_bar
from renderer.brief.geometry import Box, Point, bounds, clipped, grown
from renderer.brief.label import CROWDED, Note, draw, place
from renderer.brief.mast import Mast
from renderer.brief.spot import Spot, clusters
from renderer.brief.symbol import (
    BEAM,
    CONE,
    aim_line,
    camera_symbol,
    mark_symbol,
    sitter_symbol,
    stand_symbol,
    unit_symbol,
)
from renderer.brief.unit import Unit
from renderer.brief.view import PLAN
from renderer.scene import outline
from renderer.scene import place as places
from renderer.scene.lights.head import HeadLight
from renderer.scene.models import Scene
from renderer.units import MINUS

SQUARE = math.cos(math.radians(5.0))
OPEN_MARGIN = 0.4
"""Metres drawn round everything where there is no room."""


def plan(
    scene: Scene, units: Sequence[Unit], masts: Sequence[Mast], spots: Sequence[Spot], paper: Point
) -> Drawing:
    """The plan at the largest scale that fits `paper` [mm]."""
    box = ground(scene, units, masts)
    drawing = framed("Plan", box, paper)
    square = faces_camera(scene)
    axes = ("x, to camera right", "y, sitter to camera") if square else ("x", "y")
    grid(drawing, box, axes, (1, -1))
    _cone(drawing, scene, box)
    if scene.room is not None:
        (x0, y0), (x1, y1) = box
        drawing.area([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], Pen(0.7))
    bodies: list[Box] = []
    for mast in masts:
        stand_symbol(drawing, PLAN, mast)
        bodies.append(grown(((mast.x, -mast.y), (mast.x, -mast.y)), 0.05))
    if scene.sitter.mesh != "none":
        bodies.append(sitter_symbol(drawing, PLAN, scene))
    bodies.append(camera_symbol(drawing, PLAN, scene))
    for unit in units:
        _beam(drawing, scene, unit, box)
        aim_line(drawing, PLAN, unit)
    notes = []
    for unit in units:
        body = unit_symbol(drawing, PLAN, unit)
        if body is not None and unit.centre is not None:
            bodies.append(body)
            lines = lines_of(unit) if len(units) <= CROWDED else ()
            notes.append(Note(PLAN.at(unit.centre), lines, str(unit.number)))
    _origin(drawing)
    for at, group in clusters(spots, PLAN, drawing.metres(4.0)):
        mark_symbol(drawing, at)
        notes.append(Note(at, (" ".join(spot.letter for spot in group),)))
    camera = scene.camera
    notes.append(
        Note(PLAN.at(camera.at), ("camera", f"{camera.lens_mm:g} mm, lens {camera.at[2]:.2f} m high"))
    )
    if scene.sitter.mesh != "none":
        notes.append(Note((0.0, 0.0), ("sitter", f"eyes {scene.sitter.eye_height:.2f} m high")))
    for mast in masts:
        heavy = mast.counterweight_at
        where = heavy if heavy is not None else (mast.x, mast.y)
        if mast.support.out > 0.01:
            kind = "counterweight" if heavy is not None else "mast"
            notes.append(Note((where[0], -where[1]), (f"{kind} of {mast.unit.number}",)))
    draw(drawing, place(drawing, notes, bodies, grown(box, -drawing.metres(1.0))))
    scale_bar(drawing, box)
    return drawing


def faces_camera(scene: Scene) -> bool:
    """Whether the camera stands before the sitter along the room's y, so that x is camera right."""
    return places.towards_camera(scene.camera)[1] > SQUARE


def lines_of(unit: Unit) -> tuple[str, ...]:
    """What a crew reads beside a unit without looking it up."""
    assert unit.centre is not None
    x, y, _ = unit.centre
    lines = [unit.name if unit.family == "light" else f"{unit.family} {unit.name}"]
    if unit.family != "window":
        lines.append(f"x {signed_metres(x)}, y {signed_metres(y)}")
    return (*lines, f"low {unit.low:.2f}, top {unit.high:.2f} m")


def signed_metres(value: float) -> str:
    """With a sign: places are counted from the sitter."""
    return (MINUS if value < -0.005 else "+") + f"{abs(value):.2f}"


def ground(scene: Scene, units: Sequence[Unit], masts: Sequence[Mast]) -> Box:
    """What of the floor is drawn [m, on paper]: the room, or all that stands about."""
    if scene.room is not None:
        low, high = scene.room.lower, scene.room.upper
        return (low[0], -high[1]), (high[0], -low[1])
    points = [PLAN.at(scene.camera.at), (-0.4, -0.4), (0.4, 0.4)]
    for unit in units:
        points += [PLAN.at(corner) for corner in outline.box(part.shape for part in unit.parts)]
    for mast in masts:
        reach = mast.support.legs_radius
        points += [(mast.x - reach, -mast.y - reach), (mast.x + reach, -mast.y + reach)]
    return grown(bounds(points), OPEN_MARGIN)


def _cone(drawing: Drawing, scene: Scene, box: Box) -> None:
    """What the lens sees across, out to the walls."""
    lens = places.camera_place(scene.camera)
    half = math.radians(scene.camera.width_angle) / 2.0
    start = PLAN.at(lens.at)
    ahead, right = PLAN.at(lens.forward), PLAN.at(lens.right)
    for sign in (-1.0, 1.0):
        way = [math.cos(half) * ahead[i] + sign * math.sin(half) * right[i] for i in (0, 1)]
        part = clipped(start, (start[0] + 100.0 * way[0], start[1] + 100.0 * way[1]), box)
        if part is not None:
            drawing.line(part, CONE)


def _beam(drawing: Drawing, scene: Scene, unit: Unit, box: Box) -> None:
    """The edges of a beam of which the scene gives the angle."""
    light = scene.light.get(unit.name) if unit.family == "light" else None
    angle = getattr(light, "beam", None)
    if isinstance(light, HeadLight) and light.file is not None:
        from renderer.photometry.angle import beam_angle

        angle = beam_angle(light.thrown()[0], -light.roll)  # level, where its turn lies so
    if not isinstance(angle, float) or unit.centre is None or unit.aim is None:
        return
    start, aim = PLAN.at(unit.centre), PLAN.at(unit.aim)
    middle = math.atan2(aim[1] - start[1], aim[0] - start[0])
    for sign in (-1.0, 1.0):
        turn = middle + sign * math.radians(angle) / 2.0
        part = clipped(start, (start[0] + 100 * math.cos(turn), start[1] + 100 * math.sin(turn)), box)
        if part is not None:
            drawing.line(part, BEAM)


def _origin(drawing: Drawing) -> None:
    """The sitter's mark on the floor, from which all places are counted: a T, its stem to the camera."""
    size = drawing.metres(2.2)
    drawing.line(((-size, 0.0), (size, 0.0)), Pen(0.5))
    drawing.line(((0.0, 0.0), (0.0, -1.6 * size)), Pen(0.5))
