"""Ranges of a scene file: [low, high], where one number may do, and ratios such as "4:1"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from renderer.scene.field import Checked, Quantity, fault, plain, show

Range = tuple[float, float]


@dataclass(frozen=True)
class Span(Checked):
    """[low, high], low first."""

    of: Quantity

    def shape(self) -> str:
        return f"[low, high], {self.of.valid()}"

    def check(self, value: Any) -> Any:
        if not isinstance(value, (list, tuple)) or len(value) != 2:
            raise fault(f"expected {self.shape()}; got {show(value)}")
        low, high = self.of.check(value[0]), self.of.check(value[1])
        if low > high:
            hint = f"did you mean [{plain(high)}, {plain(low)}]?"
            raise fault(f"expected the lower value first; got {show(value)}; {hint}")
        return low, high

    def schema(self) -> dict[str, Any]:
        return {"type": "array", "items": self.of.schema(), "minItems": 2, "maxItems": 2}


@dataclass(frozen=True)
class OneOrSpan(Span):
    """[low, high] or one number, kept as [x, x]."""

    def shape(self) -> str:
        return f"a number or [low, high], {self.of.valid()}"

    def check(self, value: Any) -> Any:
        if not isinstance(value, (list, tuple)):
            one = self.of.check(value)
            return one, one
        return super().check(value)

    def schema(self) -> dict[str, Any]:
        return {"anyOf": [self.of.schema(), super().schema()]}


@dataclass(frozen=True)
class RatioSpan(Span):
    """[low, high], a number, or text such as "4:1"; one ratio is kept as [x, x]."""

    def shape(self) -> str:
        return 'a ratio such as 4 or "4:1", or [low, high]'

    def check(self, value: Any) -> Any:
        if isinstance(value, str):
            found = re.fullmatch(r"\s*(\d{1,4}(?:\.\d{1,4})?)\s*:\s*1\s*", value)
            if found is None:
                raise fault(f"expected {self.shape()}; got {show(value)}")
            value = float(found[1])
        if not isinstance(value, (list, tuple)):
            one = self.of.check(value)
            return one, one
        return super().check(value)

    def schema(self) -> dict[str, Any]:
        text = {"type": "string", "pattern": r"^ *[0-9.]+ *: *1 *$"}
        return {"anyOf": [self.of.schema(), text, super().schema()]}
