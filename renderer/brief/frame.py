"""What every drawing to scale has: the scale that fits the paper, a metric grid with figures, a scale bar."""

from __future__ import annotations

import math

from renderer.brief.drawing import Drawing, Pen, Words
from renderer.brief.geometry import Box, Point, grown
from renderer.units import MINUS

SCALES = (20, 25, 40, 50, 75, 100, 150, 200, 250, 500, 1000, 2000, 5000)
"""1:20, 1:50, 1:100 and so on as in ISO 5455 (from memory); 1:25, 1:40 and 1:75 between them are common."""
MARGIN = 9.0
"""Millimetres round what is drawn, for the figures of the grid."""
BAR = 9.0
"""Millimetres under it, for the scale bar."""
GRID = Pen(0.1, grey=0.72)
METRE = Pen(0.14, grey=0.6)


def framed(name: str, box: Box, paper: tuple[float, float]) -> Drawing:
    """An empty drawing of what is in `box` [m] at the largest scale that fits `paper` [mm]."""
    wide, high = box[1][0] - box[0][0], box[1][1] - box[0][1]
    scale = next(
        (
            scale
            for scale in SCALES
            if wide * 1000.0 / scale + 2 * MARGIN <= paper[0]
            and high * 1000.0 / scale + 2 * MARGIN + BAR <= paper[1]
        ),
        SCALES[-1],
    )
    drawing = Drawing(name, scale, box)
    (x0, y0), (x1, y1) = grown(box, drawing.metres(MARGIN))
    drawing.box = (x0, y0 - drawing.metres(BAR)), (x1, y1)
    return drawing


def grid(drawing: Drawing, box: Box, axes: tuple[str, str], signs: tuple[int, int] = (1, 1)) -> None:
    """Lines every half metre with a figure at each metre, over `box`, counted from the origin.

    axes   what the figures along the lower and the left edge count
    signs  -1 where the world's figures fall as the paper's rise
    """
    step = 0.5 if drawing.scale <= 50 else 1.0 if drawing.scale <= 100 else 5.0
    every = 1.0 if drawing.scale <= 100 else 5.0 if drawing.scale <= 500 else 50.0
    for i in (0, 1):
        low, high = box[0][i], box[1][i]
        for k in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1):
            at = k * step
            ends = [(at, box[j][1]) if i == 0 else (box[j][0], at) for j in (0, 1)]
            whole = abs(at / every - round(at / every)) < 1e-9
            drawing.line(ends, METRE if whole else GRID)
            if whole:
                _figures(drawing, box, i, at, figure(signs[i] * at))
    gap = drawing.metres(5.5)
    drawing.words((box[1][0], box[0][1] - gap - drawing.metres(1.8)), f"{axes[0]}, metres", 6.5, "right")
    drawing.words(
        (box[0][0] - drawing.metres(7.5), box[1][1] + drawing.metres(4.5)), f"{axes[1]}, metres", 6.5
    )


def figure(value: float) -> str:
    """A whole number of metres with a true minus sign."""
    return (MINUS if value < -1e-9 else "") + f"{abs(value):g}"


def _figures(drawing: Drawing, box: Box, i: int, at: float, text: str) -> None:
    off, drop = drawing.metres(1.6), drawing.metres(0.9)
    if i == 0:
        drawing.words((at, box[0][1] - off - 2 * drop), text, 6.5, "middle")
        drawing.words((at, box[1][1] + off), text, 6.5, "middle")
    else:
        drawing.words((box[0][0] - off, at - drop), text, 6.5, "right")
        drawing.words((box[1][0] + off, at - drop), text, 6.5)


def scale_bar(drawing: Drawing, box: Box) -> None:
    """Blocks of half a metre, black and white, with figures and the scale in words."""
    block = (
        0.5 if drawing.scale <= 50 else 1.0 if drawing.scale <= 100 else 5.0 if drawing.scale <= 500 else 50.0
    )
    count = max(1, min(4, int((box[1][0] - box[0][0]) * 0.6 / block)))
    x, y = box[0][0], drawing.box[0][1] + drawing.metres(3.4)
    high = drawing.metres(1.5)
    for k in range(count):
        corners = [(x + (k + a) * block, y + b * high) for a, b in ((0, 0), (1, 0), (1, 1), (0, 1))]
        drawing.area(corners, Pen(0.2), 0.0 if k % 2 == 0 else 1.0)
    for k in range(count + 1):
        drawing.words((x + k * block, y - drawing.metres(2.6)), f"{k * block:g}", 6.5, "middle")
    words = f"metres   1:{drawing.scale}, printed at 100 % on A4"
    drawing.words((x + count * block + drawing.metres(2.5), y), words, 7.5, bold=True)


def measure(drawing: Drawing, a: Point, b: Point, text: str, side: float = 0.0) -> Box:
    """A dimension line between two points with a tick at each end; its text stands upright on white.

    returns the box of the text [m]
    side  how far along the line the text stands, -1 (at a) to 1 (at b)
    """
    drawing.line((a, b), Pen(0.13))
    run = math.hypot(b[0] - a[0], b[1] - a[1]) or 1.0
    n = ((a[1] - b[1]) / run, (b[0] - a[0]) / run)
    tick = drawing.metres(1.0)
    for end in (a, b):
        drawing.line(
            ((end[0] - tick * n[0], end[1] - tick * n[1]), (end[0] + tick * n[0], end[1] + tick * n[1])),
            Pen(0.25),
        )
    share = (1.0 + side) / 2.0
    at = a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]) - drawing.metres(0.9)
    words = Words(at, text, 6.8, "middle", backed=True)
    drawing.items.append(words)
    return drawing.box_of(words)
