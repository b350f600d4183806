"""Sections: one along the axis of the lens, one through the sitter's eyes and the key."""

from __future__ import annotations

import math
from collections.abc import Sequence

from renderer.brief.cut import Reach, reach
from renderer.brief.drawing import Drawing, Pen, Words
from renderer.brief.frame import framed, grid, measure, scale_bar
from renderer.brief.geometry import Box, Point, arc, bounds, clipped, distance, grown
from renderer.brief.label import CROWDED, Note, draw, place
from renderer.brief.mast import Mast
from renderer.brief.spot import Spot, clusters
from renderer.brief.symbol import (
    CONE,
    CUT,
    aim_line,
    camera_symbol,
    mark_symbol,
    sitter_symbol,
    stand_symbol,
    unit_symbol,
)
from renderer.brief.unit import Unit
from renderer.brief.view import View, section
from renderer.scene import place as places
from renderer.scene.models import Scene
from renderer.scene.parts import Vec3
from renderer.scene.vector import dot, scale

NEAR = 0.35
"""Metres off the plane through the key within which other units are drawn in it; own choice."""
OPEN_MARGIN = 0.4


def along_lens(
    scene: Scene, units: Sequence[Unit], masts: Sequence[Mast], spots: Sequence[Spot], paper: Point
) -> Drawing:
    """The section along the axis of the lens, everything seen square to it."""
    view = section(places.towards_camera(scene.camera))
    box = _box(scene, view, units)
    drawing = framed("Section along the lens, seen from camera left", box, paper)
    grid(drawing, box, ("from the sitter to the camera", "height"))
    _cone(drawing, scene, view, box)
    _room(drawing, scene, box)
    bodies, notes = _furnish(drawing, scene, view, units, masts, spots)
    bodies.append(camera_symbol(drawing, view, scene))
    lens = view.at(scene.camera.at)
    notes.append(Note(lens, ("lens",)))
    eye = (0.0, scene.sitter.eye_height)
    low = drawing.metres(5.0)
    texts = [
        measure(drawing, (lens[0], 0.0), lens, f"{lens[1]:.2f}", -0.35),
        measure(drawing, (0.0, low), (lens[0], low), f"lens to sitter {abs(lens[0]):.2f}"),
        measure(drawing, (0.0, 0.0), eye, f"{eye[1]:.2f}", -0.35),
    ]
    if scene.room is not None:
        texts.append(measure(drawing, (box[0][0], low), (0.0, low), f"{-box[0][0]:.2f}"))
    draw(drawing, place(drawing, notes, bodies, grown(box, -drawing.metres(1.0)), texts))
    scale_bar(drawing, box)
    return drawing


def through_key(
    scene: Scene,
    units: Sequence[Unit],
    masts: Sequence[Mast],
    spots: Sequence[Spot],
    key: Unit,
    paper: Point,
) -> Drawing:
    """The section through the eyes and the middle of the key: its angle, its clearances, where its direct
    light ends on the walls. Other units are in it where they are near that plane."""
    assert key.centre is not None
    across = key_direction(scene, key)
    view, plane = section(across), (across[1], -across[0], 0.0)
    near = [
        unit for unit in units
        if unit is key or (unit.centre is not None and abs(dot(unit.centre, plane)) <= NEAR)
    ]  # fmt: skip
    box = _box(scene, view, near)
    drawing = framed(f"Section through the sitter's eyes and {key.number} {key.name}", box, paper)
    grid(drawing, box, ("from the sitter towards the key", "height"))
    _room(drawing, scene, box)
    held = [mast for mast in masts if mast.unit in near]
    close = [spot for spot in spots if abs(dot(spot.at, plane)) <= NEAR]
    cuts = _cuts(drawing, view, key, reaches(scene, units, key))
    bodies, notes = _furnish(drawing, scene, view, near, held, close)
    eye, centre = (0.0, scene.sitter.eye_height), view.at(key.centre)
    texts = _angle(drawing, eye, centre, key) if distance(eye, centre) > 0.05 else []
    (left, _), (right, _) = bounds(p for part in key.parts for p in view.outline(part.shape))
    x = left + 0.75 * (right - left)
    texts.append(measure(drawing, (x, 0.0), (x, key.low), f"{key.low:.2f} clear", -0.4))
    if scene.room is not None:
        gap = scene.room.height - key.high
        texts.append(measure(drawing, (x, key.high), (x, scene.room.height), f"{gap:.2f}"))
    draw(drawing, place(drawing, [*notes, *cuts], bodies, grown(box, -drawing.metres(1.0)), texts))
    scale_bar(drawing, box)
    return drawing


def key_direction(scene: Scene, key: Unit) -> Vec3:
    """Level direction (unit) from the sitter to the key; to the camera where it hangs right above."""
    assert key.centre is not None
    x, y, _ = key.centre
    run = math.hypot(x, y)
    return (x / run, y / run, 0.0) if run > 0.02 else places.towards_camera(scene.camera)


def walls(scene: Scene, across: Vec3) -> list[tuple[Vec3, Vec3]]:
    """Foot of the wall on either side of the sitter along a level direction, and its normal into the room."""
    if scene.room is None:
        return []
    low, high = scene.room.lower, scene.room.upper
    found: list[tuple[Vec3, Vec3]] = []
    for sign in (-1.0, 1.0):
        way = scale(across, sign)
        runs = [((high[i] if way[i] > 0.0 else low[i]) / way[i], i) for i in (0, 1) if abs(way[i]) > 1e-9]
        run, i = min(runs)
        normal = [0.0, 0.0, 0.0]
        normal[i] = -math.copysign(1.0, way[i])
        found.append(((run * way[0], run * way[1], 0.0), (normal[0], normal[1], normal[2])))
    return found


def reaches(scene: Scene, units: Sequence[Unit], key: Unit) -> list[Reach]:
    """What the key's direct light does on both walls of the section through it."""
    across = key_direction(scene, key)
    plane = (across[1], -across[0], 0.0)
    boards = [part for unit in units if unit.family in ("card", "flag") for part in unit.parts]
    height = scene.room.height if scene.room is not None else 0.0
    return [reach(key.parts, boards, foot, inward, height, plane) for foot, inward in walls(scene, across)]


def _cuts(drawing: Drawing, view: View, key: Unit, found: Sequence[Reach]) -> list[Note]:
    notes = []
    for it in found:
        for cut in it.cuts:
            at = view.at(cut.wall)
            drawing.line((view.at(cut.source), at), CUT)
            notes.append(
                Note(at, (f"direct light of {key.number} {cut.lit} {cut.height:.2f} m",), plain=True)
            )
    return notes


def words_of(found: Sequence[Reach], key: Unit) -> str:
    """What direct light does on both walls, in words."""
    told = []
    for side, it in zip(("left", "right"), found, strict=True):
        where = " and ".join(f"{cut.lit} {cut.height:.2f} m" for cut in it.cuts)
        told.append(f"on the wall to the {side} {where or ('all over' if it.lit else 'nowhere')}")
    return (
        f"Direct light of {key.number} {key.name}, in this plane: {', '.join(told)}; bounce is not counted."
    )


def _box(scene: Scene, view: View, units: Sequence[Unit]) -> Box:
    """Along the section: from wall to wall, floor to ceiling, or all that is drawn."""
    points = [view.at(scene.camera.at), (-0.4, 0.0), (0.4, scene.sitter.eye_height + 0.3)]
    if scene.room is not None:
        feet = [view.at(foot)[0] for foot, _ in walls(scene, view.across)]
        return (min(feet), 0.0), (max(feet), scene.room.height)
    for unit in units:
        points += [p for part in unit.parts for p in view.outline(part.shape)]
    (x0, _), (x1, y1) = grown(bounds(points), OPEN_MARGIN)
    return (x0, 0.0), (x1, y1)


def _room(drawing: Drawing, scene: Scene, box: Box) -> None:
    (x0, y0), (x1, y1) = box
    if scene.room is not None:
        drawing.area([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], Pen(0.7))
    else:
        drawing.line(((x0, y0), (x1, y0)), Pen(0.7))


def _furnish(
    drawing: Drawing,
    scene: Scene,
    view: View,
    units: Sequence[Unit],
    masts: Sequence[Mast],
    spots: Sequence[Spot],
) -> tuple[list[Box], list[Note]]:
    bodies, notes = [], []
    for mast in masts:
        stand_symbol(drawing, view, mast)
    if scene.sitter.mesh != "none":
        bodies.append(sitter_symbol(drawing, view, scene))
    for unit in units:
        aim_line(drawing, view, unit)
    for unit in units:
        body = unit_symbol(drawing, view, unit)
        if body is not None and unit.centre is not None:
            bodies.append(body)
            lines = (unit.name, f"low {unit.low:.2f}, top {unit.high:.2f} m")
            notes.append(Note(view.at(unit.centre), lines if len(units) <= CROWDED else (), str(unit.number)))
    for at, group in clusters(spots, view, drawing.metres(4.0)):
        mark_symbol(drawing, at)
        notes.append(Note(at, (" ".join(spot.letter for spot in group),)))
    return bodies, notes


def _cone(drawing: Drawing, scene: Scene, view: View, box: Box) -> None:
    """What the lens sees from top to bottom."""
    lens = places.camera_place(scene.camera)
    half = math.radians(scene.camera.height_angle) / 2.0
    start, ahead, up = view.at(lens.at), view.at(lens.forward), view.at(lens.up)
    for sign in (-1.0, 1.0):
        way = [math.cos(half) * ahead[i] + sign * math.sin(half) * up[i] for i in (0, 1)]
        part = clipped(start, (start[0] + 100.0 * way[0], start[1] + 100.0 * way[1]), box)
        if part is not None:
            drawing.line(part, CONE)


def _angle(drawing: Drawing, eye: Point, centre: Point, key: Unit) -> list[Box]:
    """Elevation of the key's middle at the eyes, and how far off it is; the boxes of both figures."""
    drawing.line((eye, centre), Pen(0.16))
    radius = min(0.45, 0.6 * distance(eye, centre))
    drawing.line((eye, (eye[0] + radius + 0.1, eye[1])), Pen(0.16))
    drawing.line(arc(eye, radius, 0.0, key.elevation), Pen(0.25))
    half = math.radians(key.elevation) / 2.0
    x, y = eye[0] + radius * math.cos(half) + drawing.metres(1.0), eye[1] + radius * math.sin(half)
    turn = Words((x, y - drawing.metres(0.9)), f"{key.elevation:.0f}°", 8.0, bold=True, backed=True)
    x, y = (eye[i] + 0.72 * (centre[i] - eye[i]) for i in (0, 1))
    off = Words((x, y), f"{key.distance:.2f} m", 6.8, "middle", backed=True)
    drawing.items += [turn, off]
    return [drawing.box_of(turn), drawing.box_of(off)]
