"""How exactly to rig, as a gaffer reads it; and the same as CSV."""

from __future__ import annotations

import csv
import io
import math

from renderer.solve.dimmers.report import aligned
from renderer.solve.exactness.slope import Sensitivity, Slope
from renderer.solve.exactness.tolerance import Tolerance
from renderer.solve.goal import words_of
from renderer.units import signed

MOST_NAMED = 3  # things to measure first
LEAST_PART = 0.02  # of the variance


def tolerance_lines(found: Tolerance) -> list[str]:
    """Everything that `halfstop tolerance` prints."""
    lines = _table(found)
    lines += ["", *_turns(found), *_first(found), "", *_odds(found)]
    if found.swapped:
        lines += ["", *_swaps(found)]
    left = [f"{it.motion.name}: {it.failed}" for it in found.sensitivities if it.failed]
    lines += [f"one end only, {line}" for line in left]
    lines.append(
        f"{found.traces} scenes traced to ±{found.within:g} stop with the same random numbers (seed"
        f" {found.seed}); in stops unless a unit is given; (in brackets): no more than chance."
    )
    return lines


def _table(found: Tolerance) -> list[str]:
    names = found.shown()
    rows: list[tuple[str, ...]] = [("what is off", "by", *(_head(found, name) for name in names))]
    for it in found.sensitivities:
        motion = it.motion
        by = f"{100 * motion.per:g} cm" if motion.unit == "m" else f"{motion.per:g} {motion.unit}"
        rows.append((motion.name, by, *(_cell(it, name) for name in names)))
    return aligned(rows)


def _head(found: Tolerance, name: str) -> str:
    unit = found.base.values[name].unit
    return words_of(name) + ("" if unit == "stops" else f" [{unit}]")


def _cell(it: Sensitivity, name: str) -> str:
    slope = it.slopes.get(name)
    if slope is None:
        return "-"
    text = f"{signed(slope.change, 2 if slope.unit == 'stops' else 1)} ±{_error(slope)}"
    return text if slope.sure else f"({text})"


def _error(slope: Slope) -> str:
    places = 2 if slope.unit == "stops" else 1
    return f"{max(slope.error, 10.0**-places):.{places}f}" if math.isfinite(slope.error) else "?"


def _turns(found: Tolerance) -> list[str]:
    return [
        f"{words_of(name)} changes with {it.motion.name}: {text}"
        for it in found.sensitivities
        for name, text in it.turns.items()
        if name == "pattern"
    ]


def _first(found: Tolerance) -> list[str]:
    ranking = [(name, part) for name, part in found.ranking() if part >= LEAST_PART][:MOST_NAMED]
    if not ranking:
        return ["Nothing of it moves what is measured."]
    rest = ", then ".join(f"{name} ({100 * part:.0f} %)" for name, part in ranking[1:])
    name, part = ranking[0]
    line = f"Measure first: {name}; it makes {100 * part:.0f} % of the spread at {found.accuracy.words()}"
    return [f"{line}; then {rest}." if rest else f"{line}."]


def _odds(found: Tolerance) -> list[str]:
    if found.odds is None:
        return ["No target that is a number, so no probability; state some under [target] or with --want."]
    it = found.odds
    lines = [
        f"Rigged to {found.accuracy.words()} (one standard deviation each), all targets hold in"
        f" {100 * it.all:.0f} ±{max(100 * it.error, 1.0):.0f} of 100 rigs, if every change goes on in a"
        " straight line."
    ]
    stated = found.base.preview.scene.target
    if stated is not None and stated.pattern is not None:
        lines.append("The pattern is no number and not in it: where it changes is said above.")
    rows = [("target", "holds", "spreads by")]
    for name, part in it.each.items():
        unit = found.base.values[name].unit
        rows.append((words_of(name), f"{100 * part:.0f} of 100", f"±{it.spread[name]:.2f} {unit}"))
    lines += aligned(rows, "  ")
    if it.bend is not None:
        target, motion, margins = it.bend
        sure = "good enough" if margins < 0.5 else "NOT good: take the probability as a guess"
        lines.append(
            f"Farthest from a straight line: {target} with {motion}, by {margins:.2f} of what passes as a"
            f" warning, at one standard deviation; {sure}."
        )
    return lines


def _swaps(found: Tolerance) -> list[str]:
    names = found.shown()
    units = {name: found.base.values[name].unit for name in names}
    rows: list[tuple[str, ...]] = [("sitter", *(_head(found, name) for name in names), "pattern", "targets")]
    for it in found.swapped:
        if it.failed:
            rows.append((it.who, *("-" for _ in names), "", f"not traced: {it.failed}"))
            continue
        cells = [
            signed(it.values[name], 1)
            if units[name] == "stops"
            else f"{it.values[name]:.0f}"
            if name in it.values
            else "-"
            for name in names
        ]
        result = f"missed: {', '.join(it.missed)}" if it.missed else ""
        nearly = f"nearly: {', '.join(it.nearly)}" if it.nearly else ""
        held = "all hold" if it.verdicts else "none stated"
        text = "; ".join(part for part in (result, nearly) if part) or held
        text = f"{text}; {it.glare}" if it.glare else text
        rows.append((it.who, *cells, it.words.get("pattern", ""), text))
    return aligned(rows)


def tolerance_csv(found: Tolerance) -> str:
    """A row for each thing that is off and each measure."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(
        ("what", "per", "per_unit", "measure", "change", "error", "unit", "bend", "significant", "error_of")
    )
    for it in found.sensitivities:
        for name, slope in it.slopes.items():
            row = slope.as_json()
            writer.writerow(
                (
                    *(it.motion.name, it.motion.per, it.motion.unit, name),
                    *(row[key] for key in ("change", "error", "unit", "bend", "significant", "error_of")),
                )
            )
    return out.getvalue()
