"""The key to the symbols: a sample of each line and outline with its meaning."""

from __future__ import annotations

from collections.abc import Callable

from renderer.brief.drawing import Drawing, Pen
from renderer.brief.geometry import Point, arc
from renderer.brief.label import number
from renderer.brief.symbol import (
    AIM,
    BEAM,
    BODY,
    CONE,
    CUT,
    EDGE_PENS,
    FACE,
    OPAQUE,
    THIN,
    arrow,
    mark_symbol,
)

ROW, COLUMN, SAMPLE = 4.6, 47.0, 10.0
COLUMNS = 4

Sampler = Callable[[Drawing, Point], None]


def _line(pen: Pen, tipped: bool = False, double: bool = False) -> Sampler:
    def draw(drawing: Drawing, at: Point) -> None:
        a, b = (at[0] + drawing.metres(0.5), at[1]), (at[0] + drawing.metres(SAMPLE - 1.5), at[1])
        drawing.line((a, b), pen)
        if tipped:
            arrow(drawing, a, b)
        if double:
            off = drawing.metres(0.8)
            drawing.line(((a[0], a[1] + off), (b[0], b[1] + off)), pen)

    return draw


def _body(drawing: Drawing, at: Point) -> None:
    x0, x1 = at[0] + drawing.metres(0.5), at[0] + drawing.metres(SAMPLE - 1.5)
    half = drawing.metres(1.3)
    drawing.area([(x0, at[1] - half), (x1, at[1] - half), (x1, at[1] + half), (x0, at[1] + half)], THIN, BODY)


def _feet(drawing: Drawing, at: Point) -> None:
    middle = at[0] + drawing.metres(SAMPLE / 2 - 0.5), at[1]
    drawing.area(arc(middle, drawing.metres(2.0), 0.0, 360.0), Pen(0.15, (1.2, 0.8)))
    drawing.area(arc(middle, drawing.metres(0.6), 0.0, 360.0), Pen(0.3), 0.0)


def _heavy(drawing: Drawing, at: Point) -> None:
    x, half = at[0] + drawing.metres(SAMPLE / 2 - 0.5), drawing.metres(1.2)
    drawing.area(
        [
            (x - half, at[1] - half),
            (x + half, at[1] - half),
            (x + half, at[1] + half),
            (x - half, at[1] + half),
        ],
        Pen(0.3),
        0.4,
    )


def _mark(drawing: Drawing, at: Point) -> None:
    middle = at[0] + drawing.metres(2.5), at[1]
    mark_symbol(drawing, middle)
    drawing.words((middle[0] + drawing.metres(2.2), at[1] - drawing.metres(1.0)), "A", 8.0, bold=True)


def _sitter_mark(drawing: Drawing, at: Point) -> None:
    x, size = at[0] + drawing.metres(SAMPLE / 2 - 0.5), drawing.metres(1.6)
    drawing.line(((x - size, at[1] + size), (x + size, at[1] + size)), Pen(0.5))
    drawing.line(((x, at[1] + size), (x, at[1] - size)), Pen(0.5))


def _number(drawing: Drawing, at: Point) -> None:
    number(drawing, (at[0] + drawing.metres(SAMPLE / 2 - 0.5), at[1]), "1")


SAMPLES: tuple[tuple[str, Sampler], ...] = (
    ("unit, see the schedule", _number),
    ("face that shines", _line(FACE)),
    ("skirt or closed side", _line(OPAQUE)),
    ("body; housing is a sketch", _body),
    ("card or window on edge", _line(EDGE_PENS["card"], double=True)),
    ("flag on edge", _line(EDGE_PENS["flag"])),
    ("breakup on edge", _line(EDGE_PENS["breakup"])),
    ("aim of a light", _line(AIM, tipped=True)),
    ("edge of a beam, half its peak", _line(BEAM)),
    ("what the lens sees", _line(CONE)),
    ("where direct light ends", _line(CUT)),
    ("feet of a stand, its mast", _feet),
    ("counterweight of a boom", _heavy),
    ("mark of the meter", _mark),
    ("sitter's mark, stem to the camera", _sitter_mark),
)


def key_drawing() -> Drawing:
    """All of them in four columns."""
    rows = -(-len(SAMPLES) // COLUMNS)
    drawing = Drawing("Key", 20, ((0.0, 0.0), (COLUMN * COLUMNS * 0.02, ROW * rows * 0.02)))
    for k, (text, sample) in enumerate(SAMPLES):
        column, row = k % COLUMNS, k // COLUMNS
        at = drawing.metres(COLUMN * column), drawing.box[1][1] - drawing.metres(ROW * (row + 0.5))
        sample(drawing, at)
        drawing.words((at[0] + drawing.metres(SAMPLE), at[1] - drawing.metres(0.9)), text, 6.6)
    return drawing
