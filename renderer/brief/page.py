"""What is on the pages of a brief, before anyone writes them as PDF or HTML."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from renderer.brief.drawing import Drawing

WIDE = 190.0
"""Millimetres between the margins of an A4 page."""
HIGH = 270.0
"""Millimetres from under the head of a page to its foot."""

Kind = Literal["body", "lead", "note", "caution", "twice"]


@dataclass(frozen=True)
class Text:
    """A paragraph: plain, large, small, or one that has to be read (the last two, large and small)."""

    text: str
    kind: Kind = "body"


@dataclass(frozen=True)
class Table:
    """Rows under a head. Cells hold lines; an empty cell is a blank to write in.

    widths  shares of the width, of any sum
    blank   least height of a row [mm], for writing
    bold    columns in bold
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    blank: float = 0.0
    bold: tuple[int, ...] = (0,)
    size: float = 7.4


@dataclass(frozen=True)
class Picture:
    """An encoded picture with its size on paper [mm] and what it shows."""

    data: bytes
    kind: Literal["jpeg", "png"]
    wide: float
    high: float
    caption: str


@dataclass(frozen=True)
class Pictures:
    """Pictures in rows."""

    pictures: tuple[Picture, ...]
    columns: int


@dataclass(frozen=True)
class Figure:
    """A drawing to scale."""

    drawing: Drawing


@dataclass(frozen=True)
class Beside:
    """Two columns of so many millimetres; `above`: those that are taken on the page before they begin."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    left_wide: float
    right_wide: float
    above: float = 0.0


Block = Text | Table | Pictures | Figure | Beside


@dataclass(frozen=True)
class Section:
    """A part of the brief under its title.

    new_page  whether it begins a page
    least     millimetres that have to be left on a page for it to begin there
    """

    title: str
    blocks: tuple[Block, ...]
    new_page: bool = False
    least: float = 40.0


@dataclass(frozen=True)
class Brief:
    """All of it. `foot` stands at the foot of each page."""

    title: str
    sections: tuple[Section, ...]
    foot: str
