"""Shape and size of what shines: the luminous opening of a photometric file.

source  ANSI/IESNA LM-63-2002 and ANSI/IES LM-63-2019, table of luminous shapes; the shapes of
        LM-63-1995 and before from memory. A negative size stands for a round outline in that
        direction.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Shape = Literal[
    "point",
    "line",
    "rectangle",
    "box",
    "disc",
    "ellipse",
    "vertical disc",
    "vertical ellipse",
    "vertical cylinder",
    "cylinder along C0",
    "cylinder along C90",
    "sphere",
    "ellipsoid",
    "other",
]


@dataclass(frozen=True)
class Opening:
    """What shines, in metres; 0 where it has no size that way.

    shape      vertical is along the axis, gamma 0 to 180
    along_c0   size in the direction C0 to C180
    along_c90  size in the direction C90 to C270
    height     size along the axis
    """

    shape: Shape
    along_c0: float
    along_c90: float
    height: float

    def largest(self) -> float:
        """Largest size [m]. Far-field candela hold from about five times this on (common practice)."""
        return max(self.along_c0, self.along_c90, self.height)


POINT = Opening("point", 0.0, 0.0, 0.0)


def lm63_opening(width: float, length: float, height: float, year: int) -> Opening:
    """The opening of an LM-63 file.

    width, length, height  metres, signs as in the file; length runs along C0
    year                   the standard's: 1986, 1991, 1995, 2002 or 2019. A width and height below 0 without
                           length is a sphere up to 1995, a disc on edge from 2002 on
    """
    shape = _shape(width, length, height, year)
    across, along, tall = abs(width), abs(length), abs(height)
    if length == 0.0 and width < 0.0 and shape in ("disc", "vertical cylinder", "sphere"):
        along = across  # one diameter stands for both
    if length == 0.0 and shape == "cylinder along C90":
        along = tall
    if width == 0.0 and shape == "cylinder along C0":
        across = tall
    return Opening(shape, along, across, tall)


def _shape(width: float, length: float, height: float, year: int) -> Shape:
    if width >= 0.0 and length >= 0.0 and height >= 0.0:
        count = (width > 0.0) + (length > 0.0) + (height > 0.0)
        flat: tuple[Shape, ...] = ("point", "line", "rectangle", "box")
        return flat[count]
    if width < 0.0 and length == 0.0:
        if height < 0.0 and year >= 2002:
            return "vertical disc" if width == height else "vertical ellipse"
        if height < 0.0:
            return "sphere" if width == height else "ellipsoid"
        return "vertical cylinder" if height > 0.0 else "disc"
    if width < 0.0 and length < 0.0:
        if height < 0.0:
            return "sphere" if width == length == height else "ellipsoid"
        if height > 0.0:
            return "vertical cylinder"
        return "disc" if width == length else "ellipse"
    if height < 0.0 and year >= 2002 and width * length < 0.0:
        return "cylinder along C0" if length > 0.0 else "cylinder along C90"
    if height < 0.0 and width >= 0.0 and length >= 0.0 and (width == 0.0) != (length == 0.0):
        return "cylinder along C0" if length > 0.0 else "cylinder along C90"
    if width * length < 0.0 and year < 2002:
        if height < 0.0:
            return "ellipsoid"
        return "vertical cylinder" if height > 0.0 else "ellipse"
    return "other"


def eulumdat_opening(length: float, width: float, height: float) -> Opening:
    """The opening of an EULUMDAT file, in metres; its length runs along C90, and width 0 means a circle."""
    if length == 0.0 and width == 0.0:
        return Opening("point" if height == 0.0 else "line", 0.0, 0.0, height)
    if width == 0.0:
        return Opening("vertical cylinder" if height > 0.0 else "disc", length, length, height)
    return Opening("box" if height > 0.0 else "rectangle", width, length, height)
