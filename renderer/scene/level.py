"""What a meter at a mark is wanted to read; `[target.level.MARK]` in a scene file."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Annotated

from pydantic import Field

from renderer.scene.field import Problem, Quantity, Table
from renderer.scene.span import OneOrSpan, Range

LUX = Quantity("lux", 0.0, 1e6, above=True)
LUMINANCE = Quantity("cd/m2", 0.0, 1e6, above=True)
T_STOP = Quantity("a T-stop", 0.5, 90.0)
STOPS = Quantity("stops", -12.0, 12.0)
UNITS = {"lux": "lux", "luminance": "cd/m2", "t_stop": "", "stops": "stops from exposure"}

STANDING = (
    *("face", "key_cheek", "shadow_cheek", "key_cheek_spot", "shadow_cheek_spot", "head_top", "back_wall"),
)
"""Marks that every sitter and room has without being written (`renderer/meter/mark.py`)."""
STANDING_SPOTS = ("key_cheek_spot", "shadow_cheek_spot")


class Level(Table):
    """One of four ways to say it, each a number or [low, high]."""

    lux: Annotated[Range, OneOrSpan(LUX)] | None = Field(
        default=None, description="lux, of a flat disc or dome: a number or [low, high]"
    )
    luminance: Annotated[Range, OneOrSpan(LUMINANCE)] | None = Field(
        default=None, description="cd/m2, of a spot meter: a number or [low, high]"
    )
    t_stop: Annotated[Range, OneOrSpan(T_STOP)] | None = Field(
        default=None, description="T-stop that the meter asks for: a number or [low, high]"
    )
    stops: Annotated[Range, OneOrSpan(STOPS)] | None = Field(
        default=None, description="stops above (+) or below the camera's exposure: a number or [low, high]"
    )

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        if len(given) != 1:
            found = " and ".join(given) if given else "none of them"
            yield (), f"expected one of {', '.join(UNITS)}; got {found}"

    @property
    def way(self) -> str:
        """The key that was written."""
        return next(key for key in UNITS if getattr(self, key) is not None)

    @property
    def wanted(self) -> Range:
        """Its value, in the unit of `way`."""
        value: Range = getattr(self, self.way)
        return value
