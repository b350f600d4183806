"""A curve with error bars over an axis, drawn plainly: what was measured, what is wanted, where they meet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from PIL import Image, ImageDraw

from renderer.picture.bands import Pixels
from renderer.picture.legend import FAINT, INK, PAPER
from renderer.picture.type import Colour, draw_text, figure_height, text_width
from renderer.units import MINUS

FINER = 3
"""The chart is drawn so many times as large and brought down, so that slanting lines are smooth."""
SIZE, TITLE = 13.0, 15.0  # heights of letters [pixels]
MARGIN = (58, 34, 16, 48)  # left, top, right and bottom of the field [pixels]
GRID: Colour = (222, 221, 217)
WANTED: Colour = (231, 234, 222)
CROSSED: Colour = (150, 60, 40)
LINES: tuple[Colour, ...] = ((22, 44, 92), (146, 104, 24), (78, 118, 140), (120, 52, 100), (60, 60, 62))
"""Of several curves; each has its name at its end as well."""


@dataclass(frozen=True)
class Curve:
    """Points (x, y, standard error of y); `name` stands at its end."""

    points: Sequence[tuple[float, float, float]]
    name: str = ""


@dataclass(frozen=True)
class Chart:
    """A field of curves.

    ticks    places and words of the steps on the axis below
    wanted   bands of y that are wanted; an end may be infinite
    crossed  places on the axis with their standard error, where a limit is passed
    """

    title: str
    x_title: str
    curves: Sequence[Curve]
    ticks: Sequence[tuple[float, str]]
    wanted: Sequence[tuple[float, float]] = ()
    crossed: Sequence[tuple[float, float]] = field(default=())


def nice_ticks(low: float, high: float, most: int = 8) -> list[float]:
    """Round numbers from `low` to `high`, at most so many, in steps of 1, 2 or 5 times a power of ten."""
    span = max(high - low, 1e-9)
    step = 10.0 ** math.floor(math.log10(span / most))
    step = next(step * by for by in (1.0, 2.0, 5.0, 10.0, 20.0) if span / (step * by) <= most - 1)
    first = math.ceil(low / step - 1e-9)
    return [k * step for k in range(first, math.floor(high / step + 1e-9) + 1)]


def draw_chart(chart: Chart, wide: int, high: int) -> Pixels:
    """The chart, (high, wide, 3) uint8 sRGB. Raises ValueError without a point that is a number."""
    points = [it for curve in chart.curves for it in curve.points if math.isfinite(it[1])]
    if not points:
        raise ValueError("a chart needs at least one point")
    paper = Image.new("RGB", (wide * FINER, high * FINER), PAPER)
    draw = ImageDraw.Draw(paper)
    names = max((text_width(curve.name, SIZE) for curve in chart.curves), default=0)
    left, top, right, bottom = (it * FINER for it in MARGIN)
    right += (names + 8) * FINER if names else 0
    box = (left, top, wide * FINER - right, high * FINER - bottom)
    axes = _Axes(box, _x_range(chart), _y_range(chart, points))
    draw_text(draw, (14 * FINER, 22 * FINER), chart.title, TITLE * FINER, INK)
    for low, upper in chart.wanted:
        y = [min(max(axes.y(min(max(it, -1e9), 1e9)), box[1]), box[3]) for it in (upper, low)]
        draw.rectangle((box[0], y[0], box[2], y[1]), fill=WANTED)
    _grid(draw, axes, chart)
    _crossed(draw, axes, chart)
    for number, curve in enumerate(chart.curves):
        _curve(draw, axes, curve, LINES[number % len(LINES)])
    _names(draw, axes, chart)
    return np.array(paper.resize((wide, high), Image.Resampling.BOX))


@dataclass(frozen=True)
class _Axes:
    box: tuple[int, int, int, int]
    x_range: tuple[float, float]
    y_range: tuple[float, float]

    def x(self, value: float) -> float:
        low, high = self.x_range
        return self.box[0] + (value - low) / (high - low) * (self.box[2] - self.box[0])

    def y(self, value: float) -> float:
        low, high = self.y_range
        return self.box[3] - (value - low) / (high - low) * (self.box[3] - self.box[1])


def _x_range(chart: Chart) -> tuple[float, float]:
    places = [place for place, _ in chart.ticks]
    low, high = min(places), max(places)
    room = 0.05 * (high - low) or 1.0
    ends = (low - room, high + room)
    # as it is walked: from the first step on the left to the last on the right
    return ends if places[0] <= places[-1] else (ends[1], ends[0])


def _y_range(chart: Chart, points: Sequence[tuple[float, float, float]]) -> tuple[float, float]:
    errors = [0.0 if math.isnan(error) else error for _, _, error in points]
    low = min(y - e for (_, y, _), e in zip(points, errors, strict=True))
    high = max(y + e for (_, y, _), e in zip(points, errors, strict=True))
    span = max(high - low, 1e-6 + 0.02 * abs(high))
    for limit in (it for band in chart.wanted for it in band if math.isfinite(it)):
        if low - 0.6 * span < limit < high + 0.6 * span:  # near enough to be shown
            low, high = min(low, limit), max(high, limit)
    room = 0.1 * max(high - low, 1e-6 + 0.02 * abs(high))
    return low - room, high + room


def number(value: float, step: float) -> str:
    """A tick's words, with as many places as its step needs."""
    places = max(0, -math.floor(math.log10(step) + 1e-9)) if step < 1.0 else 0
    text = f"{abs(value):.{places}f}"
    return MINUS + text if value < 0.0 and float(text) != 0.0 else text


def _grid(draw: ImageDraw.ImageDraw, axes: _Axes, chart: Chart) -> None:
    left, top, right, bottom = axes.box
    ticks = nice_ticks(*axes.y_range)
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
    for tick in ticks:
        y = axes.y(tick)
        draw.line((left, y, right, y), fill=GRID, width=FINER)
        at = (left - 8 * FINER, y + figure_height(SIZE * FINER) / 2)
        draw_text(draw, at, number(tick, step), SIZE * FINER, FAINT, "right")
    draw.line((left, top, left, bottom), fill=FAINT, width=FINER)
    draw.line((left, bottom, right, bottom), fill=FAINT, width=FINER)
    taken = -math.inf
    under = bottom + (8 + figure_height(SIZE)) * FINER
    for place, words in sorted(chart.ticks, key=lambda it: axes.x(it[0])):
        x, half = axes.x(place), text_width(words, SIZE * FINER) / 2
        draw.line((x, bottom, x, bottom + 4 * FINER), fill=FAINT, width=FINER)
        if x - half > taken:
            draw_text(draw, (x, under), words, SIZE * FINER, FAINT, "middle")
            taken = x + half + 8 * FINER
    middle = ((left + right) / 2, under + 19 * FINER)
    draw_text(draw, middle, chart.x_title, SIZE * FINER, INK, "middle")


def _crossed(draw: ImageDraw.ImageDraw, axes: _Axes, chart: Chart) -> None:
    _, top, _, bottom = axes.box
    for place, _ in chart.crossed:
        x = axes.x(place)
        for y in range(top, bottom, 7 * FINER):
            draw.line((x, y, x, min(y + 4 * FINER, bottom)), fill=CROSSED, width=FINER)


def _curve(draw: ImageDraw.ImageDraw, axes: _Axes, curve: Curve, ink: Colour) -> None:
    there = [(axes.x(x), y, e) for x, y, e in curve.points]
    for (x0, y0, _), (x1, y1, _) in pairwise(there):
        if math.isfinite(y0) and math.isfinite(y1):
            draw.line((x0, axes.y(y0), x1, axes.y(y1)), fill=ink, width=2 * FINER)
    reach, dot = 4 * FINER, 3 * FINER
    for x, y, error in there:
        if not math.isfinite(y):
            continue
        if error > 0.0:
            low, high = axes.y(y - error), axes.y(y + error)
            draw.line((x, low, x, high), fill=ink, width=FINER)
            for end in (low, high):
                draw.line((x - reach, end, x + reach, end), fill=ink, width=FINER)
        draw.ellipse((x - dot, axes.y(y) - dot, x + dot, axes.y(y) + dot), fill=ink)


def _names(draw: ImageDraw.ImageDraw, axes: _Axes, chart: Chart) -> None:
    """Each curve's name at its right end, moved apart where they would meet."""
    ends = []
    for k, curve in enumerate(chart.curves):
        last = [(axes.x(x), axes.y(y)) for x, y, _ in curve.points if math.isfinite(y)]
        if curve.name and last:
            ends.append((max(last)[1], k))
    line, taken = 1.3 * SIZE * FINER, -math.inf
    for y, k in sorted(ends):
        taken = max(y + figure_height(SIZE * FINER) / 2, taken + line)
        at = (axes.box[2] + 8 * FINER, taken)
        draw_text(draw, at, chart.curves[k].name, SIZE * FINER, LINES[k % len(LINES)])
