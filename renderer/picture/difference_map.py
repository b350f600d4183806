"""How two pictures of one frame differ, in stops, and where that is more than their noise.

A pixel is estimated twice in each picture. Half the difference of its halves is one sample of its standard
error, with a sign that is the same for what two pictures share; so the error of a quotient is taken from both
half differences together, and what is shared drops out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from renderer.picture.bands import EMPTY, EMPTY_COLOUR, Codes, Pixels, draw_lines, draw_silhouettes
from renderer.picture.labels import Label, draw_labels, place_labels
from renderer.picture.legend import Place, Row, draw_legend, join, swatch_size
from renderer.picture.map import scale_of
from renderer.picture.region import without_specks
from renderer.picture.type import Colour
from renderer.units import MINUS

Plane = NDArray[np.float64]

LIMITS = (0.25, 0.75, 1.5, 2.5)
"""Stops at which one band ends and the next begins."""
NAMES = ("0", "1/2", "1", "2", "3 and more")
# Plum where the second picture is darker, green where it is brighter; lightness rises all the way, so that a
# grey print reads the same. Own choice; told apart by all kinds of sight (tests/test_compare_map.py).
PALETTE: dict[int, str] = {
    -4: "#260433",
    -3: "#4a1a60",
    -2: "#6c3f86",
    -1: "#7f6590",
    0: "#919191",
    1: "#91b7a2",
    2: "#86d19e",
    3: "#aaedba",
    4: "#e3fedd",
}
REACH = 2
"""Pixels to each side that a level is the mean of, as far as they show the same surface."""
FINE = 0.1
"""Stops: where CERTAIN errors of the small square come to more, a larger one is taken."""
NOISY = 3 * (2 * REACH + 1)
"""Pixels of the larger square."""
CERTAIN = 2.0
"""Standard errors that a difference must pass."""
SMALLEST = 40
"""Pixels of an area in a picture 800 high; smaller ones go to what lies round them."""
DARKEST = 2.0**-9
"""Parts of middle grey: under this neither picture shows anything."""


@dataclass(frozen=True)
class Change:
    """stops: (h, w) the second over the first; error: its standard error; certain: (h, w) whether it is over
    CERTAIN errors. nan where both are too dark to say."""

    stops: Plane
    error: Plane
    certain: NDArray[np.bool_]


def change(
    first: NDArray[np.floating],
    second: NDArray[np.floating],
    halves: tuple[NDArray[np.floating], NDArray[np.floating]] | None,
    ids: NDArray[np.integer],
    grey: float,
) -> Change:
    """The second luminance over the first, from means over squares of one surface, larger in noise.

    first, second  (h, w) [cd/m2]; halves  of each, half the difference of its independent halves, or None
    where they were not kept: then nothing is called certain under a quarter of a stop
    ids   (h, w) what both pictures show; grey  luminance of middle grey [cd/m2]
    Raises ValueError for planes of different shapes.
    """
    if not first.shape == second.shape == ids.shape:
        raise ValueError(f"expected planes of one shape, got {first.shape}, {second.shape}, {ids.shape}")
    least = DARKEST * grey
    everywhere = np.zeros_like(ids)
    sums = _near((first, second), ids, 1, REACH)
    wide = _near(sums, ids, 2 * REACH + 1, 1)
    stops, levels = _quotient(sums, least), [np.maximum(it / sums[-1], least) for it in sums[:2]]
    error, coarse = np.zeros_like(stops), np.zeros_like(stops)
    if halves is not None:
        own = (halves[1] / levels[1] - halves[0] / levels[0]) / math.log(2.0)
        # a variance needs many samples: from the whole square, whatever it shows
        samples = _near((own**2,), everywhere, 1, REACH)
        error = np.sqrt(samples[0] / samples[1] / sums[-1])
        samples = _near(samples, everywhere, 2 * REACH + 1, 1)
        coarse = np.sqrt(samples[0] / samples[1] / wide[-1])
    noisy = CERTAIN * error > FINE
    stops, error = np.where(noisy, _quotient(wide, least), stops), np.where(noisy, coarse, error)
    with np.errstate(invalid="ignore"):
        return Change(stops, error, np.abs(stops) > CERTAIN * error)


def _quotient(sums: tuple[Plane, ...], least: float) -> Plane:
    a, b = sums[0] / sums[-1], sums[1] / sums[-1]
    stops = np.log2(np.maximum(b, least) / np.maximum(a, least))
    return np.where((a < least) & (b < least), np.nan, stops)


def _near(
    planes: tuple[NDArray[np.floating], ...], ids: NDArray[np.integer], step: int, reach: int
) -> tuple[Plane, ...]:
    """Sums of each plane over pixels every `step` up to `reach` steps away, as far as `ids` are the same; of
    planes that are no sums yet (`step` 1), last how many pixels they are."""
    if step == 1:
        planes = (*planes, np.ones(ids.shape))
    h, w = ids.shape
    sums = [np.zeros((h, w)) for _ in planes]
    for dy, dx in product(range(-reach * step, reach * step + 1, step), repeat=2):
        if abs(dy) >= h or abs(dx) >= w:
            continue
        here = np.s_[max(0, -dy) : h - max(0, dy), max(0, -dx) : w - max(0, dx)]
        there = np.s_[max(0, dy) : h - max(0, -dy), max(0, dx) : w - max(0, -dx)]
        same = ids[here] == ids[there]
        for total, plane in zip(sums, planes, strict=True):
            total[here] += np.where(same, plane[there], 0.0)
    return tuple(sums)


def bands(found: Change) -> Codes:
    """(h, w) bands -4 to 4 of a change; 0 where it is small or not certain, EMPTY where nothing is seen."""
    with np.errstate(invalid="ignore"):
        size = np.digitize(np.abs(np.nan_to_num(found.stops)), LIMITS)
        codes = np.where(found.certain, np.sign(np.nan_to_num(found.stops)) * size, 0).astype(np.int8)
    codes[np.isnan(found.stops)] = EMPTY
    return codes


def difference_map(
    found: Change, ids: NDArray[np.integer], names: tuple[str, str], legend: Place = "side"
) -> Pixels:
    """The map, (h', w', 3) uint8 sRGB, with its legend; `names` of the two pictures, the first one 0."""
    scale = scale_of(found.stops.shape[0])
    codes = without_specks(bands(found), SMALLEST * scale**2)
    pixels = _paint(codes)
    draw_silhouettes(pixels, ids, codes, scale)
    draw_lines(pixels, codes, scale)
    labels = place_labels(np.where(codes == 0, np.int8(EMPTY), codes), found.stops, scale, places=1)
    pixels = draw_labels(pixels, labels, lambda label: _ink(label, codes))
    if legend == "none":
        return pixels
    rows = []
    for code in sorted(PALETTE, reverse=True):
        size = swatch_size(scale)
        field = np.full((*size, 3), _rgb(code), dtype=np.uint8)
        rows.append(Row(field, (_name(code), _range(abs(code)))))
    above = [f"{names[1]} less {names[0]}, in stops", "plum: darker; green: brighter"]
    below = [
        f"Grey: under {LIMITS[0]:g} stop, or under {CERTAIN:g} standard",
        f"errors of a mean over {2 * REACH + 1} x {2 * REACH + 1} pixels, in",
        f"much noise over {NOISY} x {NOISY}.",
        "Numbers are medians of their areas.",
    ]
    if (codes == EMPTY).any():
        below.append("Black: too dark to say in both.")
    return join(pixels, draw_legend("Difference", above, ("stops", "from"), rows, below, scale), legend)


def _paint(codes: Codes) -> Pixels:
    table = np.zeros((256, 3), dtype=np.uint8)
    for band in PALETTE:
        table[band % 256] = _rgb(band)
    table[EMPTY] = EMPTY_COLOUR
    return table[codes.astype(np.uint8)]


def _rgb(band: int) -> Colour:
    text = PALETTE[band]
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)


def _ink(label: Label, codes: Codes) -> Colour:
    band = int(codes[(label.top + label.bottom) // 2, (label.left + label.right) // 2])
    return (255, 255, 255) if band < 0 else (0, 0, 0)


def _name(code: int) -> str:
    return NAMES[abs(code)] if code == 0 else ("+" if code > 0 else MINUS) + NAMES[abs(code)]


def _range(size: int) -> str:
    if size == 0:
        return f"to {LIMITS[0]:.2f}"
    return f"{LIMITS[size - 1]:.2f} on"
