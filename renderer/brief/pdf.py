"""The brief as PDF: A4, embedded fonts, vector drawings to scale, the same bytes for the same brief."""

from __future__ import annotations

import io
from itertools import accumulate
from typing import Any
from xml.sax.saxutils import escape

from reportlab import rl_config
from reportlab.lib import colors
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Frame,
    Image,
    PageBreak,
    PageTemplate,
    Paragraph,
    Spacer,
)
from reportlab.platypus import Table as Grid

from renderer.brief import letter
from renderer.brief.canvas import DrawingBox
from renderer.brief.page import (
    HIGH,
    WIDE,
    Beside,
    Block,
    Brief,
    Figure,
    Picture,
    Pictures,
    Section,
    Table,
    Text,
)

EDGE, HEAD, FOOT = 10.0, 14.0, 12.0
"""Millimetres beside, over and under what is on a page."""
PALE = colors.Color(0.92, 0.92, 0.92)


def _style(size: float, bold: bool = False, before: float = 0.0, after: float = 0.9) -> ParagraphStyle:
    return ParagraphStyle(
        f"s{size}{bold}{before}{after}",
        fontName=letter.BOLD if bold else letter.REGULAR,
        fontSize=size,
        leading=1.22 * size,
        spaceBefore=before * mm,
        spaceAfter=after * mm,
    )


KINDS = {
    "body": (7.8, False),
    "lead": (9.0, False),
    "note": (7.0, False),
    "caution": (7.8, True),
    "twice": (7.0, True),
}


def pdf(brief: Brief) -> bytes:
    """The whole file."""
    letter.ready()
    out = io.BytesIO()
    rl_config.useA85 = 0
    document = BaseDocTemplate(
        out, pagesize=A4, title=letter.legible(brief.title), author="halfstop", invariant=1
    )
    frame = Frame(
        EDGE * mm, FOOT * mm, WIDE * mm, A4[1] - (HEAD + FOOT) * mm,
        leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
    )  # fmt: skip
    document.addPageTemplates([PageTemplate(frames=[frame])])
    story: list[Any] = []
    for section in brief.sections:
        story += _section(section)
    document.build(story, canvasmaker=lambda *args, **options: _Numbered(brief, *args, **options))
    return out.getvalue()


class _Numbered(Canvas):  # type: ignore[misc]
    """A canvas that knows at the end how many pages there are, and heads each of them."""

    def __init__(self, brief: Brief, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._brief, self._pages = brief, []  # type: ignore[var-annotated]

    def showPage(self) -> None:
        self._pages.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        for number, state in enumerate(self._pages, 1):
            self.__dict__.update(state)
            self._head(number, len(self._pages))
            Canvas.showPage(self)
        Canvas.save(self)

    def _head(self, number: int, count: int) -> None:
        self.setFillGray(0.0)
        self.setStrokeGray(0.0)
        self.setDash([])
        self.setLineWidth(0.3 * mm)
        self.setFont(letter.BOLD, 11.0)
        self.drawString(EDGE * mm, A4[1] - 9.5 * mm, _cut(letter.legible(self._brief.title), 140.0))
        self.setFont(letter.REGULAR, 8.0)
        self.drawRightString(A4[0] - EDGE * mm, A4[1] - 9.5 * mm, f"lighting brief, page {number} of {count}")
        self.line(EDGE * mm, A4[1] - 11.5 * mm, A4[0] - EDGE * mm, A4[1] - 11.5 * mm)
        self.setFont(letter.REGULAR, 6.8)
        self.drawString(EDGE * mm, 7.0 * mm, letter.legible(self._brief.foot))


def _section(section: Section) -> list[Any]:
    start = [PageBreak()] if section.new_page else [CondPageBreak(section.least * mm)]
    title = Paragraph(_markup(section.title), _style(11.0, True, 1.8, 1.0))
    return [*start, title, *(it for block in section.blocks for it in _block(block, WIDE))]


def _block(block: Block, wide: float) -> list[Any]:
    if isinstance(block, Text):
        size, bold = KINDS[block.kind]
        return [Paragraph(_markup(block.text), _style(size, bold))]
    if isinstance(block, Figure):
        return [DrawingBox(block.drawing)]
    if isinstance(block, Pictures):
        return [_pictures(block, wide), Spacer(0, 1.5 * mm)]
    if isinstance(block, Beside):
        return _beside(block, wide)
    return [_table(block, wide), Spacer(0, 1.5 * mm)]


def _beside(block: Beside, wide: float) -> list[Any]:
    """Side by side as many blocks of each side, from the first, as go on a page; the others after them."""
    beside: list[list[Any]] = []
    after: list[Any] = []
    for blocks, width in ((block.left, block.left_wide), (block.right, block.right_wide)):
        made = [_block(inner, width) for inner in blocks]
        ends = accumulate(sum(_high(it, width) for it in flowables) for flowables in made)
        fit = sum(end <= (HIGH - block.above) * mm for end in ends)
        beside.append([it for flowables in made[:fit] for it in flowables])
        after += [it for inner in blocks[fit:] for it in _block(inner, wide)]
    gap = wide - block.left_wide - block.right_wide
    grid = Grid(
        [[beside[0], "", beside[1]]],
        colWidths=[block.left_wide * mm, gap * mm, block.right_wide * mm],
        style=[("VALIGN", (0, 0), (-1, -1), "TOP"), *_padding(0.0)],
    )
    return [grid, Spacer(0, 1.2 * mm), *after]


def _high(flowable: Any, wide: float) -> float:
    """Points that it takes with the space about it."""
    return float(flowable.wrap(wide * mm, 1e6)[1] + flowable.getSpaceBefore() + flowable.getSpaceAfter())


def _table(table: Table, wide: float) -> Grid:
    whole = sum(table.widths)
    rows = [[Paragraph(_markup(text), _style(table.size - 0.4, True, after=0.0)) for text in table.head]]
    for row in table.rows:
        cells = [
            Paragraph(_markup(text), _style(table.size, k in table.bold, after=0.0))
            for k, text in enumerate(row)
        ]
        rows.append(cells)
    empty = [not any(text for k, text in enumerate(row) if k not in table.bold) for row in table.rows]
    heights = [None, *(table.blank * mm if table.blank and blank else None for blank in empty)]
    grid = Grid(
        rows,
        colWidths=[wide * mm * share / whole for share in table.widths],
        rowHeights=heights,
        repeatRows=1,
        style=[
            ("GRID", (0, 0), (-1, -1), 0.12 * mm, colors.Color(0.45, 0.45, 0.45)),
            ("BACKGROUND", (0, 0), (-1, 0), PALE),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            *_padding(0.7),
        ],
    )
    grid.hAlign = "LEFT"
    return grid


def _pictures(block: Pictures, wide: float) -> Grid:
    cells: list[Any] = [_picture(picture) for picture in block.pictures]
    columns = max(1, min(block.columns, len(cells)))
    cells += [""] * (-len(cells) % columns)
    rows = [cells[k : k + columns] for k in range(0, len(cells), columns)]
    share = [0.0] * columns
    for k, picture in enumerate(block.pictures):
        share[k % columns] = max(share[k % columns], picture.wide)
    spare = max(0.0, wide - sum(share)) / columns
    grid = Grid(
        rows,
        colWidths=[(side + min(spare, 4.0)) * mm for side in share],
        style=[("VALIGN", (0, 0), (-1, -1), "TOP"), *_padding(0.0)],
    )
    grid.hAlign = "LEFT"
    return grid


def _picture(picture: Picture) -> list[Any]:
    image = Image(io.BytesIO(picture.data), picture.wide * mm, picture.high * mm)
    image.hAlign = "LEFT"
    return [image, Paragraph(_markup(picture.caption), _style(6.8))]


def _padding(side: float) -> list[tuple[Any, ...]]:
    whole = (0, 0), (-1, -1)
    return [
        ("LEFTPADDING", *whole, side * mm),
        ("RIGHTPADDING", *whole, side * mm),
        ("TOPPADDING", *whole, 0.35 * side * mm),
        ("BOTTOMPADDING", *whole, 0.6 * side * mm),
    ]


def _cut(text: str, wide: float) -> str:
    """As much of a heading as goes into so many millimetres."""
    if letter.width_of(text, 11.0, True) <= wide * mm:
        return text
    while text and letter.width_of(text + "...", 11.0, True) > wide * mm:
        text = text[:-1]
    return text.rstrip() + "..."


def _markup(text: str) -> str:
    return escape(letter.legible(text)).replace("\n", "<br/>")
