"""Numbers on the picture: where they go, and writing them there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from renderer.picture.bands import CLIPPED, EMPTY, FLOOR, Codes, Pixels
from renderer.picture.region import Index, Regions, depth, find_regions
from renderer.picture.type import Colour, draw_text, figure_height, text_width
from renderer.units import signed

Mask = NDArray[np.bool_]

SIZES = (21.0, 15.0)
"""Letter heights tried, largest first, for a picture 800 high [pixels]."""
_REACH = 40
_MARGIN = 3
_APART = 260.0


@dataclass(frozen=True)
class Label:
    """A number and the box it takes, both ends included [pixels]."""

    text: str
    size: float
    left: int
    top: int
    right: int
    bottom: int

    def meets(self, other: Label) -> bool:
        """Whether the two boxes share a pixel."""
        return (
            self.left <= other.right
            and other.left <= self.right
            and self.top <= other.bottom
            and other.top <= self.bottom
        )


def place_labels(
    codes: Codes,
    stops: NDArray[np.floating],
    scale: int = 1,
    places: int = 0,
    sizes: tuple[float, ...] = SIZES,
) -> list[Label]:
    """A number for every region with room for one, at its most interior point; no two share a pixel.

    codes   (h, w) bands as drawn
    stops   (h, w) unsmoothed; the number is the region's median of these, to so many decimal `places`
    sizes   letter heights tried, largest first, for a picture 800 high [pixels]

    A label with a margin round it lies wholly inside its region. Where many points lie equally deep, the
    one nearest the middle of the region is taken; a region that goes on for 260 pixels or more (in a
    picture 800 high) gets further numbers. Textures get none: they speak for themselves.
    """
    regions = find_regions(codes)
    # Places are tried on every scale-th pixel only; whether a label fits is counted on all of them.
    inside = depth(codes[::scale, ::scale], _REACH) * np.float32(scale)
    labels: list[Label] = []
    for number in np.argsort(-regions.area, kind="stable"):
        if abs(int(regions.code[number])) in (abs(FLOOR), CLIPPED, EMPTY):
            continue
        if regions.area[number] < 4 * (sizes[-1] * scale) ** 2:
            break
        labels += _labels_of(int(number), regions, inside, stops, scale, places, sizes)
    return labels


def draw_labels(pixels: Pixels, labels: list[Label], colour: Callable[[Label], Colour]) -> Pixels:
    """A copy of the picture with the numbers written into it, each in `colour` of it."""
    picture = Image.fromarray(pixels)
    draw = ImageDraw.Draw(picture)
    for label in labels:
        middle = (label.left + label.right + 1) / 2
        draw_text(
            draw, (middle, label.bottom + 1), label.text, label.size, colour(label), "middle", bold=True
        )
    return np.array(picture)


def _labels_of(
    number: int,
    regions: Regions,
    inside: NDArray[np.float32],
    stops: NDArray[np.floating],
    scale: int,
    places: int,
    sizes: tuple[float, ...],
) -> list[Label]:
    box = regions.box(number, scale)
    region = regions.of_pixel[box] == number
    top, left = box[0].start, box[1].start
    rows, columns = (at * scale for at in np.nonzero(region[::scale, ::scale]))
    text = signed(float(np.median(stops[rows + top, columns + left])), places)
    middle = rows.mean(), columns.mean()
    total = _summed(region)
    labels: list[Label] = []
    for size in (letter * scale for letter in sizes):
        wide, high = text_width(text, size), figure_height(size)
        rows, columns = _with_room(total, wide, high, _MARGIN * scale, scale)
        deep = inside[(rows + top) // scale, (columns + left) // scale]
        from_middle = np.hypot(rows - middle[0], columns - middle[1])
        order = np.lexsort((from_middle, -np.round(deep)))
        y, x = rows[order] + top - high // 2, columns[order] + left - wide // 2
        while x.size:
            labels.append(Label(text, size, int(x[0]), int(y[0]), int(x[0]) + wide - 1, int(y[0]) + high - 1))
            far = np.hypot(x - x[0], y - y[0]) > _APART * scale
            x, y = x[far], y[far]
        if labels:
            break
    return labels


def _summed(region: Mask) -> Index:
    """Sums over all of a region that lies above and left of every corner of a pixel."""
    total = np.zeros((region.shape[0] + 1, region.shape[1] + 1), dtype=np.int32)
    np.cumsum(np.cumsum(region, axis=0, dtype=np.int32), axis=1, out=total[1:, 1:])
    return total


def _with_room(total: Index, wide: int, high: int, margin: int, step: int) -> tuple[Index, Index]:
    """Rows and columns, every step-th of them, about which a box and its margin lie wholly in a region.

    total  as `_summed` gives it for the region
    """
    down, across = high + 2 * margin, wide + 2 * margin
    count = total[down:, across:] - total[:-down, across:] - total[down:, :-across] + total[:-down, :-across]
    rows, columns = np.nonzero(count == down * across)
    rows, columns = rows + margin + high // 2, columns + margin + wide // 2
    on_step = (rows % step == 0) & (columns % step == 0)
    return rows[on_step], columns[on_step]
