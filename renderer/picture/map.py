"""What the stops map and the incident map share: from stops at every pixel to the lettered picture."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from renderer.picture.bands import (
    CLIPPED,
    EMPTY,
    FLOOR,
    HIGHEST,
    LOWEST,
    PALETTE,
    Codes,
    Pixels,
    classify,
    colour_of,
    draw_lines,
    draw_silhouettes,
    paint,
)
from renderer.picture.labels import Label, draw_labels, place_labels
from renderer.picture.legend import swatch_size
from renderer.picture.region import without_specks
from renderer.picture.type import Colour
from renderer.units import ratio_to_stops, signed

Mask = NDArray[np.bool_]

_SMALLEST = 20  # pixels of a region in a picture 800 high


def scale_of(height: int) -> int:
    """How much coarser lines, textures and letters are than for a picture 800 high; a whole number."""
    return max(1, round(height / 800))


def levels(values: NDArray[np.floating], zero: float) -> NDArray[np.float64]:
    """Stops of `values` from `zero`; what lies below nothing (noise) counts as nothing, NaN stays."""
    return ratio_to_stops(np.maximum(values.astype(np.float64), 0.0) / zero)


def check(
    values: NDArray[np.floating],
    levels: Mapping[str, float | None],
    planes: Mapping[str, NDArray[Any] | None],
) -> None:
    """Raises ValueError unless `values` is (h, w), every level is over 0 and every plane is (h, w) too."""
    if values.ndim != 2:
        raise ValueError(f"expected (h, w), got {values.shape}")
    for name, level in levels.items():
        if level is not None and not 0.0 < level < np.inf:
            raise ValueError(f"{name}: expected more than 0, got {level}")
    for name, plane in planes.items():
        if plane is not None and plane.shape != values.shape:
            raise ValueError(f"{name}: expected {values.shape}, got {plane.shape}")


def bands_of(stops: NDArray[np.floating], clip: float, floor: float) -> Codes:
    """Bands, (h, w), of stops from the zero of the map, with specks removed."""
    return without_specks(classify(stops, clip, floor), _SMALLEST * scale_of(stops.shape[0]) ** 2)


def draw_bands(codes: Codes, ids: NDArray[np.integer] | None) -> tuple[Pixels, Mask]:
    """Bands, textures and the lines between them; fainter lines between surfaces, if they are known.

    Also tells where the fainter lines ran, (h, w): no number is to be written over them.
    """
    scale = scale_of(codes.shape[0])
    pixels = paint(codes, scale)
    faint = np.zeros(codes.shape, dtype=bool) if ids is None else draw_silhouettes(pixels, ids, codes, scale)
    draw_lines(pixels, codes, scale)
    return pixels, faint


def write_numbers(pixels: Pixels, codes: Codes, stops: NDArray[np.floating], keep_off: Mask) -> Pixels:
    """The picture with the numbers of its larger regions: white on the dark bands, black on the light ones.

    stops     (h, w) unsmoothed, of which the numbers are medians
    keep_off  (h, w) pixels that no number may cover
    """
    free = np.where(keep_off, np.int8(EMPTY), codes)
    labels = place_labels(free, stops, scale_of(codes.shape[0]))

    def ink(label: Label) -> Colour:
        band = int(codes[(label.top + label.bottom) // 2, (label.left + label.right) // 2])
        return (255, 255, 255) if band < 0 else (0, 0, 0)

    return draw_labels(pixels, labels, ink)


def bands_present(codes: Codes) -> list[int]:
    """Codes for the legend, highest first: all bands from lowest to highest seen, and textures seen."""
    seen = set(np.unique(codes).tolist())
    bands = sorted(seen & PALETTE.keys())
    between = range(bands[0], bands[-1] + 1) if bands else range(0)
    ends = {CLIPPED, FLOOR, EMPTY}
    return sorted(({*between, 0} | (seen & ends)) - {EMPTY}, reverse=True)


def swatch(code: int, scale: int) -> Pixels:
    """A small field of a band's colour or texture for the legend."""
    size = swatch_size(scale)
    if code in PALETTE:
        return np.full((*size, 3), colour_of(code), dtype=np.uint8)
    return paint(np.full(size, code, dtype=np.int8), scale)


def name_of(code: int, clip: float = math.inf, floor: float = -math.inf) -> str:
    """A band's number as the legend prints it; an end of the palette may take in what lies beyond."""
    name = signed(float(code), 0)
    if code == LOWEST and floor < LOWEST - 0.5:
        return f"{name} or less"
    return f"{name} or more" if code == HIGHEST and clip > HIGHEST + 0.5 else name
