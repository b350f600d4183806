"""A circuit that lights are plugged into."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from renderer.scene.field import Quantity, Table

Watts = Annotated[float, Quantity("watts", 0.0, 100000.0)]


class Circuit(Table):
    """A circuit behind one breaker."""

    volts: Annotated[float, Quantity("volts", 12.0, 480.0)] = Field(description="volts, alternating, r.m.s.")
    amps: Annotated[float, Quantity("amperes", 0.1, 400.0)] = Field(
        description="amperes that its breaker is rated for"
    )
    power_factor: Annotated[float, Quantity("a share", 0.1, 1.0)] = Field(
        default=1.0, description="of what is plugged in, 0.1 to 1"
    )
    continuous: Annotated[bool, Field(strict=True)] = Field(
        default=True, description="whether the load may burn for three hours or more at a stretch"
    )
    other_watts: Watts = Field(default=0.0, description="watts of all else on it: camera, monitor, heater")
