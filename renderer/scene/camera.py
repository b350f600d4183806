"""The camera: where it stands, what it sees, how it is exposed."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import ConfigDict, Field

from renderer.scene import vector
from renderer.scene.field import (
    METRES_FOR_MM,
    Checked,
    Point,
    Problem,
    Quantity,
    Several,
    Table,
    fault,
    plain,
    show,
)
from renderer.scene.white import DUV_MEANING, LOCUS_MEANING, Duv, Locus, White
from renderer.units import lux_for_exposure

AIM_BELOW_EYES = 0.055
"""Default aim: this far under the eyes [m]. With the default lens the eyes then lie at 0.37 of the height of
the picture, with air over the hair and the shoulders running out of the lower edge."""
DEFAULT_DISTANCE = 2.0

Pixels = Quantity("pixels", 16, 8192, whole=True)
SECONDS = Quantity("seconds", 1e-6, 60.0)


@dataclass(frozen=True)
class Shutter(Checked):
    """Seconds, or a fraction written as text such as "1/50"; kept as seconds."""

    def check(self, value: Any) -> float:
        if isinstance(value, str):
            fraction = re.fullmatch(r"\s*1\s*/\s*(\d{1,7}(?:\.\d+)?)\s*", value)
            if fraction is None or float(fraction[1]) == 0:
                raise fault(f'expected seconds or a fraction such as "1/50"; got {show(value)}')
            return SECONDS.check(1.0 / float(fraction[1]))
        if isinstance(value, (int, float)) and not isinstance(value, bool) and 10 <= value <= 16000:
            hint = f'did you mean "1/{plain(value)}"?'
            raise fault(f'expected seconds or a fraction such as "1/50"; got {plain(value)}; {hint}')
        return SECONDS.check(value)

    def schema(self) -> dict[str, Any]:
        return {"anyOf": [SECONDS.schema(), {"type": "string", "pattern": "^ *1 */ *[0-9]+(\\.[0-9]+)? *$"}]}


def _filled_in(schema: dict[str, Any]) -> None:
    """`at` and `aim` may be left out of a file: the scene fills them in from the sitter."""
    schema["required"] = [key for key in schema.get("required", []) if key not in ("at", "aim")]


class Camera(Table):
    """The camera. A scene file may leave `at` and `aim` out; `Scene` then fills them in."""

    model_config = ConfigDict(json_schema_extra=_filled_in)

    at: Point = Field(
        description="[x, y, z] of the lens, metres; 2 m before the sitter at eye height unless given"
    )
    aim: Point = Field(description="[x, y, z] it looks at, metres; 0.055 m below the eyes unless given")
    lens_mm: Annotated[float, Quantity("millimetres", 4.0, 1200.0, slips=(METRES_FOR_MM,))] = Field(
        default=65.0, description="millimetres; focal length"
    )
    sensor_width_mm: Annotated[float, Quantity("millimetres", 1.0, 100.0, slips=(METRES_FOR_MM,))] = Field(
        default=11.2,
        description="millimetres of the sensor across the width of the picture;"
        " 11.2 is a 4:5 upright crop from a 24.9 x 14 mm frame",
    )
    picture: Annotated[tuple[int, int], Several(Pixels, ("width", "height"))] = Field(
        default=(640, 800), description="[width, height] of the picture, pixels"
    )
    t_stop: Annotated[float, Quantity("T-stop", 0.5, 64.0)] = Field(
        default=2.8, description="T-stop of the lens"
    )
    iso: Annotated[float, Quantity("ISO speed", 6.0, 409600.0)] = Field(
        default=800.0, description="ISO speed"
    )
    shutter: Annotated[float, Shutter()] = Field(
        default=0.02, description='exposure time, seconds, or text such as "1/50"'
    )
    white_balance: Annotated[float, Quantity("kelvin", 1500.0, 20000.0)] = Field(
        default=5600.0, description="kelvin; the colour temperature shown as neutral"
    )
    white_balance_locus: Locus | None = Field(
        default=None, description=f"line that this white lies on: {LOCUS_MEANING}"
    )
    white_balance_duv: Duv | None = Field(default=None, description=f"of this white: {DUV_MEANING}")

    @property
    def width_angle(self) -> float:
        """Angle of view across the width of the picture [deg]."""
        return math.degrees(2 * math.atan(self.sensor_width_mm / (2 * self.lens_mm)))

    @property
    def height_angle(self) -> float:
        """Angle of view over the height of the picture [deg]; pixels are square."""
        height_mm = self.sensor_width_mm * self.picture[1] / self.picture[0]
        return math.degrees(2 * math.atan(height_mm / (2 * self.lens_mm)))

    @property
    def working_lux(self) -> float:
        """Illuminance [lux] that the exposure asks for: E = C N^2 / (S t), ISO 2720, C = 250."""
        return lux_for_exposure(self.t_stop, self.iso, self.shutter)

    def white(self) -> White:
        """The white that is shown as neutral."""
        return White(self.white_balance, self.white_balance_locus, self.white_balance_duv)

    def problems(self) -> Iterator[Problem]:
        yield from self.white().problems("white_balance_")
        if vector.length(vector.subtract(self.aim, self.at)) < 0.01:
            yield ("aim",), "the camera looks at its own place; expected a point at least 0.01 metres away"
        if math.hypot(self.at[0], self.at[1]) < 0.01:
            yield (
                ("at",),
                (
                    "the camera is right above or below the sitter, so camera left and right mean nothing;"
                    " expected at least 0.01 metres to the side"
                ),
            )
