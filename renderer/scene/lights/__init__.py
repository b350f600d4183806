"""The family of lights. A new light is one file here and one entry in `FAMILY`.

The discriminated union that reads scene files, the names in error messages and the JSON Schema all
come from this table.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Union, get_args

from pydantic import Field

from renderer.scene.lights.base import Lamp
from renderer.scene.lights.bulb import BulbLight
from renderer.scene.lights.cylinder import CylinderLight
from renderer.scene.lights.diffuser import DiffuserLight
from renderer.scene.lights.disc import DiscLight
from renderer.scene.lights.head import HeadLight
from renderer.scene.lights.panel import PanelLight

FAMILY: tuple[type[Lamp], ...] = (DiscLight, PanelLight, BulbLight, HeadLight, CylinderLight, DiffuserLight)

LIGHTS: dict[str, type[Lamp]] = {get_args(kind.model_fields["source"].annotation)[0]: kind for kind in FAMILY}
"""Each kind of light by the word that `source` gives it."""

if TYPE_CHECKING:
    Light = Lamp
else:
    Light = Annotated[Union[FAMILY], Field(discriminator="source")]  # noqa: UP007
