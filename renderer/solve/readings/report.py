"""Readings beside the scene, as a gaffer reads them; and the same as CSV."""

from __future__ import annotations

import math
from typing import Any

from renderer.meter.expected import csv_bytes
from renderer.solve.dimmers.report import aligned
from renderer.solve.readings.advice import alike, to_do, verdict
from renderer.solve.readings.assumption import METER, ODDS, OUTPUT, PLACE
from renderer.solve.readings.match import Found, Match
from renderer.units import signed

STANDS_OUT = 2.0  # errors
HEAD = (
    *("setting", "mark", "read_as_written", "read", "in", "expected", "off_stops"),
    *("expected_now", "left_stops", "error_stops", "left_in_errors"),
)


def match_lines(match: Match) -> list[str]:
    """Everything that `halfstop match SCENE READINGS` prints; what to do comes last."""
    lines = [*aligned(_readings(match)), ""]
    lines += [f"not used: {line}" for line in match.unused]
    lines += aligned(_assumptions(match))
    lines += ["", *_basis(match), ""]
    lines += [group.words() for group in alike(match)]
    lines += verdict(match)
    if not match.settled:
        lines.append("The steps did not come to an end: take the estimate as a guess.")
    return [*lines, "", *to_do(match)]


def _readings(match: Match) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [
        ("on", "mark", "expected", "read", "stops off", "then expected", "stops left", "")
    ]
    now = match.expected_now + match.meter
    read = match.data.read
    for i, given in enumerate(match.readings):
        unit = _unit(match, given.mark)
        left = float(match.estimate.left[i])
        far = f"{abs(left):.1f} errors" if abs(left) > STANDS_OUT else ""
        rows.append(
            (
                given.on,
                given.mark,
                f"{_amount(2.0 ** match.expected[i])} {unit}",
                given.text if given.text.endswith(unit) else f"{given.text} = {_amount(given.level)}",
                signed(float(read[i] - match.expected[i]), 2),
                f"{_amount(2.0 ** now[i])} {unit}",
                signed(float(read[i] - now[i]), 2),
                far,
            )
        )
    return rows


def _assumptions(match: Match) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [("may be off", "in the scene", "by the readings", "")]
    return rows + [(it.assumption.words, *_values(it), _word(it)) for it in match.found]


def _values(it: Found) -> tuple[str, str]:
    kind = it.assumption.kind
    if kind == "reflectance":
        return f"{it.before:.2f}", f"{it.after:.2f} ±{max(it.spread, 0.01):.2f}"
    if kind == "place":
        return f"{it.before:.2f} m", f"{it.after:.2f} ±{max(it.spread, 0.01):.2f} m"
    before = "as written" if kind == "output" else "right"
    return before, f"{signed(it.amount, 2)} ±{max(it.error, 0.01):.2f} stop"


def _word(it: Found) -> str:
    if it.off:
        return "OFF"
    return "as planned" if it.told else "the readings hardly say"


def _basis(match: Match) -> list[str]:
    return [
        "± is one standard deviation; OFF: over two of them. Usual errors before any reading (common",
        f"practice, no source): outputs {OUTPUT:.2f} stop, heights and distances {100 * PLACE:.0f} cm, the"
        f" meter {METER:g} stop, reflectances {ODDS:g} of",
        "ln(r/(1-r)), as 0.60 ±0.12 or 0.80 ±0.08; a reading repeats to"
        f" {match.meter_error:g} stop, and thirds are rounded by another 0.10.",
        f"{match.traces} scenes traced with the same random numbers (seed {match.seed}).",
    ]


def _unit(match: Match, mark: str) -> str:
    meter = next(it.meter for it in match.before.marks if it.name == mark)
    return "cd/m2" if meter == "spot" else "lux"


def _amount(value: float) -> str:
    return f"{value:.0f}" if value >= 100 else f"{value:.1f}" if value >= 10 else f"{value:.2f}"


def match_csv(match: Match) -> bytes:
    """A row for each reading: what was expected, what was read, what is to be expected now."""
    now = match.expected_now + match.meter

    def rows() -> Any:
        for i, given in enumerate(match.readings):
            read = float(match.data.read[i])
            yield (
                given.on,
                given.mark,
                given.text,
                _round(given.level),
                _unit(match, given.mark),
                _round(2.0 ** float(match.expected[i])),
                round(read - float(match.expected[i]), 3),
                _round(2.0 ** float(match.expected_now[i])),
                round(read - float(now[i]), 3),
                round(float(match.data.sigma[i]), 3),
                round(float(match.estimate.left[i]), 2),
            )

    return csv_bytes(HEAD, rows())


def _round(value: float) -> float:
    return float(f"{value:.5g}") if math.isfinite(value) else 0.0
