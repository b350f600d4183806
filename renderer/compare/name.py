"""What measures are called, on paper and when a person names one."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from difflib import get_close_matches
from typing import TYPE_CHECKING

from renderer.errors import InputError
from renderer.scene.measure import MEASURES
from renderer.units import MINUS, clock_words, signed

if TYPE_CHECKING:
    from renderer.meter.face import Finding

RATIO = "x:1"
PLACES = {"deg": 0, "mm": 0, "%": 0, "h": 1, "1": 0, "stops": 1}
UNITS = {"deg": "\u00b0", "mm": " mm", "%": " %", "h": " h", "1": "", "stops": ""}
MORE = {
    "lighting_ratio_stops": "lighting ratio",
    "picture_contrast_stops": "picture contrast",
    "nose_shadow_clock": "nose shadow ends at",
}
TWICE = frozenset({"lighting_ratio"})
"""Said a second time in other units."""


def words_of(name: str) -> str:
    """A measure in words: "eye shade, sitter left", "level at the back wall"."""
    if name in MORE:
        return MORE[name]
    stem, _, of = name.partition(".")
    if stem == "level":
        return f"level, {of.replace('_', ' ')}"
    words = MEASURES.get(stem, stem.replace("_", " "))
    return f"{words}, {of.replace('_', ' ')}" if of else words


def in_stops(finding: Finding) -> Finding:
    """A ratio as stops; all else as it is."""
    if finding.unit != RATIO or isinstance(finding.value, str):
        return finding
    value = math.log2(finding.value) if finding.value > 0.0 else -math.inf
    error = finding.error / (finding.value * math.log(2.0)) if math.isfinite(value) else math.nan
    return replace(finding, value=value, error=error, unit="stops")


def short(finding: Finding, with_error: bool = True) -> str:
    """Value and error as a cell of a table: "+1.9 \u00b10.1", "34 \u00b14 mm", "loop"."""
    finding = in_stops(finding)
    if isinstance(finding.value, str):
        return finding.value
    if finding.unit == "h" and math.isfinite(finding.value):
        error = "?" if math.isnan(finding.error) else f"{max(60.0 * finding.error, 1.0):.0f}"
        return clock_words(finding.value) + (f" \u00b1{error} min" if with_error else "")
    return amount(finding.value, finding.error if with_error else None, finding.unit)


def amount(value: float, error: float | None, unit: str, change: bool = False) -> str:
    """A number with its error and unit; a change has its sign in every unit, and stops to a hundredth: it is
    often known better than what it is a change of."""
    places = 2 if change and unit == "stops" else PLACES.get(unit, 2)
    if math.isnan(value):
        return "none"
    if math.isinf(value):
        return signed(value)
    text = signed(value, places) if change or unit == "stops" else _unsigned(value, places)
    if error is not None and unit != "1":
        shown = "?" if math.isnan(error) else f"{max(error, 10.0**-places):.{places}f}"
        text += f" \u00b1{shown}"
    return text + UNITS.get(unit, f" {unit}")


def _unsigned(value: float, places: int) -> str:
    """A number without a plus, its minus a true one."""
    text = f"{abs(value):.{places}f}"
    return MINUS + text if value < 0.0 and float(text) != 0.0 else text


def order_of(name: str) -> tuple[int, str]:
    """Where a measure stands in a list: in the order in which a light is set, levels last."""
    stem = name.partition(".")[0]
    known = list(MEASURES)
    stem = {"lighting_ratio_stops": "lighting_ratio", "picture_contrast_stops": "highest_ratio"}.get(
        stem, stem
    )
    return (known.index(stem) if stem in known else len(known), name)


def chosen(wanted: Iterable[str], names: Iterable[str]) -> list[str]:
    """The names that were asked for, a stem standing for all that begin with it.

    Raises InputError for one that is none, with the nearest.
    """
    there, found = list(names), []
    for word in wanted:
        if word in there:
            found.append(word)
            continue
        under = [name for name in there if name.startswith(f"{word}.")]
        if not under:
            stems = {name.partition(".")[0] for name in there}
            near = get_close_matches(word, sorted({*there, *stems}), 1, 0.4)
            hint = f'; did you mean "{near[0]}"?' if near else ""
            hint = hint or f" (measures: {', '.join(there)})"
            raise InputError(f"--measure {word}: there is no such measure{hint}")
        found += under
    return list(dict.fromkeys(found))
