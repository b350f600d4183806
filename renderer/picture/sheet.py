"""Pictures side by side with lines of words under each: a sheet to choose from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from renderer.picture.bands import Pixels
from renderer.picture.legend import FAINT, INK, PAPER
from renderer.picture.type import Colour, draw_text, figure_height, text_width

TITLE, HEAD, WORDS = 22.0, 16.0, 14.0  # heights of letters [pixels]
LINE, GAP, EDGE = 19, 14, 20
LEAST = 150
"""Pixels that a column has at the least, so that words under tiny pictures can be read."""


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
    scale: float = 1.0,
) -> Pixels:
    """All cells on one paper, (h, w, 3) uint8: `columns` over the first row, `names` over each row (none
    over one without).

    Cells of one row have pictures of one size; letters are `scale` times as large as for pictures 300 wide.
    Raises ValueError for none.
    """
    if not rows or not all(rows):
        raise ValueError("a sheet needs at least one picture in every row")
    words, head, line, gap, edge = (it * scale for it in (WORDS, HEAD, LINE, GAP, EDGE))
    line, gap, edge = round(line), round(gap), round(edge)
    wide = max(cell.picture.shape[1] for row in rows for cell in row)
    if columns or any(cell.lines for row in rows for cell in row):
        wide = max(wide, round(LEAST * scale))
    texts = [[_lines(it, wide, words) for it in row] for row in rows]
    over = [wrapped(text, wide, head) for text in columns]
    tall = round(1.3 * line)
    heights = [
        max(cell.picture.shape[0] for cell in row) + line * max(len(lines) for lines in text) + gap
        for row, text in zip(rows, texts, strict=True)
    ]
    across = max(map(len, rows)) * (wide + gap) - gap
    titles = wrapped(title, across, TITLE * scale)
    above = edge + (round(1.3 * TITLE * scale) * len(titles) + round(0.6 * gap) if titles else 0)
    top = above + tall * max(map(len, over), default=0) + (round(6 * scale) if columns else 0)
    high = top + sum(heights) + (line + round(4 * scale)) * sum(map(bool, names)) + edge
    paper = Image.new("RGB", (2 * edge + across, high), PAPER)
    draw = ImageDraw.Draw(paper)
    for n, text_of_title in enumerate(titles):
        at = (edge, edge + figure_height(TITLE * scale) + round(1.3 * TITLE * scale) * n)
        draw_text(draw, at, text_of_title, TITLE * scale, INK)
    for k, lines in enumerate(over):
        for n, text in enumerate(lines):
            at = (edge + k * (wide + gap), above + tall * n + figure_height(head))
            draw_text(draw, at, text, head, FAINT)
    y = top
    for i, (row, under) in enumerate(zip(rows, texts, strict=True)):
        if names and names[i]:
            draw_text(draw, (edge, y + line - 3 * scale), names[i], head, INK)
            y += line + round(4 * scale)
        for k, (cell, said) in enumerate(zip(row, under, strict=True)):
            x = edge + k * (wide + gap)
            paper.paste(Image.fromarray(cell.picture), (x, y))
            for n, (part, ink) in enumerate(said):
                at = (x, y + cell.picture.shape[0] + line * (n + 1) + scale)
                draw_text(draw, at, part, words, ink)
        y += heights[i]
    return np.array(paper)


def _lines(cell: Cell, wide: float, size: float) -> list[tuple[str, Colour]]:
    """What stands under a picture, line by line, and its ink."""
    return [
        (part, INK if i == 0 else FAINT)
        for i, text in enumerate(cell.lines)
        for part in wrapped(text, wide, size)
    ]
