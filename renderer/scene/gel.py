"""Gels: how far a sheet of colour moves a lamp's white, in mired, and how much light it costs, in stops.

Mireds add up: 1e6 / T behind = 1e6 / T in front + shift, and so do stops; gels are stacked by adding both.
Warming shifts are positive, cooling ones negative.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic_core import PydanticCustomError

from renderer.scene.field import Checked, Quantity, fault, near, plain, show
from renderer.units import mired, signed, stops_to_ratio


@dataclass(frozen=True)
class Gel:
    """One sheet, or what several together come to.

    mired  shift, 1e6 / K, positive is warmer
    stops  light that it costs, 0 or more
    """

    mired: float = 0.0
    stops: float = 0.0

    def behind(self, cct: float) -> float:
        """Colour temperature [K] of a lamp of `cct` [K] behind it; infinite where nothing is so blue."""
        if self.mired == 0.0:
            return cct
        left = mired(cct) + self.mired
        return mired(left) if left > 0.0 else float("inf")

    def transmission(self) -> float:
        """Share of the light that it passes, 0 to 1."""
        return stops_to_ratio(-self.stops)


CLEAR = Gel()
GRADES = {
    "full_warming": Gel(159.0, 2 / 3),
    "half_warming": Gel(109.0, 1 / 2),
    "quarter_warming": Gel(64.0, 1 / 3),
    "eighth_warming": Gel(26.0, 1 / 4),
    "full_cooling": Gel(-137.0, 3 / 2),
    "half_cooling": Gel(-78.0, 1.0),
    "quarter_cooling": Gel(-35.0, 1 / 2),
    "eighth_cooling": Gel(-18.0, 1 / 3),
}
"""The grades of the trade; makers differ by a tenth, so a swatch book's own figures are better.

Mired: full warming +159 (J. Holben, TV Technology, gives it as one maker's); full, half and quarter cooling
take 3200 K to 5700, 4300 and 3600 K (controlbooth.com, "CTB"), -137, -80 and -35; the others, and -78 for
-80, are common practice, no source. Stops: common practice, no source.
"""
WHITES = (1000.0, 25000.0)
"""Colour temperatures that a white is known for [K], as `renderer.colour.CCT_RANGE`."""
MOST = 8
_MIRED = Quantity("mired", -500.0, 500.0)
_STOPS = Quantity("stops", 0.0, 10.0)
_KEYS = ("mired", "stops")
Entry = str | Gel


def shift(from_cct: float, to_cct: float) -> float:
    """Mired that takes a lamp from one colour temperature [K] to another."""
    return mired(to_cct) - mired(from_cct)


def stacked(entries: Iterable[Entry]) -> Gel:
    """What several gels, by name or by their figures, come to together."""
    gels = [GRADES[entry] if isinstance(entry, str) else entry for entry in entries]
    return Gel(sum(gel.mired for gel in gels), sum(gel.stops for gel in gels))


def in_words(entries: Sequence[Entry]) -> str:
    """quarter_warming and +20 mired"""
    return " and ".join(
        entry if isinstance(entry, str) else f"{signed(entry.mired, 0)} mired" for entry in entries
    )


def misfit(cct: float, total: Gel) -> str | None:
    """What is wrong with gels that come to `total` on a lamp of `cct` [K]; None where nothing is."""
    low, high = WHITES
    if low <= total.behind(cct) <= high:
        return None
    least, most = math.ceil(shift(cct, high)), math.floor(shift(cct, low))
    return (
        f"leaves no white that is known ({plain(low)} to {plain(high)} kelvin): expected {least} to"
        f" {most} mired in all on {plain(cct)} kelvin; got {plain(round(total.mired, 1))}"
    )


@dataclass(frozen=True)
class Stack(Checked):
    """A name, a table { mired, stops }, or a list of these; kept as a tuple of names and `Gel`s."""

    def check(self, value: Any) -> tuple[Entry, ...]:
        if not isinstance(value, (list, tuple)):
            return (self._entry(value),)
        if len(value) > MOST:
            raise fault(f"expected at most {MOST} gels on one light; got {len(value)}")
        found = []
        for place, item in enumerate(value):
            try:
                found.append(self._entry(item))
            except PydanticCustomError as wrong:
                raise fault(f"gel {place + 1}: {(wrong.context or {})['text']}") from None
        return tuple(found)

    def _entry(self, value: Any) -> Entry:
        if isinstance(value, Gel) or (isinstance(value, str) and value in GRADES):
            return value
        if isinstance(value, dict):
            return self._figures(value)
        hint = near(value, list(GRADES)) if isinstance(value, str) else ""
        raise fault(f"expected {', '.join(GRADES)} or {{ mired, stops }}; got {show(value)}{hint}")

    def _figures(self, table: dict[str, Any]) -> Gel:
        for key in table:
            if key not in _KEYS:
                raise fault(f"unknown key {show(key)}{near(key, _KEYS)} (a gel has: {', '.join(_KEYS)})")
        if not table:
            raise fault("expected mired, stops or both in the table; got none")
        numbers = []
        for key, valid in zip(_KEYS, (_MIRED, _STOPS), strict=True):
            try:
                numbers.append(valid.check(table.get(key, 0.0)))
            except PydanticCustomError as wrong:
                raise fault(f"{key}: {(wrong.context or {})['text']}") from None
        return Gel(*numbers)

    def schema(self) -> dict[str, Any]:
        figures = {
            "type": "object",
            "properties": {"mired": _MIRED.schema(), "stops": _STOPS.schema()},
            "additionalProperties": False,
        }
        one = [{"type": "string", "enum": list(GRADES)}, figures]
        return {"anyOf": [*one, {"type": "array", "items": {"anyOf": one}, "maxItems": MOST}]}


Gels = Annotated[tuple[Entry, ...], Stack()]
GEL_MEANING = "gels before it: a grade such as quarter_warming, { mired, stops }, or a list of these"
