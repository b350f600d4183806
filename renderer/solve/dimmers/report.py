"""What was solved, as a gaffer reads it: short tables in plain words."""

from __future__ import annotations

import math
from collections.abc import Sequence

from renderer.solve.dimmers.balance import Balance, Outcome
from renderer.solve.dimmers.ceiling import Ceiling, Gain
from renderer.units import signed

FULL = 0.999


def aligned(rows: Sequence[Sequence[str]], indent: str = "") -> list[str]:
    """Columns as wide as they need to be; the last is left as it is."""
    count = max((len(row) for row in rows), default=0)
    full = [[*row, *[""] * (count - len(row))] for row in rows]
    widths = [max((len(row[i]) for row in full), default=0) for i in range(count - 1)]
    return [
        indent + "  ".join([*(row[i].ljust(widths[i]) for i in range(count - 1)), row[-1]]).rstrip()
        for row in full
    ]


def balance_lines(found: Balance, before: str = "was") -> list[str]:
    """Everything that `halfstop balance` prints; `before`: a word for what the dimmers as written give."""
    lines = aligned(
        [("light", "dimmer", "", "in stops"), *(_fader_row(found, i) for i in range(len(found.faders)))]
    )
    lines.append("")
    rows: list[tuple[str, ...]] = [("target", "wanted", before, "is now", "")]
    rows += [_outcome_row(outcome) for outcome in found.outcomes]
    lines += [*aligned(rows), "", verdict_line(found)] if found.outcomes else [verdict_line(found)]
    for outcome in found.outcomes:
        if outcome.verdict.result != "pass":
            lines += reasons(outcome)
    lines += [f"not judged: {line.replace('cannot be judged, ', '')}" for line in found.missing]
    if found.ceiling is not None:
        lines += ["", *ceiling_lines(found.ceiling)]
    return lines


def verdict_line(found: Balance) -> str:
    """One sentence on the whole."""
    missed = [it for it in found.outcomes if it.verdict.result != "pass"]
    met = len(found.outcomes) - len(missed)
    if not found.outcomes:
        return "No target could be judged."
    if not missed:
        return "Every target is met." if met > 1 else "The target is met."
    words = ", ".join(it.words for it in missed)
    return f"{met} of {len(found.outcomes)} targets met; missed: {words}. No dimmers come nearer."


def _fader_row(found: Balance, i: int) -> tuple[str, ...]:
    fader = found.faders[i]
    percent = f"{100 * fader.before:.0f} % -> {_percent(fader.after, fader.error)}"
    if fader.held:
        return fader.light, f"{100 * fader.before:.0f} %", "held", ""
    note = "off" if fader.after == 0.0 else "full" if fader.after > FULL else ""
    if fader.after == fader.before:
        return fader.light, percent, note, "as it is"
    if math.isnan(fader.stops):
        return fader.light, percent, note, ""
    error = (
        f" ±{max(fader.error, 0.01):.2f}" if math.isfinite(fader.error) and 0.0 < fader.after < FULL else ""
    )
    return fader.light, percent, note, f"{signed(fader.stops, 2)}{error}"


def _percent(dim: float, error: float) -> str:
    """With the error of the dimmer in per cent of full."""
    places = 0 if dim >= 0.1 or dim == 0.0 else 1
    by = 100.0 * dim * (2.0**error - 1.0)
    if not math.isfinite(error) or dim in (0.0, 1.0) or dim > FULL:
        return f"{100 * dim:.{places}f} %"
    return f"{100 * dim:.{places}f} ±{max(by, 10.0**-places):.{places}f} %"


def _outcome_row(outcome: Outcome) -> tuple[str, ...]:
    verdict = outcome.verdict
    result = {"pass": "met", "warn": "nearly", "fail": "missed"}[verdict.result]
    fixed = outcome.reach is None and verdict.result != "pass"
    return (
        outcome.words,
        verdict.wanted,
        *outcome.shown,
        f"{result}, {verdict.reason}" if verdict.reason and not fixed else result,
    )


def reasons(outcome: Outcome) -> list[str]:
    """Why a target is missed."""
    name = outcome.words
    if outcome.reach is None:
        return [f"{name}: {outcome.verdict.reason}; no dimmer changes it: move the light."]
    low, high = _value(outcome, outcome.reach.low), _value(outcome, outcome.reach.high)
    span = f"dimmers alone bring {low} to {high}"
    if outcome.name.startswith("level."):
        span += " from the camera's exposure"
    if outcome.reach.low == -math.inf:
        span = f"dimmers alone bring {high} at most"
    if outcome.alone:
        others = " or ".join(outcome.at_odds) or "all the others at once"
        return [f"{name}: {span}, so it can be met by itself, but not together with {others}."]
    side = "over" if outcome.verdict.miss < 0.0 else "under"
    return [f"{name}: {span}: what is wanted lies {side} that."]


def _value(outcome: Outcome, value: float) -> str:
    unit = outcome.after.unit
    if math.isinf(value):
        return "no light" if value < 0.0 else "without limit"
    if unit == "x:1":
        return f"{value:.1f}:1"
    return f"{signed(value)} stops" if unit == "stops" else f"{value:.0f} {unit}"


def ceiling_lines(found: Ceiling) -> list[str]:
    """The highest ratio, and what each measure is worth."""
    stops = math.log2(found.ratio) if found.ratio > 0.0 else math.nan
    lines = [
        f"The key alone makes {found.ratio:.1f}:1 ±{max(found.error, 0.1):.1f} here ({stops:.1f} stops):"
        " no dimmer brings more. Each by itself would buy:",
        *aligned([gain_row(gain) for gain in found.alone], "  "),
    ]
    if len(found.together) > 1:
        lines.append("One on top of the other:")
        rows = [
            (
                f"{'+ ' if i else ''}{gain.what}",
                f"{signed(gain.gain)} ±{_error(gain)} stops",
                f"{gain.ratio:.1f}:1",
            )
            for i, gain in enumerate(found.together)
        ]
        lines += aligned(rows, "  ")
    return lines


def gain_row(gain: Gain) -> tuple[str, ...]:
    """what, gain, ratio, cost."""
    cost = f"costs {gain.key_loss:.1f} stop of key" if gain.key_loss >= 0.15 else ""
    return gain.what, f"{signed(gain.gain)} ±{_error(gain)} stops", f"{gain.ratio:.1f}:1", cost


def _error(gain: Gain) -> str:
    return f"{max(gain.error, 0.1):.1f}" if math.isfinite(gain.error) else "?"
