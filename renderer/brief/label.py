"""Labels that find a free place by themselves, tied to what they name by a thin line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from renderer.brief.drawing import Drawing, Line, Pen
from renderer.brief.geometry import Box, Point, arc, cross, distance, grown, inside, meet
from renderer.brief.letter import POINT, width_of

SIZE, HEAD = 6.8, 8.0
"""Letters of a label and of its first line [points]."""
LINE = 2.9
CIRCLE = 2.3
"""Height of a line, and radius of the circle round a number [mm]."""
REACHES = (3.0, 5.0, 7.5, 10.5, 14.0, 18.0, 23.0, 29.0, 36.0, 45.0, 56.0, 70.0)
TURNS = [360.0 * k / 32 for k in range(32)]
LINE_COST, BODY_COST = 2.5, 45.0
"""Millimetres that a label rather moves than lie on a line, or on part of a symbol."""
APART = 1.3
"""Millimetres between labels."""
CROWDED = 14
"""Units up to which labels leave room for the drawing; of more, numbers stand alone and the schedule has the
rest."""
LEADER = Pen(0.12)


@dataclass(frozen=True)
class Note:
    """A label to be placed.

    anchor  what it points to [m]
    lines   the first in bold
    number  in a circle before it; empty for none
    plain   no line is bold
    """

    anchor: Point
    lines: tuple[str, ...]
    number: str = ""
    plain: bool = False

    def bold(self, k: int) -> bool:
        """Whether that line is the heading."""
        return k == 0 and not self.plain

    def size(self) -> tuple[float, float]:
        """Width and height [mm]."""
        wide = max(
            (
                width_of(text, HEAD if self.bold(k) else SIZE, self.bold(k)) * POINT
                for k, text in enumerate(self.lines)
            ),
            default=0.0,
        )
        if self.number:
            wide += 2 * CIRCLE + (1.0 if self.lines else 0.0)
        return wide, max(LINE * len(self.lines), 2 * CIRCLE if self.number else 0.0)


@dataclass(frozen=True)
class Placed:
    """A note in its box [m], and the line from its edge to its anchor."""

    note: Note
    box: Box
    leader: tuple[Point, Point]


def place(
    drawing: Drawing, notes: Sequence[Note], bodies: Sequence[Box], field: Box, texts: Sequence[Box] = ()
) -> list[Placed]:
    """A place for each note inside `field`: never on another label or on `texts` while there is room, off the
    bodies, the lines drawn so far and other leaders as far as it can be, and as near as it can be."""
    placed: list[Placed] = []
    lines = [
        (item.points[0], item.points[1])
        for item in drawing.items
        if isinstance(item, Line) and len(item.points) == 2 and item.pen is not None and item.pen.grey < 0.5
    ]
    for note in notes:
        options = [_option(drawing, note, reach, turn) for reach in REACHES for turn in TURNS]
        options = [option for option in options if inside(option.box, field)] or options
        best, least = options[0], math.inf
        for option in options:  # the nearest first: a leader that is longer than the least cost ends it
            if drawing.scale * least / 1000.0 < distance(*option.leader):
                break
            cost = _cost(drawing, option, placed, bodies, texts, lines)
            if cost < least:
                best, least = option, cost
        placed.append(best)
    return placed


def _option(drawing: Drawing, note: Note, reach: float, turn: float) -> Placed:
    wide, high = (drawing.metres(side) for side in note.size())
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    away = drawing.metres(reach)
    # the middle of the box lies so far out that its nearest edge is `reach` from the anchor
    out = min(
        wide / 2 / abs(c) if abs(c) > 1e-9 else math.inf, high / 2 / abs(s) if abs(s) > 1e-9 else math.inf
    )
    x, y = note.anchor[0] + c * (away + out), note.anchor[1] + s * (away + out)
    box = (x - wide / 2, y - high / 2), (x + wide / 2, y + high / 2)
    return Placed(note, box, ((x - c * out, y - s * out), note.anchor))


def _cost(
    drawing: Drawing,
    option: Placed,
    placed: Sequence[Placed],
    bodies: Sequence[Box],
    texts: Sequence[Box],
    lines: Sequence[tuple[Point, Point]],
) -> float:
    mm = 1000.0 / drawing.scale
    room = grown(option.box, drawing.metres(APART))
    cost = distance(*option.leader) * mm
    for other in placed:
        cost += 1e4 * meet(room, other.box)
        cost += 40.0 * cross(option.leader, other.leader)
        cost += 200.0 * _through(option.leader, other.box) + 200.0 * _through(other.leader, room)
    cost += 1e4 * sum(meet(room, text) for text in texts)
    anchor = option.note.anchor
    for body in bodies:
        if meet(room, body):
            cost += BODY_COST + 6.0 * _shared(room, body, mm)
        elif not inside((anchor, anchor), body) and _through(option.leader, body):
            cost += 25.0
    return cost + LINE_COST * sum(_through(line, room) for line in lines)


def _shared(a: Box, b: Box, mm: float) -> float:
    """Square root of what two boxes share [mm]."""
    sides = [max(0.0, min(a[1][i], b[1][i]) - max(a[0][i], b[0][i])) for i in (0, 1)]
    return math.sqrt(sides[0] * sides[1]) * mm


def _through(line: tuple[Point, Point], box: Box) -> bool:
    (x0, y0), (x1, y1) = box
    return cross(line, ((x0, y0), (x1, y1))) or cross(line, ((x0, y1), (x1, y0)))


def draw(drawing: Drawing, placed: Sequence[Placed]) -> None:
    """All leaders, then all labels on white."""
    for it in placed:
        drawing.line(it.leader, LEADER)
        drawing.area(arc(it.note.anchor, drawing.metres(0.45), 0.0, 360.0), None, 0.0)
    for it in placed:
        _write(drawing, it)


def _write(drawing: Drawing, it: Placed) -> None:
    (x, y0), (x1, y1) = grown(it.box, drawing.metres(0.3))
    drawing.area([(x, y0), (x1, y0), (x1, y1), (x, y1)], None, 1.0)
    x, top = it.box[0][0], it.box[1][1]
    if it.note.number:
        middle = (x + drawing.metres(CIRCLE), top - drawing.metres(CIRCLE))
        number(drawing, middle, it.note.number)
        x += drawing.metres(2 * CIRCLE + 1.0)
    for k, text in enumerate(it.note.lines):
        head = it.note.bold(k)
        base = top - drawing.metres(LINE * (k + 0.8))
        drawing.words((x, base), text, HEAD if head else SIZE, bold=head)


def number(drawing: Drawing, middle: Point, text: str) -> None:
    """A number in a circle."""
    drawing.area(arc(middle, drawing.metres(CIRCLE), 0.0, 360.0), Pen(0.3), 1.0)
    drawing.words((middle[0], middle[1] - drawing.metres(1.0)), text, 8.0, "middle", bold=True)
