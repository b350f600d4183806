"""Why a target cannot be had: out of the reach of the dimmers, or at odds with another target."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from renderer.solve.dimmers.dimmer import Limits, Problem, solve
from renderer.solve.goal import Goal
from renderer.solve.model import Model

MOST_CORNERS = 12  # lights of which every combination of lowest and highest is looked at
SCAN = 2048
MET = 1e-3  # margins that a solver may leave


@dataclass(frozen=True)
class Reach:
    """What dimmers can make of one measure, all else disregarded: `low` to `high`, in its own unit."""

    low: float
    high: float


def reach(model: Model, name: str, limits: Limits) -> Reach:
    """The range of a measure over all dimmers.

    A quotient of two sums of light with weights >= 0 is quasilinear in the dimmers, so its extremes lie
    where each is at its lowest or highest (Boyd & Vandenberghe, Convex Optimization, 2004, 3.4); levels,
    ratios and shades are such. For the others a scan is looked at as well.
    """
    free = limits.free
    points = [limits.high]
    if len(free) <= MOST_CORNERS:
        for corner in product((0, 1), repeat=len(free)):
            at = limits.low.copy()
            at[free] = np.where(np.array(corner, int) == 1, limits.high[free], limits.low[free])
            points.append(at)
    rng = np.random.default_rng(1)
    scan = limits.low + (limits.high - limits.low) * rng.random((SCAN, len(limits.low))) ** 2
    values = model.measures[name].values(np.concatenate([np.array(points), scan]))
    values = values[~np.isnan(values)]
    if len(values) == 0:
        return Reach(float("nan"), float("nan"))
    return Reach(float(values.min()), float(values.max()))


def at_odds(problem: Problem, missed: Goal) -> list[Goal]:
    """Other goals of which giving up any one would let the missed one be met."""
    found = []
    for other in problem.goals:
        if other is missed:
            continue
        rest = replace(problem, goals=[goal for goal in problem.goals if goal is not other])
        dims = solve(rest)
        if abs(float(missed.misses(problem.model.measures[missed.name].values(dims[None]))[0])) < MET:
            found.append(other)
    return found
