"""The incident map: the light that falls on each surface, as if all were painted white, in stops."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from renderer.picture.bands import EMPTY, Pixels
from renderer.picture.legend import Exposure, Place, Row, draw_legend, join, three_figures
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
from renderer.picture.smooth import smooth
from renderer.units import C_FLAT, lux_to_footcandles, stops_to_ratio, t_stop_for_lux, t_stop_in_thirds


def incident_map(
    illuminance: NDArray[np.floating],
    zero_lux: float,
    *,
    exposure: Exposure | None = None,
    zero_name: str = "key, flat disc",
    ids: NDArray[np.integer] | None = None,
    legend: Place = "side",
    title: str = "Incident map",
) -> Pixels:
    """The twin of `stops_map`: same bands and numbers, (h', w', 3) uint8 sRGB, the legend beside it.

    illuminance  (h, w) on the surface seen in each pixel [lux]; NaN where there is none (lamps, the open)
    zero_lux     what counts as 0, the flat-disc reading of the key at the face [lux]
    exposure     its ISO and shutter turn the light into the T-stop it asks for (C = 250); None: footcandles
    ids          (h, w) surface of every pixel; keeps smoothing from crossing an edge, and draws silhouettes

    There is no clip and no floor: they belong to a camera. Raises ValueError as `stops_map` does.
    """
    check(illuminance, {"zero_lux": zero_lux}, {"ids": ids})
    scale = scale_of(illuminance.shape[0])
    codes = bands_of(levels(smooth(illuminance, ids), zero_lux), math.inf, -math.inf)
    pixels, keep_off = draw_bands(codes, ids)
    pixels = write_numbers(pixels, codes, levels(illuminance, zero_lux), keep_off)
    if legend == "none":
        return pixels
    rows = []
    for code in bands_present(codes):
        lux = zero_lux * stops_to_ratio(float(code))
        asks = three_figures(lux_to_footcandles(lux))
        if exposure:
            asks = t_stop_in_thirds(t_stop_for_lux(lux, exposure.iso, exposure.shutter_s, C_FLAT))
        rows.append(Row(swatch(code, scale), (name_of(code), three_figures(lux), asks)))
    above = [f"0 = {zero_name}, {three_figures(zero_lux)} lux"]
    above.append(exposure.in_words() if exposure else "as if every surface were white")
    below = [
        "A band reaches half a stop to either side of its number.",
        "Light, not paint: read it as a disc held there.",
    ]
    if EMPTY in codes:
        below.append("Dark grey: no surface to light (a lamp, the open).")
    heads = ("stops", "lux", "asks for" if exposure else "fc")
    return join(pixels, draw_legend(title, above, heads, rows, below, scale), legend)
