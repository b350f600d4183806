"""A drawing to scale: lines, outlines and words in metres, for any writer to put on paper.

Sizes on paper (widths of pens, dashes, letters) are in millimetres and points, whatever the scale. Nothing
is said by colour: pens differ in width and dash, fills in grey.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from renderer.brief.geometry import Box, Point, bounds
from renderer.brief.letter import POINT, width_of

Align = Literal["left", "middle", "right"]


@dataclass(frozen=True)
class Pen:
    """width and dashes [mm on paper]; grey 0 is black, 1 is white."""

    width: float = 0.18
    dash: tuple[float, ...] = ()
    grey: float = 0.0


@dataclass(frozen=True)
class Line:
    """A line through points [m], or the outline of an area. `fill` is a grey, None for none."""

    points: tuple[Point, ...]
    pen: Pen | None = Pen()
    closed: bool = False
    fill: float | None = None


@dataclass(frozen=True)
class Words:
    """One line of text, its baseline at a point [m]; `size` in points; `backed` puts white behind it."""

    at: Point
    text: str
    size: float = 7.0
    align: Align = "left"
    bold: bool = False
    backed: bool = False

    def width(self) -> float:
        """Millimetres on paper."""
        return width_of(self.text, self.size, self.bold) * POINT


@dataclass
class Drawing:
    """What is drawn, in the order of drawing.

    name    what it is
    scale   25 for 1:25
    box     what of the world is on it [m], in the frame of its view
    """

    name: str
    scale: int
    box: Box
    items: list[Line | Words] = field(default_factory=list)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height on paper [mm]."""
        (x0, y0), (x1, y1) = self.box
        return (x1 - x0) * 1000.0 / self.scale, (y1 - y0) * 1000.0 / self.scale

    def metres(self, mm: float) -> float:
        """Metres in the world that so many millimetres on paper are."""
        return mm * self.scale / 1000.0

    def on_paper(self, point: Point) -> Point:
        """Millimetres from the lower left corner of the drawing."""
        return tuple((point[i] - self.box[0][i]) * 1000.0 / self.scale for i in (0, 1))  # type: ignore[return-value]

    def line(self, points: Iterable[Point], pen: Pen | None = None) -> None:
        self.items.append(Line(tuple(points), pen or Pen()))

    def area(self, points: Iterable[Point], pen: Pen | None = None, fill: float | None = None) -> None:
        self.items.append(Line(tuple(points), pen, True, fill))

    def words(
        self,
        at: Point,
        text: str,
        size: float = 7.0,
        align: Align = "left",
        bold: bool = False,
        backed: bool = False,
    ) -> None:
        self.items.append(Words(at, text, size, align, bold, backed))

    def box_of(self, words: Words) -> Box:
        """The box that words take [m]."""
        wide, high = self.metres(words.width()), self.metres(words.size * POINT)
        left = words.at[0] - {"left": 0.0, "middle": 0.5, "right": 1.0}[words.align] * wide
        return (left, words.at[1] - 0.22 * high), (left + wide, words.at[1] + 0.78 * high)


def extent(lines: Sequence[Line]) -> Box:
    """The box round lines."""
    return bounds(point for line in lines for point in line.points)
