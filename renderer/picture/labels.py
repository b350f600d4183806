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
    rows, columns = (at * scale for at in np.nonzero(region[::scale, ::scale]))
    total, corner = _summed(region), (box[1].start, box[0].start)
    rows, columns = rows + box[0].start, columns + box[1].start
    deep = inside[rows // scale, columns // scale]
    text = signed(float(np.median(stops[rows, columns])), places)
    labels: list[Label] = []
    for size in (letter * scale for letter in sizes):
        wide, high = text_width(text, size), figure_height(size)
        left, top = columns - wide // 2, rows - high // 2
        room = np.flatnonzero(_has_room(total, corner, left, top, wide, high, _MARGIN * scale))
        y_from, x_from = rows[room] - rows.mean(), columns[room] - columns.mean()
        room = room[np.lexsort((np.hypot(y_from, x_from), -np.round(deep[room])))]
        x, y = left[room], top[room]
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


def _has_room(
    total: Index, corner: tuple[int, int], left: Index, top: Index, wide: int, high: int, margin: int
) -> Mask:
    """For boxes of one size, whether box and margin lie wholly in the region that `total` sums from its
    `corner` (x, y) on."""
    x0, y0 = left - margin - corner[0], top - margin - corner[1]
    x1, y1 = x0 + wide + 2 * margin, y0 + high + 2 * margin
    room: Mask = (x0 >= 0) & (y0 >= 0) & (x1 < total.shape[1]) & (y1 < total.shape[0])
    x0, x1, y0, y1 = x0[room], x1[room], y0[room], y1[room]
    room[room] = total[y1, x1] - total[y0, x1] - total[y1, x0] + total[y0, x0] == (x1 - x0) * (y1 - y0)
    return room
