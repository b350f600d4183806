"""Plain outlines to true scale: lights, boards, windows, the camera, the sitter, stands.

A face that shines is drawn thick, a body thin, skirts and closed sides thickest. What the scene does not
say (the housing behind a face, the camera's body, the sitter's trunk, legs of a stand) is a thin sketch.
"""

from __future__ import annotations

import math

from renderer.brief.drawing import Drawing, Line, Pen
from renderer.brief.geometry import Box, Point, arc, bounds, distance, hull
from renderer.brief.mast import Mast
from renderer.brief.unit import Unit
from renderer.brief.view import View, ring
from renderer.scene import place
from renderer.scene.fit import BUST_CENTRE, BUST_HALF, HEAD_CENTRE, HEAD_HALF
from renderer.scene.models import Scene
from renderer.scene.parts import Disc, Part, Rectangle, Tube, Vec3
from renderer.scene.vector import blend, dot, scale

THIN, FACE, OPAQUE, SKETCH = Pen(0.18), Pen(0.5), Pen(0.9), Pen(0.13, grey=0.35)
CONE, CUT = Pen(0.2, (4.0, 1.2)), Pen(0.3, (0.5, 0.9))
EDGE_PENS = {"card": Pen(0.3), "window": Pen(0.3), "flag": Pen(1.3), "breakup": Pen(0.9, (1.4, 0.9))}
"""Of boards that are seen on their edge."""
AIM, BEAM = Pen(0.16, (3.0, 1.0, 0.5, 1.0)), Pen(0.13, (1.2, 1.0), 0.3)
BODY = 0.94
HOUSING = 0.07
"""Depth of the housing that is sketched behind a flat face [m]."""
EDGE_ON = 0.004
"""Metres of breadth under which a flat thing is drawn as one line."""


def unit_symbol(drawing: Drawing, view: View, unit: Unit) -> Box | None:
    """Draws a unit; the box that it takes, None for light that hangs nowhere."""
    first = len(drawing.items)
    if unit.family == "found":
        return None
    if unit.family in ("card", "flag", "breakup", "window"):
        for part in unit.parts:
            _board(drawing, view.outline(part.shape), unit.family)
    else:
        _lamp(drawing, view, unit)
    lines = [item for item in drawing.items[first:] if isinstance(item, Line)]
    return bounds(point for line in lines for point in line.points)


def _board(drawing: Drawing, outline: list[Point], family: str) -> None:
    if _breadth(outline) < EDGE_ON:
        a, b = _ends(outline)
        pen = EDGE_PENS[family]
        drawing.line((a, b), pen)
        if family in ("card", "window"):  # two lines: it is white
            side = drawing.metres(0.8)
            n = _square(a, b)
            for sign in (-1.0, 1.0) if family == "window" else (1.0,):
                off = (sign * side * n[0], sign * side * n[1])
                drawing.line(((a[0] + off[0], a[1] + off[1]), (b[0] + off[0], b[1] + off[1])), pen)
        return
    fill = {"flag": 0.35, "window": None}.get(family, 1.0)
    pen = Pen(0.5, (1.4, 0.9)) if family == "breakup" else Pen(0.5)
    drawing.area(outline, pen, fill)
    if len(outline) == 4 and family in ("breakup", "window"):
        drawing.line((outline[0], outline[2]), Pen(0.15, (1.4, 0.9)))
        drawing.line((outline[1], outline[3]), Pen(0.15, (1.4, 0.9)))


def _lamp(drawing: Drawing, view: View, unit: Unit) -> None:
    flat = [part for part in unit.parts if isinstance(part.shape, (Disc, Rectangle))]
    tubes = [part for part in unit.parts if isinstance(part.shape, Tube)]
    shapes = [part.shape for part in unit.parts]
    if tubes:
        body = [part.shape for part in unit.parts if not _hangs(part, tubes)]
        drawing.area(view.outline_of(body), THIN, BODY)
        for part in tubes:
            _tube(drawing, view, part)
        for part in flat:
            outline = view.outline(part.shape)
            if part.luminance > 0.0 and _breadth(outline) < EDGE_ON:
                drawing.line(_ends(outline), FACE)
        return
    if not flat:
        outline = view.outline_of(shapes)
        drawing.area(outline, FACE, BODY)
        (x0, y0), (x1, y1) = bounds(outline)
        drawing.line(((x0, (y0 + y1) / 2), (x1, (y0 + y1) / 2)), THIN)
        drawing.line((((x0 + x1) / 2, y0), ((x0 + x1) / 2, y1)), THIN)
        return
    faces = [view.outline(part.shape) for part in flat]
    behind = [view.outline(part.shape) for part in flat[-1:]]
    normal = flat[-1].shape.normal if isinstance(flat[-1].shape, (Disc, Rectangle)) else (0.0, 0.0, 0.0)
    back = scale(normal, -HOUSING)
    pushed = [_moved(outline, view.at(back)) for outline in behind]
    drawing.area(hull(point for outline in (*behind, *pushed) for point in outline), THIN, BODY)
    if len(flat) > 1:  # sheets before a head
        drawing.area(hull(point for outline in faces for point in outline), BEAM)
    for outline in faces:
        if _breadth(outline) < EDGE_ON:
            drawing.line(_ends(outline), FACE)
        else:
            drawing.area(outline, FACE, 1.0 if len(flat) == 1 else None)


def _hangs(part: Part, tubes: list[Part]) -> bool:
    """Whether a part of a cylinder is a drop below its lower edge."""
    shape = part.shape
    lower = max(
        (tube.shape.z_from for tube in tubes if isinstance(tube.shape, Tube) and tube.shape.z_from < 0.0),
        default=0.0,
    )
    return isinstance(shape, Tube) and shape.z_to <= lower + 1e-9 and part.luminance == 0.0


def _tube(drawing: Drawing, view: View, part: Part) -> None:
    tube = part.shape
    assert isinstance(tube, Tube)
    depth = abs(dot(tube.axis, view.across)) + abs(dot(tube.axis, view.up))
    pen = FACE if part.luminance > 0.0 else OPAQUE
    if depth < 1e-6:  # along its axis
        drawing.line([view.at(point) for point in ring(tube, tube.z_from)], pen)
        return
    outline = view.outline(tube)
    if part.luminance > 0.0:
        drawing.area(outline, THIN)
    else:
        drawing.area(outline, Pen(0.3), 0.55)


def aim_line(drawing: Drawing, view: View, unit: Unit) -> None:
    """From the middle of a lamp to its aim, with an arrow; the edges of a beam beside it."""
    if unit.centre is None or unit.aim is None or unit.family != "light":
        return
    a, b = view.at(unit.centre), view.at(unit.aim)
    if distance(a, b) < drawing.metres(2.0):
        return
    drawing.line((a, b), AIM)
    arrow(drawing, a, b)


def arrow(drawing: Drawing, a: Point, b: Point) -> None:
    """A head at `b` of a line from `a`."""
    n = _square(a, b)
    size, run = drawing.metres(1.9), distance(a, b)
    back = (b[0] - (b[0] - a[0]) / run * size, b[1] - (b[1] - a[1]) / run * size)
    half = size * 0.3
    tips = [(back[0] + half * n[0], back[1] + half * n[1]), (back[0] - half * n[0], back[1] - half * n[1])]
    drawing.area([b, *tips], None, 0.0)


def camera_symbol(drawing: Drawing, view: View, scene: Scene) -> Box:
    """A box behind the lens, the front of the lens at the camera's place."""
    axes = place.camera_place(scene.camera)
    boxes = ((-0.30, -0.11, 0.065, 0.07), (-0.11, 0.0, 0.04, 0.04))
    points: list[Point] = []
    for start, end, wide, high in boxes:
        corners = [
            view.at(blend((1.0, axes.at), (f, axes.forward), (a * wide, axes.right), (b * high, axes.up)))
            for f in (start, end)
            for a in (-1, 1)
            for b in (-1, 1)
        ]
        drawing.area(hull(corners), Pen(0.4), 0.8)
        points += corners
    return bounds(points)


def sitter_symbol(drawing: Drawing, view: View, scene: Scene) -> Box:
    """Head, nose and shoulders by the sizes that the sitter is checked with; trunk and seat are a sketch."""
    sitter, camera = scene.sitter, scene.camera
    trunk = _ellipsoid(view, scene, BUST_CENTRE, BUST_HALF, level=True)
    head = _ellipsoid(view, scene, HEAD_CENTRE, HEAD_HALF)
    nose = [place.head_point(sitter, camera, p) for p in ((0.035, 0.0, -0.045), (0.0, 0.02, -0.05))]
    nose += [
        place.head_point(sitter, camera, (0.0, -0.02, -0.05)),
        (place.head_point(sitter, camera, (0.01, 0.0, -0.005))),
    ]
    if not view.is_plan:
        seat = max(sitter.eye_height - 0.78, 0.0)
        (x0, _), (x1, y1) = bounds(trunk)
        body = [(x0 + 0.02, seat), (x1 - 0.02, seat), (x1, y1 - 0.1), (x0, y1 - 0.1)]
        drawing.area(hull([*body, *trunk]), SKETCH, 0.97)
    else:
        drawing.area(trunk, SKETCH, 0.97)
    drawing.area(hull(view.at(point) for point in nose), Pen(0.35), 1.0)
    drawing.area(head, Pen(0.35), 1.0)
    return bounds([*trunk, *head])


def _ellipsoid(view: View, scene: Scene, centre: Vec3, half: Vec3, level: bool = False) -> list[Point]:
    sitter = scene.sitter.model_copy(update={"head_yaw": 0.0, "head_pitch": 0.0}) if level else scene.sitter
    points = []
    for i in range(19):
        for k in range(36):
            t, p = math.pi * i / 18, 2 * math.pi * k / 36
            way = (math.cos(t), math.sin(t) * math.cos(p), math.sin(t) * math.sin(p))
            spot = (centre[0] + half[0] * way[0], centre[1] + half[1] * way[1], centre[2] + half[2] * way[2])
            points.append(view.at(place.head_point(sitter, scene.camera, spot)))
    return hull(points)


def stand_symbol(drawing: Drawing, view: View, mast: Mast) -> Box:
    """The mast, the circle of its feet and its legs, the boom and its counterweight."""
    support = mast.support
    foot, radius = (mast.x, mast.y, 0.0), support.legs_radius
    turn = math.radians(mast.towards)
    points: list[Point] = []
    legs = [2 * math.pi * k / support.legs + turn for k in range(support.legs)]
    feet = [(mast.x + radius * math.cos(t), mast.y + radius * math.sin(t), 0.0) for t in legs]
    top = (mast.x, mast.y, mast.height)
    if view.is_plan:
        drawing.area(arc(view.at(foot), radius, 0.0, 360.0), Pen(0.15, (1.2, 0.8)))
        drawing.area(arc(view.at(foot), 0.025, 0.0, 360.0), Pen(0.3), 0.0)
        points += arc(view.at(foot), radius, 0.0, 360.0)
    else:
        drawing.line((view.at(foot), view.at(top)), Pen(0.45))
        points += [view.at(foot), view.at(top)]
    knee = foot if view.is_plan else (mast.x, mast.y, min(0.35, 0.4 * mast.height))
    for spot in feet:
        drawing.line((view.at(knee), view.at(spot)), Pen(0.3))
        points.append(view.at(spot))
    heavy = mast.counterweight_at
    light = mast.unit.centre
    if light is not None and support.out > 0.0:
        drawing.line((view.at(top), view.at(light)), Pen(0.45))
    if heavy is not None:
        end = (heavy[0], heavy[1], mast.height)
        drawing.line((view.at(top), view.at(end)), Pen(0.45))
        x, y = view.at(end)
        drawing.area(
            [(x - 0.06, y - 0.06), (x + 0.06, y - 0.06), (x + 0.06, y + 0.06), (x - 0.06, y + 0.06)],
            Pen(0.3),
            0.4,
        )
        points.append((x, y))
    return bounds(points)


def mark_symbol(drawing: Drawing, at: Point) -> None:
    """A cross where a meter is held."""
    size = drawing.metres(1.1)
    for sign in (-1.0, 1.0):
        drawing.line(((at[0] - size, at[1] - sign * size), (at[0] + size, at[1] + sign * size)), Pen(0.3))


def _moved(points: list[Point], by: Point) -> list[Point]:
    return [(x + by[0], y + by[1]) for x, y in points]


def _square(a: Point, b: Point) -> Point:
    run = distance(a, b) or 1.0
    return (a[1] - b[1]) / run, (b[0] - a[0]) / run


def _ends(outline: list[Point]) -> tuple[Point, Point]:
    """The two points of an outline that are farthest apart."""
    pairs = [(a, b) for i, a in enumerate(outline) for b in outline[:i]] or [(outline[0], outline[0])]
    return max(pairs, key=lambda pair: distance(*pair))


def _breadth(outline: list[Point]) -> float:
    """Size of an outline across its longest line [m]."""
    if len(outline) < 3:
        return 0.0
    a, b = _ends(outline)
    n = _square(a, b)
    offs = [(p[0] - a[0]) * n[0] + (p[1] - a[1]) * n[1] for p in outline]
    return max(offs) - min(offs)
