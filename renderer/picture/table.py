"""A table of words and figures as a picture, and pictures one under the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from renderer.picture.bands import Pixels
from renderer.picture.legend import FAINT, INK, PAPER
from renderer.picture.sheet import EDGE, HEAD, LINE, WORDS, wrapped
from renderer.picture.type import draw_text, figure_height, text_width

RULE = (190, 189, 186)
COLUMN_GAP = 22


@dataclass(frozen=True)
class Field:
    """What stands in one place: its words, and whether they are marked, with a dot and in full ink."""

    text: str
    marked: bool = False


def draw_table(heads: Sequence[str], rows: Sequence[Sequence[Field]], scale: float = 1.0) -> Pixels:
    """The table, (h, w, 3) uint8: the first column from the left, the others to the right."""
    size, line, edge, gap = (round(it * scale) for it in (WORDS, 1.2 * LINE, EDGE, COLUMN_GAP))
    dot = round(0.5 * size)
    widths = [
        max(text_width(text, size) for text in (head, *(row[i].text for row in rows))) + (dot + 6 if i else 0)
        for i, head in enumerate(heads)
    ]
    ends = np.cumsum([width + gap for width in widths]) - gap + edge
    paper = Image.new("RGB", (int(ends[-1]) + edge, line * (len(rows) + 2) + edge // 2), PAPER)
    draw = ImageDraw.Draw(paper)
    y = figure_height(size) + round(4 * scale)
    for i, head in enumerate(heads):
        _put(draw, head, size, FAINT, i, edge, int(ends[i]), y, dot)
    under = y + round(0.4 * line)
    y = under + round(0.1 * line)
    draw.rectangle((edge, under, int(ends[-1]), under), fill=RULE)
    for row in rows:
        y += line
        for i, field in enumerate(row):
            ink = INK if field.marked or i == 0 else FAINT
            _put(draw, field.text, size, ink, i, edge, int(ends[i]), y, dot)
            if field.marked:
                middle, right = y - figure_height(size) / 2, int(ends[i])
                draw.ellipse((right - dot + 1, middle - dot / 2, right, middle + dot / 2), fill=INK)
    return np.array(paper)


def _put(
    draw: ImageDraw.ImageDraw,
    text: str,
    size: float,
    ink: tuple[int, int, int],
    column: int,
    left: int,
    right: int,
    y: int,
    dot: int,
) -> None:
    if column == 0:
        draw_text(draw, (left, y), text, size, ink)
    else:
        draw_text(draw, (right - dot - 6, y), text, size, ink, "right")


def paragraph(texts: Sequence[str], wide: int, scale: float = 1.0) -> Pixels:
    """Lines of words over a paper `wide` pixels across, (h, wide, 3) uint8."""
    size, line, edge = WORDS * scale, round(LINE * scale), round(EDGE * scale)
    lines = [part for text in texts for part in wrapped(text, wide - 2 * edge, size)]
    paper = Image.new("RGB", (wide, line * (len(lines) + 1) + edge), PAPER)
    draw = ImageDraw.Draw(paper)
    for n, text in enumerate(lines):
        draw_text(draw, (edge, line * n + line // 2 + figure_height(size)), text, size, FAINT)
    return np.array(paper)


def headline(text: str, wide: int, scale: float = 1.0) -> Pixels:
    """One line of larger letters, (h, wide, 3) uint8."""
    size, edge = HEAD * scale, round(EDGE * scale)
    paper = Image.new("RGB", (wide, round(2.0 * size)), PAPER)
    draw_text(ImageDraw.Draw(paper), (edge, round(1.2 * size)), text, size, INK)
    return np.array(paper)


def stacked(panels: Sequence[Pixels]) -> Pixels:
    """All panels one under the other on one paper, from the left."""
    wide = max(panel.shape[1] for panel in panels)
    paper = np.empty((sum(panel.shape[0] for panel in panels), wide, 3), np.uint8)
    paper[:] = PAPER
    y = 0
    for panel in panels:
        paper[y : y + panel.shape[0], : panel.shape[1]] = panel
        y += panel.shape[0]
    return paper
