"""The table beside a map: swatches, columns of figures, lines of words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from PIL import Image, ImageDraw

from renderer.picture.bands import Pixels
from renderer.picture.type import Colour, draw_text, figure_height, text_width
from renderer.units import C_FLAT, shutter_in_words, t_stop_in_thirds

Place = Literal["side", "below", "none"]

PAPER: Colour = (246, 245, 242)
INK: Colour = (24, 24, 26)
FAINT: Colour = (98, 98, 102)
_RULE: Colour = (190, 189, 186)
_SIZE, _SMALL, _TITLE = 15.0, 13.0, 20.0
_LINE, _ROW, _EDGE, _GAP = 20, 25, 18, 16
_SWATCH = (34, 19)


class Exposure(NamedTuple):
    """What the camera is set to."""

    t_stop: float
    iso: float
    shutter_s: float

    def in_words(self, constant: float = C_FLAT) -> str:
        """One line: ISO, T-stop, shutter and the meter's constant."""
        shutter = shutter_in_words(self.shutter_s)
        return f"ISO {self.iso:g}   {t_stop_in_thirds(self.t_stop)}   {shutter}   C {constant:g}"


@dataclass(frozen=True)
class Row:
    """A line of the table: a swatch, (h, w, 3), and what stands in each column."""

    swatch: Pixels
    cells: tuple[str, ...]


def swatch_size(scale: int) -> tuple[int, int]:
    """Height and width of a swatch [pixels]."""
    return _SWATCH[1] * scale, _SWATCH[0] * scale


def draw_legend(
    title: str,
    above: Sequence[str],
    heads: Sequence[str],
    rows: Sequence[Row],
    below: Sequence[str],
    scale: int,
) -> Pixels:
    """The table as a picture: title, lines of words, the table with `heads` over its columns, more lines."""
    columns = [
        max(text_width(text, size * scale) for text, size in _column(heads, rows, i))
        for i in range(len(heads))
    ]
    table = (_SWATCH[0] + _GAP * len(heads)) * scale + sum(columns)
    words = max(
        [text_width(line, _SMALL * scale) for line in (*above, *below)] + [text_width(title, _TITLE * scale)]
    )
    wide = max(table, words) + 2 * _EDGE * scale
    lines = len(above) + len(below)
    high = (2 * _EDGE + 34 + _LINE * lines + 16 + 26 + _ROW * len(rows) + 14) * scale
    panel = Image.new("RGB", (wide, high), PAPER)
    draw = ImageDraw.Draw(panel)
    left, y = _EDGE * scale, _EDGE * scale + figure_height(_TITLE * scale)
    draw_text(draw, (left, y), title, _TITLE * scale, INK)
    y += 28 * scale
    for line in above:
        draw_text(draw, (left, y), line, _SMALL * scale, FAINT)
        y += _LINE * scale
    y += 14 * scale
    ends = np.cumsum([_SWATCH[0] * scale] + [_GAP * scale + width for width in columns])[1:] + left
    for head, end in zip(heads, ends, strict=True):
        draw_text(draw, (float(end), y), head, _SMALL * scale, FAINT, "right")
    y += 8 * scale
    draw.rectangle((left, y, wide - left - 1, y + scale - 1), fill=_RULE)
    y += 7 * scale
    for row in rows:
        _draw_row(panel, draw, row, left, y, [float(end) for end in ends], scale)
        y += _ROW * scale
    y += (14 + _LINE // 2) * scale
    for line in below:
        draw_text(draw, (left, y), line, _SMALL * scale, FAINT)
        y += _LINE * scale
    return np.array(panel)


def join(picture: Pixels, panel: Pixels, place: Place) -> Pixels:
    """The picture, unscaled and at the top left, with the panel at its right side or below it."""
    if place == "none":
        return picture
    (h, w), (ph, pw) = picture.shape[:2], panel.shape[:2]
    size = (max(h, ph), w + pw) if place == "side" else (h + ph, max(w, pw))
    sheet = np.empty((*size, 3), dtype=np.uint8)
    sheet[:] = PAPER
    sheet[:h, :w] = picture
    if place == "side":
        sheet[:ph, w : w + pw] = panel
    else:
        sheet[h : h + ph, :pw] = panel
    return sheet


def three_figures(value: float) -> str:
    """A quantity to three figures at most, without exponents: 0.132, 4.19, 86, 1340, 12 500."""
    if value >= 999.5:
        digits = f"{round(value, 3 - len(str(round(value)))):.0f}"
        return digits if len(digits) < 5 else f"{int(digits):,}".replace(",", " ")
    if value >= 9.995:
        return f"{value:.0f}" if value >= 99.5 else f"{value:.1f}"
    return f"{value:.2f}" if value >= 0.095 else f"{value:.3f}"


def _column(heads: Sequence[str], rows: Sequence[Row], i: int) -> list[tuple[str, float]]:
    return [(heads[i], _SMALL)] + [(row.cells[i], _SIZE) for row in rows]


def _draw_row(
    panel: Image.Image, draw: ImageDraw.ImageDraw, row: Row, left: int, y: int, ends: list[float], scale: int
) -> None:
    panel.paste(Image.fromarray(row.swatch), (left, y))
    high, wide = row.swatch.shape[:2]
    draw.rectangle((left, y, left + wide - 1, y + high - 1), outline=FAINT, width=scale)
    baseline = y + (high + figure_height(_SIZE * scale)) / 2
    for cell, end in zip(row.cells, ends, strict=True):
        draw_text(draw, (end, baseline), cell, _SIZE * scale, INK, "right")
