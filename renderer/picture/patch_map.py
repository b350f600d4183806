"""The picture with the named patches of skin outlined, and how bright each of them is printed on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from renderer.picture.bands import EMPTY, Pixels
from renderer.picture.labels import Label, draw_labels, place_labels
from renderer.picture.legend import Exposure, Place, Row, draw_legend, join, swatch_size, three_figures
from renderer.picture.map import scale_of
from renderer.picture.region import boxes
from renderer.picture.type import Colour
from renderer.units import signed, stops

SMALLEST = 40  # pixels of a patch in a picture 800 high: fewer say nothing
LETTERS = (15.0, 11.0)  # heights tried, for a picture 800 high [pixels]
ROUNDING = 3  # pixels by which borders that follow triangles are smoothed, in a picture 800 high
MIDDLE_CODE = 118  # sRGB of middle grey


@dataclass(frozen=True)
class Patch:
    """A patch as the picture shows it: mean luminance [cd/m2] and how many pixels it covers."""

    number: int
    luminance: float
    pixels: int


def patches_seen(patches: NDArray[np.integer], luminance: NDArray[np.floating]) -> list[Patch]:
    """All that cover enough of the picture, from the top down.

    patches    (h, w) number of the patch that a pixel shows, 0 for none
    luminance  (h, w) [cd/m2]
    """
    least = SMALLEST * scale_of(patches.shape[0]) ** 2
    found = []
    for number, box in boxes(patches).items():
        own = patches[box] == number
        count = int(own.sum())
        if count >= least:
            mean = float(luminance[box][own].mean(dtype=np.float64))
            found.append((box[0].start + float(np.nonzero(own)[0].mean()), Patch(number, mean, count)))
    return [patch for _, patch in sorted(found, key=lambda item: item[0])]


def patch_map(
    picture: Pixels,
    patches: NDArray[np.integer],
    luminance: NDArray[np.floating],
    grey: float,
    name_of: Callable[[int], str],
    *,
    noise: float | None = None,
    exposure: Exposure | None = None,
    legend: Place = "side",
    title: str = "Patches of the face",
) -> Pixels:
    """The developed `picture`, (h, w, 3), with outlines and numbers, and the table beside it.

    grey   luminance that is developed to 18 % [cd/m2]; numbers are stops from it
    noise  standard error of a pixel [stops]; the table gives that of a patch
    """
    scale = scale_of(picture.shape[0])
    patches = rounded(patches, ROUNDING * scale)
    seen = [patch for patch in patches_seen(patches, luminance) if patch.luminance > 0.0]
    shown, level = np.zeros_like(patches), np.zeros(patches.shape)
    colours, fields = {}, boxes(patches)
    for patch in seen:
        box = fields[patch.number]
        own = patches[box] == patch.number
        shown[box][own], level[box][own] = patch.number, stops(patch.luminance, grey)
        colours[patch.number] = picture[box][own].mean(axis=0).round().astype(np.uint8)
    codes = np.where(shown == 0, EMPTY, shown).astype(np.int8)
    pixels = picture.copy()
    _outline(pixels, shown, scale)
    labels = place_labels(codes, level, scale, places=1, sizes=LETTERS)

    def ink(label: Label) -> Colour:
        box = picture[label.top : label.bottom + 1, label.left : label.right + 1]
        return (0, 0, 0) if box.mean() > MIDDLE_CODE else (255, 255, 255)

    pixels = draw_labels(pixels, labels, ink)
    if legend == "none":
        return pixels
    size = swatch_size(scale)
    rows = []
    for patch in seen:
        swatch = np.broadcast_to(colours[patch.number], (*size, 3)).copy()
        value = signed(stops(patch.luminance, grey), 2)
        error = "" if noise is None else f"\u00b1{max(noise / patch.pixels**0.5, 0.005):.2f}"
        figures = (value, error, three_figures(patch.luminance))
        rows.append(Row(swatch, (name_of(patch.number), *figures)))
    above = [f"0 = 18 % grey, {three_figures(grey)} cd/m\u00b2"]
    above.append(exposure.in_words() if exposure else "exposure set automatically")
    heads = ("patch", "stops", "", "cd/m\u00b2")
    below = ["Mean luminance of the skin that the lens sees, shine included."]
    return join(pixels, draw_legend(title, above, heads, rows, below, scale), legend)


def rounded(patches: NDArray[np.integer], reach: int) -> NDArray[np.integer]:
    """The same patches with smooth borders: a pixel belongs where most of a square about it does.

    patches  (h, w); reach: half the side of the square [pixels]
    """
    result = np.zeros_like(patches)
    for number, (rows, columns) in boxes(patches).items():
        top, left = max(0, rows.start - 2 * reach), max(0, columns.start - 2 * reach)
        field = np.s_[top : rows.stop + 2 * reach, left : columns.stop + 2 * reach]
        own = np.pad(patches[field] == number, reach, mode="edge").astype(np.int32)
        side = 2 * reach + 1
        total = np.pad(own.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
        count = total[side:, side:] - total[:-side, side:] - total[side:, :-side] + total[:-side, :-side]
        result[field][count > side * side / 2] = number
    return result


def _outline(pixels: Pixels, patches: NDArray[np.integer], scale: int) -> None:
    """Draw, in place, a dark line inside and a light one outside of every border between patches."""
    down = patches[1:] != patches[:-1]
    across = patches[:, 1:] != patches[:, :-1]
    dark = np.zeros(patches.shape, bool)
    light = np.zeros(patches.shape, bool)
    for width in range(scale):
        dark[: len(down) - width][down[width:]] = True
        dark[:, : across.shape[1] - width][across[:, width:]] = True
        light[1 + width :][down[: len(down) - width]] = True
        light[:, 1 + width :][across[:, : across.shape[1] - width]] = True
    pixels[light] = (pixels[light].astype(np.uint16) + 2 * 255) // 3
    pixels[dark] //= 3
