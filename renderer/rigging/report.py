"""Everything that is said about a scene's rig: as figures, as data, as lines."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from renderer.errors import InputError
from renderer.rigging import words
from renderer.rigging.clearance import Clearance, clearances
from renderer.rigging.gaze import CONE, Seen, brightest, even_field, seen
from renderer.rigging.notice import always, notices
from renderer.rigging.stand import Stand, stand
from renderer.rigging.supply import Draw, draws, unknown
from renderer.scene.models import Scene

LUX_LIMIT = 2e5


@dataclass(frozen=True)
class Rig:
    """Figures of a scene's stands, circuits, heights and of what the sitter looks into.

    eye_lux   lux at the sitter's eye, as a meter gives it; None where it was not told
    notices   what to look at twice, a line each
    """

    stands: dict[str, Stand]
    circuits: dict[str, Draw]
    uncounted: list[str]
    clearances: dict[str, Clearance]
    seen: dict[str, Seen]
    eye_lux: float | None
    notices: tuple[str, ...]

    @property
    def brightest(self) -> str | None:
        """The brightest source within 30 degrees of the line of sight."""
        return brightest(self.seen)

    def as_data(self) -> dict[str, Any]:
        """Plain data for JSON; infinite margins, where nothing tips a stand, are None."""
        return {
            "stands": {name: _finite(asdict(it)) for name, it in self.stands.items()},
            "circuits": {name: asdict(it) | {"over": it.over} for name, it in self.circuits.items()},
            "uncounted": self.uncounted,
            "clearances": {name: asdict(it) for name, it in self.clearances.items()},
            "eye": {
                "lux": self.eye_lux,
                "even_field_cd_m2": None if self.eye_lux is None else even_field(self.eye_lux),
                "cone_degrees": CONE,
                "brightest_in_cone": self.brightest,
                "sources": {name: asdict(it) for name, it in self.seen.items()},
            },
            "units": "metres, kilograms, newtons, newton metres, watts, amperes, cd/m2, lux, degrees",
            "notices": list(self.notices),
            "who_decides": list(always()),
        }

    def lines(self, scene: Scene) -> Iterator[str]:
        """As a person reads it, at most 108 characters a line."""
        yield f"Rig of: {scene.title or 'a scene without a title'}"
        yield ""
        for name, found in self.stands.items():
            yield from words.of_stand(name, scene.support[name], found)
        if not self.stands:
            yield from words.row("stands", "the scene has no [support.NAME]; nothing is said of stands")
        for name, draw in self.circuits.items():
            yield from words.of_circuit(name, scene.circuit[name], draw)
        if not self.circuits:
            yield from words.row("circuits", "the scene has no [circuit.NAME]; nothing is said of current")
        elif self.uncounted:
            yield from words.row("uncounted", f"{'; '.join(self.uncounted)}: in no circuit's sum")
        yield from words.of_heights(self.clearances)
        yield from words.of_eye(self.seen, self.brightest, self.eye_lux)
        yield ""
        for text in self.notices:
            yield from words.hung("Look twice: ", text)
        for text in always():
            yield from words.hung("Always: ", text)


def rig(scene: Scene, eye_lux: float | None = None) -> Rig:
    """The figures of a scene. Raises InputError for an `eye_lux` [lux] that cannot be."""
    if eye_lux is not None and not 0.0 <= eye_lux <= LUX_LIMIT:
        raise InputError(f"--eye-lux: expected lux from 0 to {LUX_LIMIT:g}; got {eye_lux:g}")
    stands = {name: stand(name, support) for name, support in scene.support.items()}
    circuits, heights, in_view = draws(scene), clearances(scene), seen(scene)
    found = notices(scene, stands, circuits, heights)
    return Rig(stands, circuits, unknown(scene), heights, in_view, eye_lux, tuple(found))


def _finite(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _finite(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(inner) for inner in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
