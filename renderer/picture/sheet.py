"""Pictures side by side with lines of words under each: a sheet to choose from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from renderer.picture.bands import Pixels
from renderer.picture.legend import FAINT, INK, PAPER
from renderer.picture.type import draw_text, figure_height, text_width

TITLE, HEAD, WORDS = 22.0, 16.0, 14.0  # heights of letters [pixels]
LINE, GAP, EDGE = 19, 14, 20


@dataclass(frozen=True)
class Cell:
    """A picture, (h, w, 3) uint8, and the lines under it, the first of them in full ink."""

    picture: Pixels
    lines: Sequence[str] = ()


def wrapped(text: str, wide: float, size: float) -> list[str]:
    """The text in lines of at most `wide` pixels; a word that is longer stands alone."""
    lines: list[str] = []
    for word in text.split():
        if lines and text_width(f"{lines[-1]} {word}", size) <= wide:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def sheet(
    rows: Sequence[Sequence[Cell]],
    title: str = "",
    columns: Sequence[str] = (),
    names: Sequence[str] = (),
) -> Pixels:
    """All cells on one paper, (h, w, 3) uint8: `columns` over the first row, `names` over each row.

    Cells of one row have pictures of one size. Raises ValueError for none.
    """
    if not rows or not all(rows):
        raise ValueError("a sheet needs at least one picture in every row")
    wide = max(cell.picture.shape[1] for row in rows for cell in row)
    texts = [
        [[part for line in it.lines for part in wrapped(line, wide, WORDS)] for it in row] for row in rows
    ]
    heights = [
        max(cell.picture.shape[0] for cell in row) + LINE * max(len(lines) for lines in text) + GAP
        for row, text in zip(rows, texts, strict=True)
    ]
    top = EDGE + (round(TITLE) + GAP if title else 0) + (LINE + 6 if columns else 0)
    high = top + sum(heights) + (LINE + 4) * len(names) + EDGE
    paper = Image.new("RGB", (2 * EDGE + max(map(len, rows)) * (wide + GAP) - GAP, high), PAPER)
    draw = ImageDraw.Draw(paper)
    if title:
        draw_text(draw, (EDGE, EDGE + figure_height(TITLE)), title, TITLE, INK)
    for k, head in enumerate(columns):
        draw_text(draw, (EDGE + k * (wide + GAP), top - 12), head, HEAD, FAINT)
    y = top
    for i, (row, text) in enumerate(zip(rows, texts, strict=True)):
        if names:
            draw_text(draw, (EDGE, y + LINE - 3), names[i], HEAD, INK)
            y += LINE + 4
        for k, (cell, lines) in enumerate(zip(row, text, strict=True)):
            x = EDGE + k * (wide + GAP)
            paper.paste(Image.fromarray(cell.picture), (x, y))
            for n, line in enumerate(lines):
                at = (x, y + cell.picture.shape[0] + LINE * (n + 1) - 3)
                draw_text(draw, at, line, WORDS, INK if n == 0 else FAINT)
        y += heights[i]
    return np.array(paper)
