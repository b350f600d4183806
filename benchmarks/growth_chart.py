"""The plots of growth: doublings of time and memory over doublings of what is varied."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from PIL import Image

from renderer.picture.chart import Chart, Curve, draw_chart
from renderer.picture.table import headline, paragraph, stacked

PANEL = (560, 320)
WORDS = [
    "Both axes in doublings, from the first point: a line as steep as the one called linear grows with what"
    " is varied, a level one does not grow at all.",
    "Processor seconds of one thread; memory beyond the program with its kernels loaded. Parts under 20 ms,"
    " or under 2 MB, throughout are left out.",
]
LEAST = {"memory": 2.0}  # MB; of all others in seconds:
LEAST_SECONDS = 0.02


def drawn(figures: dict[str, dict[int, dict[str, float]]], parts: Sequence[str]) -> Image.Image:
    """A chart for each axis, two beside each other."""
    charts = [draw_chart(_chart(axis, points, parts), *PANEL) for axis, points in figures.items()]
    if len(charts) % 2:
        charts.append(np.full_like(charts[0], charts[0][0, 0]))
    rows = [np.hstack(charts[k : k + 2]) for k in range(0, len(charts), 2)]
    across = 2 * PANEL[0]
    return Image.fromarray(
        stacked([headline("Growth of time and memory", across), *rows, paragraph(WORDS, across)])
    )


def _chart(axis: str, points: dict[int, dict[str, float]], parts: Sequence[str]) -> Chart:
    values = [value for value in points if value > 0]
    places = [math.log2(value / values[0]) for value in values]
    curves = [Curve([(0.0, 0.0, 0.0), (places[-1], places[-1], 0.0)], "linear")]
    for part in parts:
        spent = [points[value][part] for value in values]
        if max(spent) < LEAST.get(part, LEAST_SECONDS):
            continue
        least = LEAST.get(part, LEAST_SECONDS) / 20.0
        line = [math.log2(max(it, least) / max(spent[0], least)) for it in spent]
        curves.append(Curve([(x, y, 0.0) for x, y in zip(places, line, strict=True)], part))
    ticks = [(place, _short(value)) for place, value in zip(places, values, strict=True)]
    return Chart(f"{axis}: doublings", axis, curves, ticks)


def _short(value: int) -> str:
    if value < 1_000:
        return str(value)
    return f"{value / 1_000:.0f}k" if value < 999_500 else f"{value / 1e6:.1f}M"
