"""How exactly a crew rigs, in words: `5 cm, 3 deg, 5 %, sitter 3 cm`; each one standard deviation."""

from __future__ import annotations

import re
from dataclasses import dataclass

from renderer.errors import InputError

METRES = {"cm": 0.01, "mm": 0.001, "m": 1.0}
MOST = {"length": 1.0, "angle": 45.0, "dimmer": 50.0, "sitter": 0.3}
EXAMPLE = "5 cm, 3 deg, 5 %, sitter 3 cm"


@dataclass(frozen=True)
class Accuracy:
    """Standard deviations: of places [m, each of distance, round and height], of where a light is turned
    to [deg], of a dimmer [% of its level], of the height of the sitter's eyes [m]."""

    length: float = 0.05
    angle: float = 3.0
    dimmer: float = 0.0
    sitter: float = 0.0

    def words(self) -> str:
        parts = [f"{100 * self.length:g} cm", f"{self.angle:g} deg"]
        parts += [f"{self.dimmer:g} %"] if self.dimmer else []
        parts += [f"sitter {100 * self.sitter:g} cm"] if self.sitter else []
        return ", ".join(parts)


def accuracy_of(text: str) -> Accuracy:
    """What a person wrote; what is not named is exact. Raises InputError."""
    found: dict[str, float] = {}
    for part in text.split(","):
        words = re.fullmatch(r"\s*(sitter\s+)?(\d+(?:\.\d+)?)\s*(cm|mm|m|deg|degrees|%)\s*", part)
        if words is None or (words[1] and words[3] not in METRES):
            raise InputError(
                f"--rigging {text}: cannot read \"{part.strip()}\"; expected such as '{EXAMPLE}'"
            )
        kind = (
            "sitter"
            if words[1]
            else {"%": "dimmer", "deg": "angle", "degrees": "angle"}.get(words[3], "length")
        )
        value = float(words[2]) * METRES.get(words[3], 1.0)
        if kind in found:
            raise InputError(f'--rigging {text}: "{part.strip()}" says it a second time')
        if value > MOST[kind]:
            raise InputError(
                f'--rigging {text}: "{part.strip()}" is no accuracy; expected up to {_most(kind)}'
            )
        found[kind] = value
    return Accuracy(**{kind: found.get(kind, 0.0) for kind in MOST})


def _most(kind: str) -> str:
    return {"length": "1 m", "angle": "45 deg", "dimmer": "50 %", "sitter": "30 cm"}[kind]
