"""Dimmers for a scene's targets: what they are to be, what comes of them, and why not more.

>>> found = balanced(Preview.trace(load("scene.toml")))
>>> found.preview.numbers()
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from renderer.meter.face import Finding
from renderer.meter.face.report import value_words
from renderer.meter.face.verdict import Verdict
from renderer.meter.numbers import Numbers
from renderer.preview import Preview
from renderer.solve.check import check
from renderer.solve.dimmers.ceiling import Ceiling, ceiling
from renderer.solve.dimmers.dimmer import Limits, Problem, solve, uncertainty
from renderer.solve.dimmers.reach import Reach, at_odds, reach
from renderer.solve.goal import Goals, words_of
from renderer.solve.model import Model
from renderer.units import t_stop_in_thirds

RATIOS = ("lighting_ratio", "key_to_fill")
NUDGE = 1e-6  # margins: the solver's own slack


@dataclass(frozen=True)
class Fader:
    """One light: dimmers before and after, and the standard error of the latter in stops.

    held  it was not to be moved
    """

    light: str
    before: float
    after: float
    error: float
    held: bool

    @property
    def stops(self) -> float:
        """From before to after; nan where one of them is dark."""
        return math.log2(self.after / self.before) if min(self.before, self.after) > 0.0 else math.nan

    def as_json(self) -> dict[str, Any]:
        return {
            "light": self.light,
            "before": round(self.before, 5),
            "after": round(self.after, 5),
            "change_stops": _finite(self.stops),
            "error_stops": _finite(self.error),
            "held": self.held,
        }


@dataclass(frozen=True)
class Outcome:
    """One target: what was found before and after, how it is judged, and, where it is missed, why.

    shown    before and after as a person reads them
    reach    what dimmers alone can make of the measure; None where it is met or no dimmer moves it
    alone    whether dimmers could meet it, were it the only target
    at_odds  other targets; without any one of them it would be met
    """

    name: str
    before: Finding
    after: Finding
    verdict: Verdict
    shown: tuple[str, str]
    reach: Reach | None = None
    alone: bool = False
    at_odds: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        return words_of(self.name)

    def as_json(self) -> dict[str, Any]:
        data: dict[str, Any] = {
            "target": self.name,
            "before": self.before.as_json(),
            "after": self.after.as_json(),
        }
        data |= self.verdict.as_json()
        if self.reach is not None:
            data["dimmers_reach"] = [_finite(self.reach.low), _finite(self.reach.high)]
            data["could_be_met_alone"] = self.alone
            data["at_odds_with"] = list(self.at_odds)
        return data


@dataclass(frozen=True)
class Balance:
    """preview  in the solved mix; missing: a line for each target that nothing answers"""

    preview: Preview
    faders: tuple[Fader, ...]
    outcomes: tuple[Outcome, ...]
    missing: tuple[str, ...]
    ceiling: Ceiling | None = None

    @property
    def met(self) -> bool:
        """Whether every target passes."""
        return all(it.verdict.result == "pass" for it in self.outcomes) and not self.missing

    def dims(self) -> dict[str, float]:
        return {fader.light: fader.after for fader in self.faders}

    def as_json(self) -> dict[str, Any]:
        return {
            "met": self.met,
            "lights": [fader.as_json() for fader in self.faders],
            "targets": [outcome.as_json() for outcome in self.outcomes],
            "not_judged": list(self.missing),
            "highest_ratio_of_the_key_alone": self.ceiling.as_json() if self.ceiling else None,
        }


def balanced(
    preview: Preview,
    hold: Collection[str] = (),
    limit: Mapping[str, tuple[float, float]] | None = None,
    free: Collection[str] = (),
) -> Balance:
    """Solve the scene's targets for its dimmers; traces nothing.

    hold   lights that stay as they are
    limit  lowest and highest dimmer of a light; 0 to 1 unless given
    free   windows, or the room's own light, that can be dimmed (by gels or blinds): otherwise they are held
    raises InputError for a scene without targets, a name that is no light, or limits that cannot be
    """
    limit = limit or {}
    names = preview.layers.mix.names()
    check(names, preview.scene.target is not None, hold, limit, free)
    model = Model.of(preview)
    fixed = {name for name in names if name not in preview.scene.light and name not in free}
    limits = limits_of(model, {*hold, *(fixed - limit.keys())}, limit)
    goals = Goals.of(preview, model)
    problem = Problem(model, goals.solved, limits, model.dims)
    dims = solve(problem)
    error = uncertainty(problem, dims)
    faders = tuple(
        Fader(name, float(model.dims[i]), float(dims[i]), float(error[i]), i not in limits.free)
        for i, name in enumerate(names)
    )
    after = preview.mixed(dim=dict(zip(names, (float(d) for d in dims), strict=True)))
    outcomes = [_outcome(goal_name, preview, after) for goal_name in (goal.name for goal in goals.solved)]
    outcomes = [_explained(it, problem, dims) for it in outcomes]
    for name, (finding, verdict) in goals.fixed.items():
        outcomes.append(Outcome(name, finding, finding, verdict, (value_words(finding),) * 2))
    return Balance(after, faders, tuple(outcomes), goals.missing)


def _outcome(name: str, before: Preview, after: Preview) -> Outcome:
    was, now = before.numbers(), after.numbers()
    finding = now.named().get(name) or Finding(math.nan, math.nan, "", "not there in this mix")
    verdict = now.verdicts().get(name) or Verdict("fail", "", "it has no value in this mix", math.nan)
    before_it = was.named().get(name) or Finding(math.nan, math.nan, "", "not there in this mix")
    shown = tuple(_shown(name, numbers, it) for numbers, it in ((was, before_it), (now, finding)))
    return Outcome(name, before_it, finding, verdict, (shown[0], shown[1]))


def _shown(name: str, numbers: Numbers, finding: Finding) -> str:
    """A value in words; of a level, also what the meter shows."""
    if isinstance(finding.value, float) and math.isnan(finding.value):
        return "nothing there"
    words = value_words(finding)
    if not name.startswith("level."):
        return words
    mark = numbers.marks[name.removeprefix("level.")]
    reads = f"{t_stop_in_thirds(mark.t_stop.value)}, {mark.level.value:.3g} {mark.level.unit}"
    return f"{words.removesuffix(' stops')} ({reads})"


def _explained(outcome: Outcome, problem: Problem, dims: np.ndarray) -> Outcome:
    """With the reason, where it is missed."""
    goal = next(it for it in problem.goals if it.name == outcome.name)
    if abs(float(goal.misses(problem.model.measures[goal.name].values(dims[None]))[0])) <= NUDGE:
        return outcome
    can = reach(problem.model, goal.name, problem.limits)
    low, high = (float(goal.scaled(np.array([value]))[0]) for value in (can.low, can.high))
    alone = low <= goal.wanted.high and high >= goal.wanted.low
    odds = tuple(words_of(other.name) for other in at_odds(problem, goal)) if alone else ()
    return replace(outcome, reach=can, alone=alone, at_odds=odds)


def limits_of(model: Model, held: Collection[str], limit: Mapping[str, tuple[float, float]]) -> Limits:
    """0 to 1 of every light but those held and those with limits of their own."""
    low, high = np.zeros(len(model.lights)), np.ones(len(model.lights))
    for i, name in enumerate(model.lights):
        if name in held:
            low[i] = high[i] = model.dims[i]
        elif name in limit:
            low[i], high[i] = limit[name]
    return Limits(low, high)


def with_ceiling(found: Balance, seed: int = 0, threads: int | None = None, always: bool = False) -> Balance:
    """With the ceiling of contrast, where a ratio is missed from below, or `always`; traces anew."""
    low = [it for it in found.outcomes if it.name in RATIOS and it.verdict.miss < 0.0]
    if not low and not always:
        return found
    target = found.preview.scene.target
    wanted = target.lighting_ratio if target is not None else None
    limit = ceiling(found.preview.scene, seed, threads, wanted[0] if wanted else math.inf)
    return replace(found, ceiling=limit)


def _finite(value: float) -> float | None:
    return round(value, 4) if math.isfinite(value) else None
