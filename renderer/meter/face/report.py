"""Measures of a face as a person reads them: one line each, in the order in which a light is set."""

from __future__ import annotations

import math

from renderer.meter.face.finding import Finding
from renderer.meter.face.verdict import Verdict
from renderer.scene.measure import MEASURES
from renderer.units import clock_words, signed

PLACES = {"deg": 0, "mm": 0, "%": 0, "stops": 1, "x:1": 1, "1": 0}


def lines_of_face(findings: dict[str, Finding], verdicts: dict[str, Verdict]) -> list[str]:
    """Aligned lines: name, value and error, verdict where there is a target, reason."""
    rows = rows_of_face(findings, verdicts)
    widths = [max((len(row[i]) for row in rows), default=0) for i in range(3)]
    return ["  ".join([*(row[i].ljust(widths[i]) for i in range(3)), row[3]]).rstrip() for row in rows]


def rows_of_face(
    findings: dict[str, Finding], verdicts: dict[str, Verdict]
) -> list[tuple[str, str, str, str]]:
    """Name, value and error, verdict where there is a target, reason; in the order of `ORDER`."""
    rows = []
    for stem, words in MEASURES.items():
        for name, finding in findings.items():
            if name == stem or (name not in MEASURES and name.split(".")[0] == stem):
                of = name.partition(".")[2].replace("_", " ")
                rows.append(
                    (
                        f"{words}, {of}" if of else words,
                        value_words(finding),
                        *_rest(finding, verdicts.get(name)),
                    )
                )
    return rows


def value_words(finding: Finding) -> str:
    """Value, error and unit: "+0.3 ±0.1 stops", "4.2:1 ±0.1", "loop"."""
    if isinstance(finding.value, str):
        return finding.value
    if finding.unit == "stops":
        if math.isinf(finding.value):
            return signed(finding.value)
        return f"{signed(finding.value)} ±{_error(finding.error, 1)} stops"
    places = PLACES.get(finding.unit, 2)
    if math.isinf(finding.value):
        return "without limit"
    if finding.unit == "x:1":
        return f"{finding.value:.{places}f}:1 ±{_error(finding.error, places)}"
    if finding.unit == "1":
        return f"{finding.value:.0f}"
    if finding.unit == "h":
        return f"{clock_words(finding.value)} ±{_error(60.0 * finding.error, 0)} min"
    return f"{finding.value:.{places}f} ±{_error(finding.error, places)} {finding.unit}"


def _error(error: float, places: int) -> str:
    """At least one step of the last place: nothing is known better than it is printed."""
    if math.isnan(error):
        return "?"
    return f"{max(error, 10.0**-places):.{places}f}"


def _rest(finding: Finding, verdict: Verdict | None) -> tuple[str, str]:
    if verdict is None:
        return "", finding.why
    reason = f"wanted {verdict.wanted}" + (f": {verdict.reason}" if verdict.reason else "")
    return verdict.result, f"{reason}; {finding.why}" if finding.why and finding.why not in reason else reason
