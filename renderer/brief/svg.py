"""A drawing as inline SVG, in millimetres, so that it prints to scale."""

from __future__ import annotations

from html import escape

from renderer.brief.drawing import Drawing, Line, Words
from renderer.brief.letter import FAMILY, POINT


def svg(drawing: Drawing) -> str:
    """One element without a name space: it stands in an HTML page."""
    wide, high = drawing.size
    parts = [
        f'<svg class="drawing" role="img" aria-label="{escape(drawing.name)}" width="{wide:.3f}mm"'
        f' height="{high:.3f}mm"'
        f' viewBox="0 0 {wide:.3f} {high:.3f}" font-family="{FAMILY}">'
    ]
    for item in drawing.items:
        parts.append(_line(drawing, item, high) if isinstance(item, Line) else _words(drawing, item, high))
    return "\n".join([*parts, "</svg>"])


def _line(drawing: Drawing, line: Line, high: float) -> str:
    points = []
    for point in line.points:
        x, y = drawing.on_paper(point)
        points.append(f"{x:.3f},{high - y:.3f}")
    look = f'fill="{_grey(line.fill)}"' if line.fill is not None else 'fill="none"'
    if line.pen is not None:
        look += f' stroke="{_grey(line.pen.grey)}" stroke-width="{line.pen.width:g}"'
        if line.pen.dash:
            look += f' stroke-dasharray="{" ".join(f"{dash:g}" for dash in line.pen.dash)}"'
    return f'<{"polygon" if line.closed else "polyline"} points="{" ".join(points)}" {look}/>'


def _words(drawing: Drawing, words: Words, high: float) -> str:
    if not words.text:
        return ""
    x, y = drawing.on_paper(words.at)
    anchor = {"left": "start", "middle": "middle", "right": "end"}[words.align]
    back = ""
    if words.backed:
        (x0, y0), (x1, y1) = (drawing.on_paper(corner) for corner in drawing.box_of(words))
        size = f'width="{x1 - x0 + 0.6:.3f}" height="{y1 - y0:.3f}"'
        back = f'<rect x="{x0 - 0.3:.3f}" y="{high - y1:.3f}" {size} fill="#fff"/>'
    weight = ' font-weight="bold"' if words.bold else ""
    # the width of the PDF's font is asked for, so that no label grows into another one
    return (
        f'{back}<text x="{x:.3f}" y="{high - y:.3f}" font-size="{words.size * POINT:.3f}"'
        f' text-anchor="{anchor}"{weight}'
        f' textLength="{words.width():.3f}" lengthAdjust="spacingAndGlyphs">{escape(words.text)}</text>'
    )


def _grey(value: float) -> str:
    return f"#{round(255 * value):02x}" + f"{round(255 * value):02x}" * 2
