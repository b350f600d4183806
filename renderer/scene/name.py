"""Names of things in a scene: they become layers, planes of a file and words of a report."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any

from renderer.scene.field import Checked, fault, show

LONGEST = 40
PATTERN = rf"[A-Za-z0-9][A-Za-z0-9 _-]{{0,{LONGEST - 1}}}"
PLANES = ("seen", "distance", "patch", "normal", "albedo")
PLANE_ENDINGS = (" bounced", " arriving", " difference")
"""What the planes of a layers.exr beside the lights' own are called, and how those of lights end
(`renderer/record/plane.py`)."""


@dataclass(frozen=True)
class Naming(Checked):
    """The name of a table: letters, digits, space, _ and -.

    gives_light  it is the name of a layer too, so no other plane's
    """

    gives_light: bool = False

    def check(self, value: Any) -> str:
        if not isinstance(value, str) or not re.fullmatch(PATTERN, value):
            raise fault(
                f"expected a name of at most {LONGEST} letters a to z, digits, spaces, _ and -, the first a"
                " letter or digit"
            )
        if self.gives_light and (value in PLANES or value.endswith(PLANE_ENDINGS)):
            ends = ", ".join(f'"{ending}"' for ending in PLANE_ENDINGS)
            raise fault(
                f"the name {show(value)} is a plane's of layers.exr: expected one that is none of"
                f" {', '.join(PLANES)} and ends in none of {ends}"
            )
        return value

    def schema(self) -> dict[str, Any]:
        planes = f"(?!({'|'.join(PLANES)})$)(?!.*({'|'.join(PLANE_ENDINGS)})$)" if self.gives_light else ""
        return {"type": "string", "pattern": f"^{planes}{PATTERN}$"}


Name = Annotated[str, Naming()]
LightName = Annotated[str, Naming(gives_light=True)]
