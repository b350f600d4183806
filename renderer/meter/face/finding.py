"""One finding about the light on a face: a number or a word, how sure it is, and whether it is wanted."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from renderer.meter.reading import Reading


@dataclass(frozen=True)
class Finding:
    """value +- error in `unit`; a word (a pattern, a side) has the unit "word" and no error.

    error    one standard error, or of a deterministic geometric measure the discretisation error
    meaning  of what, in words
    why      what led to it, in words; may be empty
    parts    further plain data behind it
    """

    value: float | str
    error: float
    unit: str
    meaning: str
    why: str = ""
    parts: dict[str, Any] | None = None

    @classmethod
    def of(cls, reading: Reading, why: str = "", parts: dict[str, Any] | None = None) -> Finding:
        return cls(reading.value, reading.error, reading.unit, reading.meaning, why, parts)

    @classmethod
    def word(cls, value: str, meaning: str, why: str = "", parts: dict[str, Any] | None = None) -> Finding:
        return cls(value, 0.0, "word", meaning, why, parts)

    @property
    def number(self) -> float:
        """The value as a number; nan for a word."""
        return math.nan if isinstance(self.value, str) else self.value

    def as_json(self) -> dict[str, Any]:
        """Plain data; a number that does not exist becomes null."""
        if isinstance(self.value, str):
            data: dict[str, Any] = {
                "value": self.value,
                "error": None,
                "unit": self.unit,
                "meaning": self.meaning,
            }
        else:
            data = Reading(self.value, self.error, self.unit, self.meaning).as_json()
        if self.why:
            data["why"] = self.why
        if self.parts:
            data["parts"] = self.parts
        return data

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Finding:
        """What `as_json` wrote; an infinite value comes back as nan."""
        value, error = data["value"], data["error"]
        return cls(
            math.nan if value is None else value,
            math.nan if error is None else error,
            data["unit"],
            data["meaning"],
            data.get("why", ""),
            data.get("parts"),
        )
