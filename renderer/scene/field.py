"""Typed values of a scene file: numbers with unit and range, points, colours.

Each type checks what was written, answers in words (found, valid, nearest sensible) and describes
itself in the JSON Schema. Numbers are never taken from strings, and nan or inf never pass.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Annotated, Any, Self

from pydantic import BaseModel, ConfigDict, model_validator
from pydantic_core import PydanticCustomError, core_schema

from renderer.scene import vector
from renderer.scene.parts import RGB, Vec3

Problem = tuple[tuple[str | int, ...], str]
"""Path of keys below a table, and what is wrong there."""

CENTIMETRES = (0.01, "centimetres")
MILLIMETRES = (0.001, "millimetres")
METRES_FOR_MM = (1000.0, "metres")
PER_CENT = (0.01, "per cent")
WRITTEN_UNITS = {"m": 1.0, "cm": 0.01, "mm": 0.001, "%": 0.01}


def fault(text: str) -> PydanticCustomError:
    """The error a field raises; braces in `text` are safe."""
    return PydanticCustomError("field", "{text}", {"text": text})


def plain(value: float) -> str:
    """A number as a person writes it: 1.2, 5600, 1e+09."""
    return f"{value:.10g}"


def near(word: str, words: Sequence[str], cutoff: float = 0.6) -> str:
    """'; did you mean "x"?' for the nearest of `words`, or nothing."""
    found = get_close_matches(word, words, 1, cutoff)
    return f'; did you mean "{found[0]}"?' if found else ""


def show(value: Any) -> str:
    """What was found, on one line and cut to a readable length."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and abs(value) > 10**15:
        return f"a whole number of {len(str(abs(value))) if abs(value) < 10**4000 else 'over 4000'} digits"
    if isinstance(value, (int, float)):
        return plain(value)
    if isinstance(value, str):
        text = "".join(letter if letter.isprintable() else "?" for letter in " ".join(value.split()))
        return f'"{text[:40]}..."' if len(text) > 43 else f'"{text}"'
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, (list, tuple)):
        return (
            f"[{', '.join(show(item) for item in value)}]"
            if len(value) <= 4
            else f"a list of {len(value)} values"
        )
    return str(value)


@dataclass(frozen=True)
class Checked:
    """Base of the checks put into an `Annotated` type: `check` the value, describe it in `schema`."""

    def check(self, value: Any) -> Any:
        raise NotImplementedError

    def schema(self) -> dict[str, Any]:
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.check)

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return self.schema()


@dataclass(frozen=True)
class Quantity(Checked):
    """A finite number of `unit` from `low` (or above it) to `high`.

    slips  (factor, name) of units written by mistake, the likeliest first
    """

    unit: str
    low: float
    high: float
    above: bool = False
    slips: tuple[tuple[float, str], ...] = ()
    whole: bool = False

    def fits(self, value: float) -> bool:
        return (self.low < value if self.above else self.low <= value) and value <= self.high

    def valid(self) -> str:
        kind = f"a whole number of {self.unit}" if self.whole else self.unit
        if self.above:
            return f"{kind} above {plain(self.low)} and up to {plain(self.high)}"
        return f"{kind} from {plain(self.low)} to {plain(self.high)}"

    def check(self, value: Any) -> float:
        if isinstance(value, str):
            raise fault(
                f"expected {self.valid()}, written as a number; got the text {show(value)}{self._read(value)}"
            )
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise fault(f"expected {self.valid()}; got {show(value)}")
        if isinstance(value, int) and abs(value) > 10**15:
            raise fault(f"expected {self.valid()}; got {show(value)}")
        if not math.isfinite(value):
            raise fault(f"expected {self.valid()}; got {value}, which is not a finite number")
        if self.whole and value != int(value):
            raise fault(f"expected {self.valid()}; got {plain(value)}")
        if not self.fits(value):
            raise fault(f"expected {self.valid()}; got {plain(value)}{self._slip(value)}")
        return int(value) if self.whole else float(value)

    def _slip(self, value: float) -> str:
        for factor, name in self.slips:
            if self.fits(value * factor):
                return f"; {plain(value)} looks like {name}: did you mean {plain(value * factor)}?"
        return ""

    def _read(self, text: str) -> str:
        found = re.fullmatch(r"\s*([-+]?\d*\.?\d+)\s*([a-zA-Z%/0-9]*)\s*", text)
        if found is None:
            return ""
        factor = WRITTEN_UNITS.get(found[2], 1.0)
        value = float(found[1]) * factor
        return f"; did you mean {plain(value)}?" if self.fits(value) else ""

    def schema(self) -> dict[str, Any]:
        lowest = "exclusiveMinimum" if self.above else "minimum"
        kind = "integer" if self.whole else "number"
        return {"type": kind, lowest: self.low, "maximum": self.high, "unit": self.unit}


@dataclass(frozen=True)
class Several(Checked):
    """A list of `len(names)` numbers, given back as a tuple."""

    of: Quantity
    names: tuple[str, ...]
    one: bool = False
    """A single number stands for all."""
    what: str = ""
    finish: Callable[[tuple[float, ...]], tuple[float, ...]] | None = None

    def shape(self) -> str:
        word = f"[{', '.join(self.names)}]"
        return f"{self.what + ' ' if self.what else ''}{word}, {self.of.valid()}" + (
            ", or one such number" * self.one
        )

    def check(self, value: Any) -> tuple[float, ...]:
        if self.one and not isinstance(value, (list, tuple)):
            numbers = (self.of.check(value),) * len(self.names)
        elif not isinstance(value, (list, tuple)):
            raise fault(f"expected {self.shape()}; got {show(value)}")
        elif len(value) != len(self.names):
            count = f"{len(value)} value" + "s" * (len(value) != 1)
            raise fault(f"expected {self.shape()}; got {show(value)}, which has {count}")
        else:
            numbers = tuple(self._item(name, item) for name, item in zip(self.names, value, strict=True))
        return self.finish(numbers) if self.finish else numbers

    def _item(self, name: str, item: Any) -> float:
        try:
            return self.of.check(item)
        except PydanticCustomError as wrong:
            raise fault(f"{name}: {(wrong.context or {})['text']}") from None

    def schema(self) -> dict[str, Any]:
        count = len(self.names)
        several = {"type": "array", "items": self.of.schema(), "minItems": count, "maxItems": count}
        return {"anyOf": [self.of.schema(), several]} if self.one else several


def unit_direction(numbers: tuple[float, ...]) -> Vec3:
    """At length 1."""
    direction = vector.unit((numbers[0], numbers[1], numbers[2]))
    if direction is None:
        raise fault("expected a direction [x, y, z]; got [0, 0, 0], which points nowhere")
    return direction


SHARE = Quantity("a share", 0.0, 1.0, slips=(PER_CENT,))
COORDINATE = Quantity("metres", -50.0, 50.0, slips=(CENTIMETRES, MILLIMETRES))
XYZ = ("x", "y", "z")
RED_GREEN_BLUE = ("r", "g", "b")

Share = Annotated[float, SHARE]
Size = Annotated[float, Quantity("metres", 0.001, 10.0, slips=(CENTIMETRES, MILLIMETRES))]
Length = Annotated[float, Quantity("metres", 0.0, 50.0, slips=(CENTIMETRES, MILLIMETRES))]
Degrees = Annotated[float, Quantity("degrees", -360.0, 360.0)]
Kelvin = Annotated[float, Quantity("kelvin", 1500.0, 20000.0, slips=((1000.0, "thousands of kelvin"),))]
Point = Annotated[Vec3, Several(COORDINATE, XYZ, what="a point")]
Direction = Annotated[
    Vec3, Several(Quantity("any length", -1e6, 1e6), XYZ, what="a direction", finish=unit_direction)
]
Reflectance = Annotated[RGB, Several(SHARE, RED_GREEN_BLUE, one=True)]


class Table(BaseModel):
    """A table of the scene file: unknown keys are errors; `problems` says what does not fit together."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        """What is wrong with the choice of keys, whatever their values."""
        return iter(())

    def problems(self) -> Iterator[Problem]:
        """What is wrong between the values of this table, each with the path of keys below it."""
        return iter(())

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        given = [key for key in type(self).model_fields if getattr(self, key) is not None]
        found = [*self.key_problems(given), *self.problems()]
        if found:
            raise PydanticCustomError("table", "{text}", {"text": found[0][1], "problems": found})
        return self
