"""What the light on the face is wanted to be; `[target]` in a scene file. Every key is optional."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from typing import Annotated, Any

from pydantic import Field

from renderer.scene.field import Checked, Quantity, Table, fault, show
from renderer.scene.level import Level
from renderer.scene.name import Name
from renderer.scene.span import Range, RatioSpan, Span

PATTERNS = ("rim", "split", "triangle", "butterfly", "loop", "flat", "under")
STOPS = Quantity("stops", -12.0, 12.0)
RATIO = Quantity("a ratio to 1", 1.0, 1000.0)
MILLIMETRE = Quantity("millimetres", 0.0, 1000.0)
PER_CENT_0_100 = Quantity("per cent", 0.0, 100.0)


@dataclass(frozen=True)
class PatternName(Checked):
    """The name of a shadow pattern, or a list of those that will do; kept as a tuple."""

    def check(self, value: Any) -> Any:
        names = list(value) if isinstance(value, (list, tuple)) else [value]
        if not names:
            raise fault(f"expected one or more of {', '.join(PATTERNS)}; got an empty list")
        for name in names:
            if not isinstance(name, str) or name not in PATTERNS:
                near = get_close_matches(name, PATTERNS, 1) if isinstance(name, str) else []
                hint = f'; did you mean "{near[0]}"?' if near else ""
                raise fault(f"expected one of {', '.join(PATTERNS)}; got {show(name)}{hint}")
        return tuple(names)

    def schema(self) -> dict[str, Any]:
        one = {"type": "string", "enum": list(PATTERNS)}
        return {"anyOf": [one, {"type": "array", "items": one, "minItems": 1}]}


Ratio = Annotated[Range, RatioSpan(RATIO)]
Stops = Annotated[Range, Span(STOPS)]
Limit = Annotated[float, STOPS]


OF_GLASSES = ("glare_pupil_max", "glare_lens_max", "glare_margin_min")
"""Targets that only a sitter with spectacles can meet or miss."""


class Target(Table):
    """Wanted values; those given are judged pass, warn or fail beside the measures."""

    lighting_ratio: Ratio | None = Field(
        default=None, description='(key + fill) : fill, such as 4, "4:1" or [3, 5]'
    )
    key_to_fill: Ratio | None = Field(default=None, description='key : fill, such as 3, "3:1" or [2, 4]')
    pattern: Annotated[tuple[str, ...], PatternName()] | None = Field(
        default=None, description="shadow pattern of the key: " + ", ".join(PATTERNS) + ", or a list of them"
    )
    eye_shade_min: Limit | None = Field(
        default=None, description="stops; least light on the eye re its cheek; the far eye may lie 0.5 lower"
    )
    brow_margin_min: Annotated[float, Quantity("degrees", -90.0, 90.0)] | None = Field(
        default=None, description="degrees; least margin to the brow's cut-off, each eye"
    )
    nose_shadow: Annotated[Range, Span(MILLIMETRE)] | None = Field(
        default=None, description="[low, high] millimetres; length of the nose shadow"
    )
    nose_edge: Annotated[Range, Span(MILLIMETRE)] | None = Field(
        default=None, description="[low, high] millimetres; width of the nose shadow's edge"
    )
    under_chin: Stops | None = Field(
        default=None, description="[low, high] stops; under the chin re the chin's front"
    )
    forehead_max: Limit | None = Field(
        default=None, description="stops; brightest field of the forehead re the key-side cheek"
    )
    evenness_max: Annotated[float, Quantity("stops", 0.0, 12.0)] | None = Field(
        default=None, description="stops; brightest over darkest patch of the face"
    )
    catchlights_max: Annotated[int, Quantity("catchlights", 0, 12, whole=True)] | None = Field(
        default=None, description="most catchlights in an eye"
    )
    second_catchlight_max: Annotated[float, Quantity("stops", -12.0, 0.0)] | None = Field(
        default=None, description="stops; the next brightest catchlight of an eye re its main one, at most"
    )
    catchlight_size: Annotated[Range, Span(PER_CENT_0_100)] | None = Field(
        default=None, description="[low, high] per cent of the iris; width of the main catchlight"
    )
    glare_pupil_max: Annotated[float, PER_CENT_0_100] | None = Field(
        default=None, description="per cent of a pupil that spectacles may cover with glare; usually 0"
    )
    glare_lens_max: Annotated[float, PER_CENT_0_100] | None = Field(
        default=None, description="per cent of a spectacle lens that may show glare; usually 10"
    )
    glare_margin_min: Annotated[float, Quantity("degrees", -10.0, 10.0)] | None = Field(
        default=None, description="degrees that the head may turn or nod before there is glare, at least"
    )
    background: Stops | None = Field(
        default=None, description="[low, high] stops; mean background re the key-side cheek"
    )
    separation_min: Annotated[float, PER_CENT_0_100] | None = Field(
        default=None, description="per cent of the outline that stands half a stop off the background"
    )
    rim: Stops | None = Field(
        default=None, description="[low, high] stops; lit edge of head and hair re the key-side cheek"
    )
    ambient_lift_max: Limit | None = Field(
        default=None, description="stops; what the room gives back of the key, at most"
    )
    level: dict[Name, Level] = Field(
        default={}, description="what the meter at a mark is to read, by the mark's name"
    )
