"""Whole-stop bands: their numbers, their colours, their textures, the lines between them.

Band n reaches from half a stop under n to half a stop over it. The palette is the project's own: lightness
rises from end to end, neutral at 0, blue below and straw above. Neighbours lie more than 8.8 CIE 1976 dE
apart for protan, deutan and tritan sight as for common sight (tested), and stay apart in a grey print.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Codes = NDArray[np.int8]
Pixels = NDArray[np.uint8]

PALETTE: dict[int, str] = {
    -6: "#010f2b",
    -5: "#031e49",
    -4: "#00336e",
    -3: "#254b84",
    -2: "#486491",
    -1: "#6d7a93",
    0: "#919191",
    1: "#bda980",
    2: "#e0c87a",
    3: "#f8e8a7",
    4: "#fffbe6",
}
LOWEST, HIGHEST = min(PALETTE), max(PALETTE)
FLOOR, CLIPPED, EMPTY = -100, 100, 127
"""Codes beside the bands: below the floor, at clip or over it, and nothing there to measure (NaN)."""
EMPTY_COLOUR = (38, 38, 40)
_ROUNDING = 1e-4  # stops: a level right at a limit, stored as float32 and smoothed, is still at it


def colour_of(band: int) -> tuple[int, int, int]:
    """sRGB of a band."""
    text = PALETTE[band]
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)


def classify(stops: NDArray[np.floating], clip: float, floor: float) -> Codes:
    """Band of every pixel, (h, w) int8. Beyond the palette the last band of it goes on.

    stops  (h, w), from the zero of the map; NaN is EMPTY
    clip   from here on CLIPPED; infinity for none
    floor  below this FLOOR
    """
    with np.errstate(invalid="ignore"):
        codes: Codes = np.clip(np.floor(np.nan_to_num(stops, nan=0.0) + 0.5), LOWEST, HIGHEST).astype(np.int8)
        codes[stops < floor - _ROUNDING] = FLOOR
        codes[stops >= clip - _ROUNDING] = CLIPPED
    codes[np.isnan(stops)] = EMPTY
    return codes


def paint(codes: Codes, scale: int = 1) -> Pixels:
    """Colours and textures, (h, w, 3); textures `scale` times coarser than for a picture 800 high."""
    table = np.zeros((256, 3), dtype=np.uint8)
    for band in PALETTE:
        table[band % 256] = colour_of(band)
    table[EMPTY] = EMPTY_COLOUR
    pixels = table[codes.astype(np.uint8)]
    for code, texture in ((CLIPPED, _hatch), (FLOOR, _dots)):
        rows, columns = np.nonzero(codes == code)
        pixels[rows, columns] = texture(rows, columns, scale)[:, np.newaxis]
    return pixels


def draw_lines(pixels: Pixels, codes: Codes, scale: int = 1) -> None:
    """Draws, in place, a line `scale` pixels wide along every boundary, on its brighter side."""
    edge = _near_lower(codes, scale)
    edge &= codes != EMPTY
    _shade(pixels, edge, codes, 0.42, 0.62)
    pixels[edge & (codes == CLIPPED)] = 0  # the hatch needs a firm rim, or it looks torn


def draw_silhouettes(
    pixels: Pixels, ids: NDArray[np.integer], codes: Codes, scale: int = 1
) -> NDArray[np.bool_]:
    """Draws, in place, a faint line where one surface ends and another begins inside one band; tells where.

    A head before a wall of its own level would not be seen otherwise. Textures are left alone.
    """
    edge = _near_lower(ids, scale) & (np.abs(codes) <= HIGHEST - LOWEST)
    _shade(pixels, edge, codes, 0.16, 0.2)
    return edge


def _shade(pixels: Pixels, where: NDArray[np.bool_], codes: Codes, lighten: float, darken: float) -> None:
    # Dark regions get a lighter line and light ones a darker: one rule would be lost at one end.
    dark = codes <= -2
    for part, target, share in ((where & dark, 255.0, lighten), (where & ~dark, 0.0, darken)):
        pixels[part] = (pixels[part] * (1.0 - share) + target * share).astype(np.uint8)


def _near_lower(codes: NDArray[np.integer], reach: int) -> NDArray[np.bool_]:
    lower = np.zeros(codes.shape, dtype=bool)
    for step in range(1, reach + 1):
        lower[step:] |= codes[step:] > codes[:-step]
        lower[:-step] |= codes[:-step] > codes[step:]
        lower[:, step:] |= codes[:, step:] > codes[:, :-step]
        lower[:, :-step] |= codes[:, :-step] > codes[:, step:]
    return lower


def _hatch(rows: NDArray[np.intp], columns: NDArray[np.intp], scale: int) -> Pixels:
    """White with black lines at 45 degrees."""
    return np.where((rows + columns) % (7 * scale) < 2 * scale, 0, 255).astype(np.uint8)


def _dots(rows: NDArray[np.intp], columns: NDArray[np.intp], scale: int) -> Pixels:
    """Black with sparse white dots, every second row of them shifted by half a step."""
    step, size = 10 * scale, (3 * scale + 1) // 2
    shift = (rows // step % 2) * (step // 2)
    return np.where((rows % step < size) & ((columns + shift) % step < size), 255, 0).astype(np.uint8)
