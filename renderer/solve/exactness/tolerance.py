"""How exactly a scene has to be rigged: what each thing that is off does, and whether the targets then hold.

>>> toleranced(load("scene.toml"), accuracy=Accuracy(length=0.05, angle=3.0)).odds
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import count
from typing import Any

from renderer.errors import InputError
from renderer.scene.models import Scene
from renderer.solve.exactness.accuracy import Accuracy
from renderer.solve.exactness.probability import Odds, deviation, odds
from renderer.solve.exactness.slope import Sensitivity, sensitivities
from renderer.solve.exactness.snapshot import Snapshot
from renderer.solve.exactness.swap import Swapped, others, swaps
from renderer.solve.goal import Goal, Goals
from renderer.solve.model import Model
from renderer.solve.motion import motions

# What is shown where a scene states no target, the first that are there.
USUAL = (
    *("level.face", "level.key_cheek", "lighting_ratio", "level.back_wall", "nose_shadow"),
    *("eye_shade.sitter_left", "eye_shade.sitter_right"),
)
Watcher = Callable[[str], None]


@dataclass(frozen=True)
class Tolerance:
    """goals  the scene's targets that are numbers; odds None without any
    most     the motion that most is lost by: (name, part of all variance in margins)
    swapped  empty where other sitters were not asked for
    """

    base: Snapshot
    goals: tuple[Goal, ...]
    sensitivities: tuple[Sensitivity, ...]
    accuracy: Accuracy
    odds: Odds | None
    swapped: tuple[Swapped, ...]
    traces: int
    within: float
    seed: int

    def shown(self) -> list[str]:
        """Measures for a table: those with a target, or the usual ones."""
        names = [goal.name for goal in self.goals if goal.name in self.base.values]
        return names or [name for name in USUAL if name in self.base.values]

    def ranking(self) -> list[tuple[str, float]]:
        """Motions by what they weigh at the crew's accuracy, the heaviest first, as parts of 1."""
        if self.odds is not None and any(self.odds.weight.values()):
            found = self.odds.weight
        else:
            names = [name for name in self.shown() if self.base.values[name].unit == "stops"]
            raw = {
                it.motion.name: sum(
                    (it.slopes[name].change * deviation(it, self.accuracy)) ** 2
                    for name in names
                    if name in it.slopes
                )
                for it in self.sensitivities
            }
            whole = sum(raw.values()) or 1.0
            found = {name: value / whole for name, value in raw.items()}
        return sorted(found.items(), key=lambda item: -item[1])

    def as_json(self) -> dict[str, Any]:
        return {
            "rigging": {
                "place_m": self.accuracy.length,
                "turn_deg": self.accuracy.angle,
                "dimmer_percent": self.accuracy.dimmer,
                "sitter_m": self.accuracy.sitter,
            },
            "measures": {
                name: {"value": float(f"{it.value:.5g}"), "error": float(f"{it.error:.3g}"), "unit": it.unit}
                for name, it in self.base.values.items()
                if math.isfinite(it.value) and math.isfinite(it.error)
            },
            "sensitivities": [it.as_json() for it in self.sensitivities],
            "probability": self.odds.as_json() if self.odds else None,
            "measure_first": [[name, round(part, 4)] for name, part in self.ranking()],
            "other_sitters": [it.as_json() for it in self.swapped],
            "traces": self.traces,
            "standard_error_stops": self.within,
            "seed": self.seed,
        }


def toleranced(
    scene: Scene,
    accuracy: Accuracy | None = None,
    *,
    within: float = 0.02,
    seed: int = 0,
    threads: int | None = None,
    swap: bool = True,
    watch: Watcher | None = None,
) -> Tolerance:
    """Trace every light a little off either way, and other sitters in the chair.

    accuracy  of the crew; 5 cm and 3 degrees unless given
    swap      also other heights, heads and skins, spectacles on or off
    raises InputError for a scene without anything to move
    """
    accuracy = accuracy or Accuracy()
    if not scene.light:
        raise InputError("nothing to move: the scene has no light of its own; expected a [light.NAME]")
    planned = 1 + 2 * sum(1 for _ in motions(scene)) + (sum(1 for _ in others(scene)) if swap else 0)
    watch = _counted(watch, planned) if watch else None
    if watch:
        watch("as written")
    base = Snapshot.traced(scene, within, seed, threads)
    model = Model.of(base.preview)
    goals = _goals(base, model)
    found = tuple(sensitivities(scene, base, within, seed, threads, watch))
    other = tuple(swaps(scene, base, within, seed, threads, watch)) if swap and base.preview.face else ()
    traces = 1 + 2 * sum(it.motion.kind != "dimmer" for it in found) + max(0, len(other) - 1)
    return Tolerance(
        base, goals, found, accuracy, odds(base, goals, found, accuracy, seed), other, traces, within, seed
    )


def _counted(watch: Watcher, planned: int) -> Watcher:
    """Says before each scene how many there are, so that the time left can be guessed."""
    numbers = count(1)
    return lambda text: watch(f"scene {next(numbers)} of {planned}: {text}")


def _goals(base: Snapshot, model: Model) -> tuple[Goal, ...]:
    """Goals that dimmers move, and the other targets that are numbers."""
    found = Goals.of(base.preview, model)
    target = base.preview.scene.target
    if target is None:
        return ()
    from renderer.meter.face.verdict import wanted_of

    more = []
    for name, (finding, _) in found.fixed.items():
        wanted = wanted_of(name, finding, target)
        if wanted is not None:
            more.append(Goal.of(name, wanted))
    return (*found.solved, *more)
