"""Spectacles that the sitter wears: `[sitter.glasses]` of a scene file."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field

from renderer.scene.field import (
    CENTIMETRES,
    MILLIMETRES,
    Checked,
    Problem,
    Quantity,
    Reflectance,
    Table,
    fault,
    near,
    plain,
    show,
)

COATINGS = {"uncoated": 0.04, "coated": 0.005}
"""What one surface of a lens mirrors of light that comes square to it. Uncoated: ((n - 1) / (n + 1))^2 for
n = 1.5 (Fresnel); coated against reflection: about half a per cent (common practice, no source)."""
CORNERS = {"oval": 2.0, "rounded": 3.0, "square": 6.0}
"""Exponent of the outline |x / a|^n + |y / b|^n = 1."""
SURFACE = Quantity("a share of the light", 0.0, 0.2, slips=((0.01, "per cent"),))


@dataclass(frozen=True)
class Coating(Checked):
    """A word, or what one surface mirrors; kept as a number."""

    def check(self, value: Any) -> float:
        if isinstance(value, str) and value.strip()[:1].isalpha():
            if value in COATINGS:
                return COATINGS[value]
            valid = f"{', '.join(COATINGS)}, or {SURFACE.valid()}"
            raise fault(f"expected {valid}; got {show(value)}{near(value, tuple(COATINGS), 0.4)}")
        return SURFACE.check(value)

    def schema(self) -> dict[str, Any]:
        return {"anyOf": [SURFACE.schema(), {"enum": list(COATINGS)}]}


def _metres(low: float, high: float) -> Quantity:
    return Quantity("metres", low, high, slips=(MILLIMETRES, CENTIMETRES))


class Glasses(Table):
    """Spectacles of no power before both eyes. Sizes by the boxing system (ISO 8624, its words from memory);
    the usual figures are common practice, no source."""

    lens_width: Annotated[float, _metres(0.030, 0.075)] = Field(
        default=0.050, description="metres; width of a lens, the first number inside the temple (50)"
    )
    lens_height: Annotated[float, _metres(0.015, 0.070)] = Field(
        default=0.036, description="metres; height of a lens"
    )
    bridge: Annotated[float, _metres(0.010, 0.035)] = Field(
        default=0.020, description="metres between the lenses, the second number inside the temple (20)"
    )
    shape: Literal["oval", "rounded", "square"] = Field(
        default="rounded", description="outline of the lenses"
    )
    tilt: Annotated[float, Quantity("degrees", -10.0, 30.0)] = Field(
        default=8.0, description="degrees; pantoscopic tilt: how far the lenses look down; usual are 5 to 12"
    )
    wrap: Annotated[float, Quantity("degrees", -5.0, 30.0)] = Field(
        default=0.0, description="degrees; how far each lens is turned outward round the face"
    )
    front_radius: Annotated[float, _metres(0.050, 10.0)] = Field(
        default=0.105, description="metres; radius of the front surface (base curve 5); large is flat"
    )
    vertex_distance: Annotated[float, _metres(0.005, 0.030)] | None = Field(
        default=None,
        description="metres from cornea to lens; without it as near as the face lets it, from 0.012 on",
    )
    rim: Annotated[float, _metres(0.0, 0.012)] = Field(
        default=0.003, description="metres; thickness of the rim, 0 for rimless"
    )
    rim_reflectance: Reflectance = Field(
        default=(0.03, 0.025, 0.02),
        description="reflectance of rim and temples under their polish, 0 to 1, or [r, g, b]",
    )
    lens_reflectance: Annotated[float, Coating()] = Field(
        default=COATINGS["uncoated"],
        description='"uncoated", "coated", or what one surface of a lens mirrors, 0 to 0.2',
    )

    @property
    def corner(self) -> float:
        """Exponent of the lenses' outline."""
        return CORNERS[self.shape]

    @property
    def index(self) -> float:
        """Refractive index whose surface mirrors `lens_reflectance` of light that comes square to it."""
        root = math.sqrt(self.lens_reflectance)
        return (1.0 + root) / (1.0 - root)

    @property
    def mirrors(self) -> float:
        """What both surfaces of a lens mirror of such light, 2 r / (1 + r)."""
        return 2.0 * self.lens_reflectance / (1.0 + self.lens_reflectance)

    def problems(self) -> Iterator[Problem]:
        if 2.0 * self.rim > self.bridge:
            yield (
                ("rim",),
                f"two rims of {plain(self.rim)} metres do not fit into a bridge of {plain(self.bridge)};"
                f" expected at most {plain(0.5 * self.bridge)} metres",
            )
        widest = max(self.lens_width, self.lens_height) / 2.0
        if self.front_radius < 1.2 * widest:
            yield (
                ("front_radius",),
                f"a lens {plain(2.0 * widest)} metres wide does not lie on so small a sphere; expected at"
                f" least {plain(round(1.2 * widest, 4))} metres; got {plain(self.front_radius)}",
            )
