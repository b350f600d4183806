"""How each measure goes with each thing that may be off: central differences."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from renderer.errors import InputError
from renderer.scene.models import Scene
from renderer.solve.exactness.snapshot import Snapshot, Value, difference
from renderer.solve.model import Model
from renderer.solve.motion import DIM, Motion, motions

SURE = 2.0  # standard errors from which a difference is told from nothing
Watcher = Callable[[str], None]


@dataclass(frozen=True)
class Slope:
    """Of one measure with one motion.

    change  over the whole of `per`, from half of it below to half of it above, +- error
    bend    how far the middle of both ends lies over the value between them: 0 on a straight line
    paired  whether the error is of replicas that belong together
    """

    change: float
    error: float
    bend: float
    unit: str
    paired: bool

    @property
    def sure(self) -> bool:
        return abs(self.change) > SURE * self.error

    def as_json(self) -> dict[str, Any]:
        return {
            "change": _finite(self.change),
            "error": _finite(self.error),
            "error_of": "paired replicas" if self.paired else "both ends combined",
            "unit": self.unit,
            "bend": _finite(self.bend),
            "significant": self.sure,
        }


@dataclass(frozen=True)
class Sensitivity:
    """One motion. slopes by measure; turns: measures in words that change at an end, as "loop -> mixed";
    ends: how many of its two ends could be traced; failed: why not"""

    motion: Motion
    slopes: dict[str, Slope]
    turns: dict[str, str] = field(default_factory=dict)
    failed: str = ""

    def as_json(self) -> dict[str, Any]:
        motion = self.motion
        return {
            "what": motion.name,
            "per": motion.per,
            "unit": motion.unit,
            "measures": {name: slope.as_json() for name, slope in self.slopes.items()},
            "changes_in_words": self.turns,
            "not_traced": self.failed,
        }


def sensitivities(
    scene: Scene,
    base: Snapshot,
    within: float,
    seed: int,
    threads: int | None,
    watch: Watcher | None = None,
) -> Iterator[Sensitivity]:
    """Every motion, each traced half of its `per` either way; dimmers by the model, without tracing."""
    for motion in motions(scene):
        ends: list[Snapshot | None] = []
        failed = ""
        for sign in (-1.0, 1.0):
            if watch:
                watch(f"{motion.name} {sign * 0.5 * motion.per:+g} {motion.unit}")
            try:
                made = motion.of(scene, sign * 0.5 * motion.per)
                ends.append(Snapshot.traced(made, within, seed, threads))
            except InputError as wrong:
                ends.append(None)
                failed = wrong.lines[0].split(": ", 2)[-1]
        yield _between(motion, base, ends[0], ends[1], failed)
    yield from _dimmers(base)


def _between(
    motion: Motion, base: Snapshot, low: Snapshot | None, high: Snapshot | None, failed: str
) -> Sensitivity:
    """One end alone counts twice over."""
    factor = 1.0 if low is not None and high is not None else 2.0
    first, last = low or base, high or base
    slopes = {}
    for name, middle in base.values.items():
        if name not in first.values or name not in last.values:
            continue
        one, other = first.values[name], last.values[name]
        change, error, paired = difference(one, other)
        bend = 0.5 * (one.value + other.value) - middle.value
        if math.isfinite(change):
            slopes[name] = Slope(factor * change, factor * error, bend, middle.unit, paired)
    turns = {}
    for name, word in base.words.items():
        for end, sign in ((first, -0.5), (last, 0.5)):
            if end.words.get(name, word) != word:
                turns[name] = f"{word} -> {end.words[name]} at {sign * motion.per:+g} {motion.unit}"
    return Sensitivity(motion, slopes if first is not last else {}, turns, failed)


def _dimmers(base: Snapshot) -> Iterator[Sensitivity]:
    """Each dimmer 5 per cent of its level up, from half below to half above."""
    model = Model.of(base.preview)
    for i, name in enumerate(model.lights):
        if model.dims[i] == 0.0:
            continue
        ends = np.tile(model.dims, (2, 1))
        ends[:, i] *= 1.0 + 0.005 * DIM * np.array([-1.0, 1.0])
        slopes = {}
        for measure, middle in base.values.items():
            if measure not in model.measures:
                continue
            found = [_value(model, measure, dims, middle.unit) for dims in ends]
            change, error, _ = difference(found[0], found[1])
            if math.isfinite(change):
                bend = 0.5 * (found[0].value + found[1].value) - middle.value
                slopes[measure] = Slope(change, error, bend, middle.unit, found[0].left_out is not None)
        yield Sensitivity(Motion(f"{name}, dimmer", DIM, "%", "dimmer", lambda scene, _: scene), slopes)


def _value(model: Model, name: str, dims: np.ndarray, unit: str) -> Value:
    measure = model.measures[name]
    value, left = float(measure.values(dims[None])[0]), measure.left_out(dims)
    if measure.unit == "x:1":
        with np.errstate(divide="ignore"):
            value, left = float(np.log2(value)), None if left is None else np.log2(left)
    return Value(value, 0.0, unit, left)


def _finite(value: float) -> float | None:
    return float(f"{value:.5g}") if math.isfinite(value) else None
