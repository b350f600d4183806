"""A named place where a meter is held."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field

from renderer.scene.field import (
    COORDINATE,
    XYZ,
    Checked,
    Quantity,
    Several,
    Table,
    fault,
    show,
    unit_direction,
)
from renderer.scene.parts import Vec3

FACINGS = ("camera", "up", "down", "back", "camera_left", "camera_right")
"""Words for `facing`, beside the name of a light: towards the lens, the ceiling, the floor, away from the
camera, to camera left, to camera right."""


@dataclass(frozen=True)
class Named(Checked):
    """A word, or else a triple of numbers."""

    what: str
    triple: Several

    def check(self, value: Any) -> Any:
        if not isinstance(value, str):
            return self.triple.check(value)
        if not re.fullmatch(r"\S(.*\S)?", value):
            raise fault(f"expected {self.what}; got {show(value)}")
        return value

    def schema(self) -> dict[str, Any]:
        return {"anyOf": [self.triple.schema(), {"type": "string"}]}


PLACE = Named(
    "a point [x, y, z] or the name of a landmark", Several(COORDINATE, XYZ, what="a landmark or a point")
)
TURN = Named(
    "a direction [x, y, z], one of " + ", ".join(FACINGS) + ", or the name of a light",
    Several(Quantity("any length", -1e6, 1e6), XYZ, what="a name or a direction", finish=unit_direction),
)


class Mark(Table):
    """Where a meter is held, which way it faces and of which kind it is."""

    at: Annotated[Vec3 | str, PLACE] = Field(
        description="[x, y, z], metres, or the name of a landmark of the head"
    )
    facing: Annotated[Vec3 | str, TURN] = Field(
        default="camera",
        description="direction [x, y, z], or camera, up, down, back, camera_left, camera_right, or a light",
    )
    meter: Literal["flat", "dome", "spot"] = Field(
        default="flat",
        description="flat disc, dome (incident, half sphere) or spot (luminance from the lens)",
    )
