"""Words and numbers on a picture, in the open font that Pillow carries (Aileron).

The font has no minus sign, no raised two and few accents: the first two are drawn here, for the rest the
plain letter stands in.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from PIL import ImageDraw, ImageFont

from renderer.units import MINUS

Colour = tuple[int, int, int]

_RAISED_TWO = "\u00b2"
_IN_FONT = frozenset("\u00b0\u00b1\u00b7")


@lru_cache(maxsize=32)
def font(size: float) -> ImageFont.FreeTypeFont:
    """The font at `size` pixels. Basic layout: the same picture with and without the shaping library."""
    loaded = ImageFont.load_default(size)
    assert isinstance(loaded, ImageFont.FreeTypeFont)
    return loaded.font_variant(layout_engine=ImageFont.Layout.BASIC)


def figure_height(size: float) -> int:
    """Height of a figure over the baseline [pixels]."""
    return -int(font(size).getbbox("0", anchor="ls")[1])


def text_width(text: str, size: float) -> int:
    """Width that `draw_text` takes [pixels]."""
    return round(sum(_advance(piece, size) for piece in _pieces(text)))


def draw_text(
    draw: ImageDraw.ImageDraw,
    at: tuple[float, float],
    text: str,
    size: float,
    fill: Colour,
    align: str = "left",
    bold: bool = False,
) -> None:
    """Writes `text` with its baseline at `at` (x, y), which is its left, its middle or its right end.

    `bold` thickens every stroke by a little under a tenth of `size`, for numbers over a picture.
    """
    x, y = at
    x -= {"left": 0.0, "middle": 0.5, "right": 1.0}[align] * text_width(text, size)
    for piece in _pieces(text):
        _draw_piece(draw, x, y, piece, size, fill, size / 45 if bold else 0.0)
        x += _advance(piece, size)


def _pieces(text: str) -> list[str]:
    pieces: list[str] = []
    for sign in _legible(text):
        if sign in (MINUS, _RAISED_TWO) or not pieces or pieces[-1] in (MINUS, _RAISED_TWO):
            pieces.append(sign)
        else:
            pieces[-1] += sign
    return pieces


def _legible(text: str) -> str:
    signs = []
    for sign in text:
        if sign in (MINUS, _RAISED_TWO) or sign in _IN_FONT or " " <= sign <= "~":
            signs.append(sign)
        else:
            plain = unicodedata.normalize("NFKD", sign).encode("ascii", "ignore").decode()
            signs.append(plain or "?")
    return "".join(signs)


def _advance(piece: str, size: float) -> float:
    if piece == _RAISED_TWO:
        return font(0.65 * size).getlength("2")
    return font(size).getlength("+" if piece == MINUS else piece)


def _draw_piece(
    draw: ImageDraw.ImageDraw, x: float, y: float, piece: str, size: float, fill: Colour, rim: float
) -> None:
    if piece == MINUS:
        left, top, right, bottom = font(size).getbbox("+", anchor="ls")
        thick = max(1, round(size / 11 + 2 * rim))
        upper = round(y + (top + bottom) / 2 - thick / 2)
        inset = 0.07 * (right - left)
        box = (round(x + left + inset), upper, round(x + right - inset) - 1, upper + thick - 1)
        draw.rectangle(box, fill=fill)
    elif piece == _RAISED_TWO:
        raised = y - 0.4 * figure_height(size)
        draw.text((x, raised), "2", fill, font(0.65 * size), anchor="ls", stroke_width=rim)
    else:
        draw.text((x, y), piece, fill, font(size), anchor="ls", stroke_width=rim)
