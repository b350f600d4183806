"""Words along an axis: what is named at each step of a walk, joined where it stays the same."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from renderer.picture.bands import Pixels
from renderer.picture.chart import MARGIN, SIZE, TITLE
from renderer.picture.legend import FAINT, INK, PAPER
from renderer.picture.type import Colour, draw_text, figure_height, text_width

FIELDS: tuple[Colour, ...] = ((231, 234, 222), (218, 223, 230))
"""In turn, so that each change of the word shows."""
HIGH, ROW = 66, 34


@dataclass(frozen=True)
class Row:
    """A word for each step, empty for one that was not reached; `name` stands at the end."""

    words: Sequence[str]
    name: str = ""


def draw_strip(title: str, rows: Sequence[Row], ticks: Sequence[str], wide: int) -> Pixels:
    """The rows under their title, the steps' words below them, (h, wide, 3) uint8 sRGB."""
    names = max((text_width(row.name, SIZE) for row in rows), default=0)
    left, right = MARGIN[0], wide - MARGIN[2] - (names + 8 if names else 0)
    paper = Image.new("RGB", (wide, HIGH + ROW * len(rows)), PAPER)
    draw = ImageDraw.Draw(paper)
    draw_text(draw, (14, 22), title, TITLE, INK)
    ends = np.linspace(left, right, len(ticks) + 1)
    y = 34
    for row in rows:
        start, field = 0, 0
        for i in range(1, len(row.words) + 1):
            if i < len(row.words) and row.words[i] == row.words[start]:
                continue
            if row.words[start]:
                box = (round(ends[start]), y, round(ends[i]) - 2, y + ROW - 6)
                draw.rectangle(box, fill=FIELDS[field % 2])
                _word(draw, row.words[start], box)
                field += 1
            start = i
        draw_text(draw, (right + 8, y + ROW / 2), row.name, SIZE, FAINT)
        y += ROW
    for i, text in enumerate(ticks):
        middle = (ends[i] + ends[i + 1]) / 2
        if text_width(text, SIZE) < ends[1] - ends[0] - 2:
            draw_text(draw, (middle, y + 4 + figure_height(SIZE)), text, SIZE, FAINT, "middle")
    return np.array(paper)


def _word(draw: ImageDraw.ImageDraw, word: str, box: tuple[int, int, int, int]) -> None:
    """The word in the middle of its field, smaller where it is tight."""
    size = SIZE
    while size > 8.0 and text_width(word, size) > box[2] - box[0] - 4:
        size -= 1.0
    at = ((box[0] + box[2]) / 2, (box[1] + box[3] + figure_height(size)) / 2)
    draw_text(draw, at, word, size, INK, "middle")
