"""Lux at distances on the axis of a light, as data sheets and light meters give them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Any

from pydantic_core import PydanticCustomError

from renderer.scene.field import CENTIMETRES, Checked, Quantity, fault, plain, show

METRES = Quantity("metres", 0.05, 100.0, slips=(CENTIMETRES,))
LUX = Quantity("lux", 0.0, 1e9, above=True)


@dataclass(frozen=True)
class ReadingList(Checked):
    """[[metres, lux], ...], each distance once, less far off than near; kept nearest first."""

    def check(self, value: Any) -> tuple[tuple[float, float], ...]:
        valid = "[[metres, lux], ...], from the front, on the axis"
        if not isinstance(value, (list, tuple)) or not value:
            raise fault(f"expected {valid}; got {show(value)}")
        found = sorted(_reading(number, item) for number, item in enumerate(value, 1))
        for (near, _), (far, _) in pairwise(found):
            if near == far:
                raise fault(f"{plain(near)} metres is there twice; expected each distance once")
        (near, most), (far, least) = found[0], found[-1]
        if len(found) > 1 and least >= most:
            raise fault(
                f"expected less lux at {plain(far)} than at {plain(near)} metres; got {plain(least)} and"
                f" {plain(most)}"
            )
        return tuple(found)

    def schema(self) -> dict[str, Any]:
        pair = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
        return {"type": "array", "items": pair, "minItems": 1}


def _reading(number: int, item: Any) -> tuple[float, float]:
    if not isinstance(item, (list, tuple)) or len(item) != 2:
        raise fault(f"reading {number}: expected [metres, lux]; got {show(item)}")
    try:
        return METRES.check(item[0]), LUX.check(item[1])
    except PydanticCustomError as wrong:
        raise fault(f"reading {number}: {(wrong.context or {})['text']}") from None


Readings = Annotated[tuple[tuple[float, float], ...], ReadingList()]
