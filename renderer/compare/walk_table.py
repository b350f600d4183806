"""A walk as lines for a terminal, as a table of figures and as plain data."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from renderer.compare.crossing import Crossing, changes, crossings
from renderer.compare.name import amount, order_of, short, words_of

if TYPE_CHECKING:
    from renderer.compare.stepping import Walk


def told(walk: Walk) -> list[str]:
    """Where pattern and targets change, a line each; then what is to be said of the walk itself."""
    first = walk.varied[0]
    lines = []
    for other in walk.others:
        at = f" (at {walk.varied[1].words(other)})" if len(walk.varied) == 2 else ""
        for change in changes(walk.line(other)):
            a, b = (first.words(i) for i in change.between)
            names = [word or "none" for word in (change.before, change.after)]
            lines.append(f"Shadow pattern{at}: {names[0]} at {a}, {names[1]} at {b}.")
        lines += [f"{_crossed(walk, it, at)}." for it in crossings(walk, other)]
    mixed = len(walk.steps) - walk.traced
    if mixed > 0:
        lines.append(f"{walk.traced} traced, {mixed} mixed from the same light.")
    return lines + [f"{note[0].upper()}{note[1:]}." for note in walk.notes]


def _crossed(walk: Walk, found: Crossing, at: str) -> str:
    first = walk.varied[0]
    a, b = (first.words(i) for i in found.between)
    finding = next(step.findings[found.name] for step in walk.steps.values() if found.name in step.findings)
    unit = "stops" if finding.unit in ("stops", "x:1") else finding.unit
    limit = amount(found.limit, None, unit) + (" stops" if unit == "stops" else "")
    what = "meets" if found.met_after else "leaves"
    words = words_of(found.name)
    text = f"{words[0].upper()}{words[1:]}{at}: {what} its target ({limit}) between {a} and {b}"
    if math.isfinite(found.at):
        step = abs(first.places[found.between[0]] - first.places[found.between[1]])
        # one figure of the error, and never finer than a thousandth of a step
        places = max(0, -math.floor(math.log10(max(found.error, 1e-3 * step))))
        unit = f" {first.unit}" if first.unit else ""
        text += f", at {found.at:.{places}f} \u00b1{max(found.error, 10.0**-places):.{places}f}{unit}"
    return text


def _rows(walk: Walk) -> Iterator[tuple[list[str], list[str]]]:
    """Of each finished step: the words of its values, and its cells."""
    for numbers, step in walk.steps.items():
        values = [it.words(i) for it, i in zip(walk.varied, numbers, strict=True)]
        cells = [step.pattern]
        for name in walk.measures:
            finding, verdict = step.findings.get(name), step.verdicts.get(name)
            value = "none" if finding is None else short(finding)
            cells.append(value + (f" {verdict.result}" if verdict is not None else ""))
        yield values, cells


def lines_of(walk: Walk) -> list[str]:
    heads = [*(it.path.split(".")[-1] for it in walk.varied), "pattern", *map(words_of, walk.measures)]
    rows = [heads, *([*values, *cells] for values, cells in _rows(walk))]
    widths = [max(len(row[i]) for row in rows) for i in range(len(heads))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) for row in rows]
    where = [it.path for it in walk.varied]
    return [
        " and ".join(where) + "; in stops unless a unit is given",
        "",
        *map(str.rstrip, lines),
        "",
        *told(walk),
    ]


def csv_of(walk: Walk) -> str:
    names = sorted({name for step in walk.steps.values() for name in step.findings}, key=order_of)
    held = io.StringIO()
    writer = csv.writer(held, lineterminator="\n")
    writer.writerow(
        [
            *(it.path for it in walk.varied),
            *(part for name in names for part in (name, f"{name} error", f"{name} unit")),
        ]
    )
    for numbers, step in walk.steps.items():
        row: list[Any] = [_flat(it.values[i]) for it, i in zip(walk.varied, numbers, strict=True)]
        for name in names:
            finding = step.findings.get(name)
            if finding is None:
                row += ["", "", ""]
            elif isinstance(finding.value, str):
                row += [finding.value, "", ""]
            else:
                row += [f"{finding.value:.6g}", f"{finding.error:.3g}", finding.unit]
        writer.writerow(row)
    return held.getvalue()


def _flat(value: Any) -> Any:
    return " ".join(map(str, value)) if isinstance(value, (list, tuple)) else value


def json_of(walk: Walk) -> dict[str, Any]:
    from renderer import __version__

    return {
        "format": 1,
        "program": f"halfstop {__version__}",
        "title": walk.scene.title,
        "varied": [{"key": it.path, "unit": it.unit, "values": list(it.values)} for it in walk.varied],
        "notes": list(walk.notes),
        "traced": walk.traced,
        "steps": [
            {
                "values": [it.values[i] for it, i in zip(walk.varied, numbers, strict=True)],
                "traced": step.traced,
                "measures": {
                    name: finding.as_json() | (step.verdicts[name].as_json() if name in step.verdicts else {})
                    for name, finding in step.findings.items()
                },
            }
            for numbers, step in walk.steps.items()
        ],
        "pattern_changes": [
            {"at_second": other, "between": it.between, "before": it.before, "after": it.after}
            for other in walk.others
            for it in changes(walk.line(other))
        ],
        "target_crossings": [
            {
                "at_second": other,
                "measure": it.name,
                "between": it.between,
                "limit": it.limit,
                "met_after": it.met_after,
                "at": it.at if math.isfinite(it.at) else None,
                "error": it.error if math.isfinite(it.error) else None,
            }
            for other in walk.others
            for it in crossings(walk, other)
        ],
    }
