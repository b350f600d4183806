"""Numbers on the picture: where they go, and writing them there."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from renderer.picture.bands import CLIPPED, EMPTY, FLOOR, Codes, Pixels
from renderer.picture.region import Regions, depth, find_regions
from renderer.picture.type import Colour, draw_text, figure_height, text_width
from renderer.units import signed

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


def place_labels(codes: Codes, stops: NDArray[np.floating], scale: int = 1) -> list[Label]:
    """A number for every region with room for one, at its most interior point; no two share a pixel.

    codes  (h, w) bands as drawn
    stops  (h, w) unsmoothed; the number is the region's median of these to the whole stop

    A label with a margin round it lies wholly inside its region. Where many points lie equally deep, the
    one nearest the middle of the region is taken; a region that goes on for 260 pixels or more (in a
    picture 800 high) gets further numbers. Textures get none: they speak for themselves.
    """
    regions = find_regions(codes)
    inside = depth(codes, _REACH * scale)
    labels: list[Label] = []
    for number in np.argsort(-regions.area, kind="stable"):
        if abs(int(regions.code[number])) in (abs(FLOOR), CLIPPED, EMPTY):
            continue
        if regions.area[number] < 4 * (SIZES[-1] * scale) ** 2:
            break
        labels += _labels_of(int(number), regions, inside, stops, scale)
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
    number: int, regions: Regions, inside: NDArray[np.float32], stops: NDArray[np.floating], scale: int
) -> list[Label]:
    rows, columns = np.nonzero(regions.of_pixel == number)
    values = stops[rows, columns]
    text = signed(float(np.median(values)), 0)
    deep = inside[rows, columns]
    from_middle = np.hypot(rows - rows.mean(), columns - columns.mean())
    placed: list[Label] = []
    for size in (letter * scale for letter in SIZES):
        wide, high = text_width(text, size), figure_height(size)
        # A box fits where its half height does, if the region goes on sideways: checked pixel by pixel.
        order = np.flatnonzero(deep > high / 2 + _MARGIN * scale)
        order = order[np.lexsort((from_middle[order], -np.round(deep[order])))]
        while order.size:
            x, y = int(columns[order[0]]), int(rows[order[0]])
            left, top = x - wide // 2, y - high // 2
            label = Label(text, size, left, top, left + wide - 1, top + high - 1)
            if _fits(label, number, regions, _MARGIN * scale):
                placed.append(label)
                far = np.hypot(columns[order] - x, rows[order] - y) > _APART * scale
                order = order[far]
            else:
                order = order[1:] if order.size < 64 else order[1 :: max(1, math.isqrt(order.size) // 16)]
        if placed:
            break
    return placed


def _fits(label: Label, number: int, regions: Regions, margin: int) -> bool:
    h, w = regions.of_pixel.shape
    top, bottom, left, right = (
        label.top - margin,
        label.bottom + margin,
        label.left - margin,
        label.right + margin,
    )
    if top < 0 or left < 0 or bottom >= h or right >= w:
        return False
    return bool((regions.of_pixel[top : bottom + 1, left : right + 1] == number).all())
