"""The open fonts that reportlab carries (Bitstream Vera): how wide words are, and what they cannot write."""

from __future__ import annotations

import unicodedata
from functools import cache

REGULAR, BOLD, ITALIC = "Vera", "VeraBd", "VeraIt"
FAMILY = "'Bitstream Vera Sans', 'DejaVu Sans', Verdana, sans-serif"
"""For pages that do not carry the font themselves: faces of the same width first."""
POINT = 25.4 / 72.0
"""Millimetres."""


@cache
def _fonts() -> frozenset[int]:
    """Register the fonts with reportlab, once; the code points that the regular one has."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name in (REGULAR, BOLD, ITALIC):
        pdfmetrics.registerFont(TTFont(name, f"{name}.ttf"))
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=ITALIC, boldItalic=BOLD)
    return frozenset(pdfmetrics.getFont(REGULAR).face.charToGlyph)


def ready() -> None:
    """Make the fonts known to reportlab."""
    _fonts()


def legible(text: str) -> str:
    """The text in letters that the font has: plain letters stand in for others, else a question mark."""
    known = _fonts()
    if all(ord(letter) in known for letter in text):
        return text
    return "".join(letter if ord(letter) in known or letter == "\n" else _plain(letter) for letter in text)


def _plain(letter: str) -> str:
    if letter.isspace():
        return " "
    return unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode() or "?"


def width_of(text: str, size: float, bold: bool = False) -> float:
    """Width of one line [points]."""
    from reportlab.pdfbase import pdfmetrics

    return float(pdfmetrics.stringWidth(legible(text), BOLD if bold else REGULAR, size))
