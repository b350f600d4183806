"""A walk as pictures: the contact sheet and the curves."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from renderer.compare.crossing import crossings
from renderer.compare.name import in_stops, short, words_of
from renderer.compare.sheet import scale_of_letters
from renderer.compare.walk_table import told
from renderer.picture.bands import Pixels
from renderer.picture.chart import Chart, Curve, draw_chart
from renderer.picture.legend import PAPER
from renderer.picture.sheet import Cell, sheet
from renderer.picture.strip import Row, draw_strip
from renderer.picture.table import headline, paragraph, stacked
from renderer.picture.type import text_width

if TYPE_CHECKING:
    from renderer.compare.stepping import Step, Walk

UNDER = 6
"""Measures under each picture."""
READ_ACROSS, WIDER = 2000.0, 1.35
"""Pixels of a row from which letters grow with it, and by how much at most."""
PANEL = (560, 300)
UNIT_WORDS = {"deg": "degrees", "h": "hours on the clock", "1": "how many"}


def walk_sheet(walk: Walk) -> Pixels:
    """The contact sheet, (h, w, 3) uint8 sRGB; steps that were not reached are left empty."""
    first = walk.varied[0]
    sample = next(iter(walk.steps.values())).picture
    empty = np.full_like(sample, PAPER[0])
    rows = []
    for other in walk.others:
        there = dict(walk.line(other))
        if there:
            cells = [there.get(i) for i in range(len(first.values))]
            rows.append([Cell(empty) if step is None else _cell(walk, step) for step in cells])
    names = []
    if len(walk.varied) == 2:
        second = walk.varied[1]
        names = [f"{second.path}: {second.words(k)}" for k in walk.others if walk.line(k)]
    columns = [first.words(i) for i in range(len(first.values))]
    title = f"{walk.scene.title}: {first.path}" if walk.scene.title else first.path
    wide = sample.shape[1]
    scale = max(scale_of_letters(wide), min(WIDER, len(first.values) * wide / READ_ACROSS))
    top = sheet(rows, title, columns, names, scale)
    camera = walk.scene.camera
    words = ["In stops unless a unit is given."]
    words += [f"All at T{camera.t_stop:g}, ISO {camera.iso:g}."] if _one_exposure(walk) else []
    words += told(walk)
    return stacked([top, paragraph(words, top.shape[1], scale)])


def _one_exposure(walk: Walk) -> bool:
    return not any(it.path.startswith("camera.") for it in walk.varied)


def _cell(walk: Walk, step: Step) -> Cell:
    lines = [step.pattern or "no shadow pattern"]
    for name in walk.measures[:UNDER]:
        finding = step.findings.get(name)
        verdict = step.verdicts.get(name)
        value = "none" if finding is None else short(finding)
        result = f" ({verdict.result})" if verdict is not None else ""
        lines.append(f"{words_of(name)} {value}{result}")
    if "pattern" in step.verdicts:
        lines[0] += f" ({step.verdicts['pattern'].result})"
    return Cell(step.picture, lines)


def curves_of(walk: Walk) -> Pixels:
    """A chart for each measure that has numbers, two beside each other, and what is told of the walk."""
    first = walk.varied[0]
    charts = []
    for name in walk.measures:
        chart = _chart(walk, name)
        if chart is not None:
            charts.append(draw_chart(chart, *PANEL))
    across = 2 * PANEL[0] if len(charts) > 1 else PANEL[0]
    strip = [_patterns(walk, across)] if any(step.pattern for step in walk.steps.values()) else []
    rows = [np.hstack(charts[k : k + 2]) for k in range(0, len(charts), 2)]
    title = f"{walk.scene.title}: {first.path}" if walk.scene.title else first.path
    if len(walk.varied) == 2:
        title += f", at each {walk.varied[1].path}"
    words = [
        "Bars: one standard error; of geometry, the fineness of its grid. Pale field: wanted. Dashed: where a"
        " limit of the target is passed.",
        *told(walk),
    ]
    while text_width(title, 16.0) > across - 40 and "." in title:
        title = title[: title.rindex(".")]
    return stacked([headline(title, across), *strip, *rows, paragraph(words, across)])


def _patterns(walk: Walk, across: int) -> Pixels:
    """The shadow pattern at every step, a row for each value of the second key."""
    first = walk.varied[0]
    count = range(len(first.values))
    rows = []
    for other in walk.others:
        there = dict(walk.line(other))
        words = [there[i].pattern if i in there else "" for i in count]
        rows.append(Row(words, walk.varied[1].words(other) if len(walk.varied) == 2 else ""))
    return draw_strip("shadow pattern", rows, [first.words(i) for i in count], across)


def _chart(walk: Walk, name: str) -> Chart | None:
    first = walk.varied[0]
    curves, units, bands, crossed = [], [], [], []
    for other in walk.others:
        points = []
        for i, step in walk.line(other):
            finding = step.findings.get(name)
            if finding is None or isinstance(finding.value, str):
                continue
            shown = in_stops(finding)
            units.append(shown.unit)
            points.append((first.places[i], shown.number, shown.error))
            wanted = step.wanted.get(name)
            if wanted is not None:
                bands.append((wanted.low, wanted.high))
        if any(math.isfinite(y) for _, y, _ in points):
            label = walk.varied[1].words(other) if len(walk.varied) == 2 else ""
            curves.append(Curve(points, label))
        passed = [it for it in crossings(walk, other) if it.name == name and math.isfinite(it.at)]
        crossed += [(it.at, it.error) for it in passed]
    if not curves:
        return None
    unit = UNIT_WORDS.get(units[0], units[0])
    ticks = [
        (first.places[i], first.words(i).removesuffix(first.unit).strip()) for i in range(len(first.values))
    ]
    return Chart(
        f"{words_of(name)}, {unit}", first.title, curves, ticks, list(dict.fromkeys(bands))[:1], crossed
    )
