"""The stops map: every pixel of the picture in stops from middle grey, to be read without colour."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from renderer.colour import bt709_signal
from renderer.picture.bands import CLIPPED, FLOOR, Pixels, colour_of
from renderer.picture.legend import Exposure, Place, Row, draw_legend, join, swatch_size, three_figures
from renderer.picture.map import (
    bands_of,
    bands_present,
    check,
    draw_bands,
    levels,
    name_of,
    scale_of,
    swatch,
    write_numbers,
)
from renderer.picture.outline import draw_outline, on_target
from renderer.picture.smooth import smooth
from renderer.units import MID_GREY, lux_on_matte, signed, stops, stops_to_ratio

CLIP_STOPS = math.log2(1.0 / MID_GREY)
"""100 % of the camera curve lies 2.47 stops over middle grey."""
FLOOR_STOPS = -6.0
TARGET_WITHIN = 1.0 / 3.0
"""Skin this near its target, in stops, is outlined."""
HEADS = ("stops", "signal %", "cd/m\u00b2", "lux on 18 %")


def stops_map(
    luminance: NDArray[np.floating],
    grey: float,
    *,
    exposure: Exposure | None = None,
    zero: float | None = None,
    zero_name: str = "key-side cheek",
    ids: NDArray[np.integer] | None = None,
    face_mask: NDArray[np.bool_] | None = None,
    face_target: float | None = None,
    clip: float = CLIP_STOPS,
    floor: float = FLOOR_STOPS,
    legend: Place = "side",
    title: str = "Stops map",
) -> Pixels:
    """The map, (h', w', 3) uint8 sRGB: the picture at its own size, with the legend beside it.

    luminance    (h, w) [cd/m2]; NaN where there is nothing
    grey         luminance that is developed to 18 % (see `units.grey_luminance`) [cd/m2]
    exposure     printed in the legend; None: grey was set by automatic exposure
    zero         second mode: the luminance that counts as 0 [cd/m2], called `zero_name` in the legend
    ids          (h, w) surface of every pixel; keeps smoothing from crossing an edge, and draws silhouettes
    face_mask    (h, w) skin, and
    face_target  what its luminance should be [cd/m2]: skin within 1/3 stop of it is outlined
    clip, floor  stops over `grey` (in both modes: they belong to the camera) that get a texture instead

    Bands and outline follow lightly smoothed luminance (`smooth.smooth`); the numbers on the picture are
    medians of the luminance as it came. Raises ValueError for arrays that do not fit together.
    """
    check(
        luminance,
        {"grey": grey, "zero": zero, "face_target": face_target},
        {"ids": ids, "face_mask": face_mask},
    )
    zero_at = grey if zero is None else zero
    to_grey = stops(grey, zero_at)
    clip, floor = clip + to_grey, floor + to_grey
    scale = scale_of(luminance.shape[0])
    clean = smooth(luminance, ids)
    codes = bands_of(levels(clean, zero_at), clip, floor)
    pixels, keep_off = draw_bands(codes, ids)
    if face_mask is not None and face_target is not None:
        skin = on_target(levels(clean, face_target), face_mask, TARGET_WITHIN, 60 * scale**2)
        keep_off |= draw_outline(pixels, skin, scale)
    pixels = write_numbers(pixels, codes, levels(luminance, zero_at), keep_off)
    if legend == "none":
        return pixels
    marks = {CLIPPED: ("clip", clip), FLOOR: ("floor", floor)}
    rows = []
    for code in bands_present(codes):
        name, level = marks.get(code, (name_of(code, clip, floor), float(code)))
        rows.append(Row(swatch(code, scale), (name, *_figures(level, zero_at, grey))))
    below = ["A band reaches half a stop to either side of its number."]
    if CLIPPED in codes:
        below.append(f"Hatched: clipped, from {signed(clip, 2)} on.")
    if FLOOR in codes:
        below.append(f"Dotted: under the floor of {signed(floor, 1)}.")
    if face_mask is not None and face_target is not None:
        level = stops(face_target, zero_at)
        rows.append(Row(_ring(scale), (signed(level), *_figures(level, zero_at, grey))))
        below.append("Outlined: skin within 1/3 stop of its target.")
    above = [f"0 = 18 % grey, {three_figures(grey)} cd/m\u00b2"]
    if zero is not None:
        above = [f"0 = {zero_name}, {three_figures(zero)} cd/m\u00b2", f"18 % grey lies at {signed(to_grey)}"]
    above.append(exposure.in_words() if exposure else "exposure set automatically")
    return join(pixels, draw_legend(title, above, HEADS, rows, below, scale), legend)


def _figures(level: float, zero: float, grey: float) -> tuple[str, str, str]:
    """Signal, luminance and matching light of a level in stops from `zero`."""
    luminance = zero * stops_to_ratio(level)
    signal = 100.0 * float(bt709_signal(MID_GREY * luminance / grey))
    return f"{min(signal, 100.0):.0f}", three_figures(luminance), three_figures(lux_on_matte(luminance))


def _ring(scale: int) -> Pixels:
    high, wide = swatch_size(scale)
    field = np.full((high, wide, 3), colour_of(0), dtype=np.uint8)
    inner = np.zeros((high, wide), dtype=bool)
    inner[6 * scale : -6 * scale, 8 * scale : -8 * scale] = True
    draw_outline(field, inner, scale)
    return field
