"""The probability that all targets hold for a crew's accuracy: normal errors on the straight-line model."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from renderer.solve.exactness.accuracy import Accuracy
from renderer.solve.exactness.slope import Sensitivity
from renderer.solve.exactness.snapshot import Snapshot
from renderer.solve.goal import Goal, words_of

DRAWS = 100_000
OFF = 0.5  # margins: from here on the straight line is said to be off


@dataclass(frozen=True)
class Odds:
    """Of all targets, +- the standard error of so many draws; and of each by name.

    spread  standard deviation of each measure, in its unit (ratios in stops)
    weight  part of all the variance (in margins) that comes of each motion
    bend    (target, motion, margins): where the straight line is most off at one standard deviation
    """

    all: float
    error: float
    each: dict[str, float]
    spread: dict[str, float]
    weight: dict[str, float]
    bend: tuple[str, str, float] | None

    def as_json(self) -> dict[str, Any]:
        return {
            "all_targets": round(self.all, 4),
            "error": round(self.error, 5),
            "each": {name: round(value, 4) for name, value in self.each.items()},
            "standard_deviation": {name: round(value, 4) for name, value in self.spread.items()},
            "share_of_variance": {name: round(value, 4) for name, value in self.weight.items()},
            "model": "straight lines through the traced ends; normal errors, each independent of the others",
            "straight_line_most_off": None
            if self.bend is None
            else {"target": self.bend[0], "with": self.bend[1], "margins": round(self.bend[2], 3)},
        }


def deviation(it: Sensitivity, accuracy: Accuracy) -> float:
    """Standard deviation of a motion in parts of its `per`."""
    off = {
        "length": accuracy.length,
        "angle": accuracy.angle,
        "dimmer": accuracy.dimmer,
        "sitter": accuracy.sitter,
    }[it.motion.kind]
    return off / it.motion.reach / it.motion.per


def odds(
    base: Snapshot, goals: Sequence[Goal], found: Sequence[Sensitivity], accuracy: Accuracy, seed: int = 0
) -> Odds | None:
    """None without a target that is a number."""
    goals = [goal for goal in goals if goal.name in base.values]
    if not goals:
        return None
    sigma = np.array([deviation(it, accuracy) for it in found])
    slopes = np.array([[_change(it, goal) for it in found] for goal in goals])  # goals, motions
    centre = np.array([base.values[goal.name].value for goal in goals])
    low, high = (np.array([getattr(goal.wanted, end) for goal in goals]) for end in ("low", "high"))
    draws = np.random.default_rng(seed).standard_normal((DRAWS, len(found)))
    values = centre + (draws * sigma) @ slopes.T
    holds = (values >= low) & (values <= high)
    together = float(holds.all(axis=1).mean())
    margins = np.array([goal.margin for goal in goals])
    variance = ((slopes * sigma) ** 2 / margins[:, None] ** 2).sum(axis=0)
    whole = float(variance.sum())
    spread = np.sqrt(((slopes * sigma) ** 2).sum(axis=1))
    return Odds(
        together,
        math.sqrt(together * (1.0 - together) / DRAWS),
        {goal.name: float(holds[:, i].mean()) for i, goal in enumerate(goals)},
        {goal.name: float(spread[i]) for i, goal in enumerate(goals)},
        {it.motion.name: float(variance[i]) / whole if whole > 0.0 else 0.0 for i, it in enumerate(found)},
        _most_bent(goals, found, sigma),
    )


def _change(it: Sensitivity, goal: Goal) -> float:
    slope = it.slopes.get(goal.name)
    return slope.change if slope is not None and math.isfinite(slope.change) else 0.0


def _most_bent(
    goals: Sequence[Goal], found: Sequence[Sensitivity], sigma: np.ndarray
) -> tuple[str, str, float] | None:
    """A parabola through both ends and the middle, at one standard deviation, less its straight part."""
    worst: tuple[str, str, float] | None = None
    for goal in goals:
        for it, deviated in zip(found, sigma, strict=True):
            slope = it.slopes.get(goal.name)
            if slope is None or not math.isfinite(slope.bend) or abs(slope.bend) < slope.error:
                continue
            off = abs(slope.bend) * (2.0 * float(deviated)) ** 2 / goal.margin
            if worst is None or off > worst[2]:
                worst = (words_of(goal.name), it.motion.name, off)
    return worst
