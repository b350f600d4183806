"""Dimmers that bring every goal into its band, or as near as they go: bounded least squares in stops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from renderer.solve.goal import Goal
from renderer.solve.model import Model

DARK = -10.0  # stops: the lowest dimmer that is tried before a light is switched off (own choice)
STEP = 1e-4  # stops, of the difference quotients
OUTER, INNER, STAY = 10.0, 1.0, 0.01
"""Weights of a miss of the band [margins], of what is aimed at in it, and of a stop away from the start."""
SCAN, STARTS = 512, 6  # mixes that are looked at beforehand; of which so many are followed
SAME = 1e-3  # of the cost: within it a light may as well be off


@dataclass(frozen=True)
class Limits:
    """Dimmers (lights,) that may be set: `low` to `high`; a held light has both at its level."""

    low: np.ndarray
    high: np.ndarray

    @property
    def free(self) -> np.ndarray:
        return np.flatnonzero(self.high > self.low)


@dataclass(frozen=True)
class Problem:
    """Goals under limits; `start` are the dimmers (lights,) as they are."""

    model: Model
    goals: Sequence[Goal]
    limits: Limits
    start: np.ndarray

    def residuals(self, x: np.ndarray) -> np.ndarray:
        """(m, residuals) at stops (m, free): misses, aims, and the way from the start."""
        dims = self.dims(x)
        columns = []
        for goal in self.goals:
            values = self.model.measures[goal.name].values(dims)
            columns += [OUTER * goal.misses(values), INNER * goal.misses(values, goal.aim)]
        away = STAY * (x - self.stops(self.start))
        return np.concatenate([np.stack(columns, axis=1), away], axis=1) if columns else away

    def dims(self, x: np.ndarray) -> np.ndarray:
        """(m, lights) dimmers at stops (m, free)."""
        dims = np.tile(self.limits.low, (len(x), 1))
        free = self.limits.free
        dims[:, free] = np.clip(2.0**x, self.limits.low[free], self.limits.high[free])
        return dims

    def stops(self, dims: np.ndarray) -> np.ndarray:
        """(free,) stops of dimmers (lights,)."""
        with np.errstate(divide="ignore"):
            return np.asarray(np.maximum(np.log2(dims[self.limits.free]), DARK))

    def bounds(self) -> tuple[np.ndarray, np.ndarray]:
        low, high = self.stops(self.limits.low), self.stops(self.limits.high)
        return low, np.maximum(high, low + 1e-6)

    def cost(self, x: np.ndarray) -> np.ndarray:
        """(m,) sums of squares."""
        return np.asarray((self.residuals(x) ** 2).sum(axis=1))


def solve(problem: Problem, near: np.ndarray | None = None) -> np.ndarray:
    """(lights,) dimmers of least cost.

    near  dimmers close to the answer, from where alone it is sought; otherwise a fixed set of mixes is
          looked at and the best of them followed. The same problem gives the same answer.
    """
    from scipy.optimize import least_squares

    low, high = problem.bounds()
    if len(low) == 0:
        return problem.limits.low.copy()

    def slope(x: np.ndarray) -> np.ndarray:
        step = np.where(x + STEP > high, -STEP, STEP)
        points = np.concatenate([x[None], x + np.diag(step)])
        found = problem.residuals(points)
        return np.asarray(((found[1:] - found[0]) / step[:, None]).T)

    best, least = np.empty(0), np.inf
    for begin in [problem.stops(near)] if near is not None else _starts(problem, low, high):
        inside = np.clip(begin, low + 1e-9, high - 1e-9)
        end = least_squares(
            lambda x: problem.residuals(x[None])[0], inside, jac=slope, bounds=(low, high), x_scale=1.0
        ).x
        cost = float(problem.cost(end[None])[0])
        if cost < least * (1.0 - 1e-9):
            best, least = end, cost
    return _switched_off(problem, problem.dims(best[None])[0])


def _starts(problem: Problem, low: np.ndarray, high: np.ndarray) -> list[np.ndarray]:
    """The dimmers as they are, all at their highest, and the best of a fixed scan."""
    from scipy.stats import qmc

    count = len(low)
    points = low + (high - low) * qmc.Sobol(count, seed=1).random(SCAN) ** 0.5  # more of them near full
    order = np.argsort(problem.cost(points), kind="stable")[:STARTS]
    return [problem.stops(problem.start), high.copy(), *points[order]]


def _switched_off(problem: Problem, dims: np.ndarray) -> np.ndarray:
    """Lights that are next to dark switched off, where nothing is lost by it."""
    free = problem.limits.free
    for i in free:
        if problem.limits.low[i] == 0.0 and 0.0 < dims[i] < 2.0 ** (DARK + 2.0):
            dark = dims.copy()
            dark[i] = 0.0
            if _misses(problem, dark) <= _misses(problem, dims) + SAME:
                dims = dark
    return dims


def _misses(problem: Problem, dims: np.ndarray) -> float:
    return sum(
        float(goal.misses(problem.model.measures[goal.name].values(dims[None]))[0] ** 2)
        for goal in problem.goals
    )


def uncertainty(problem: Problem, dims: np.ndarray) -> np.ndarray:
    """(lights,) standard error of the dimmers in stops, from the samples of the trace.

    The problem is solved again with each replica left out, and the spread taken by the jackknife
    (Efron & Tibshirani, An Introduction to the Bootstrap, 1993, ch. 11). 0 of a held light and of one that
    stays at its limit; nan without replicas.
    """
    n = problem.model.replicas
    if n < 2:
        return np.full(len(dims), np.nan)
    found = []
    for i in range(n):
        model = problem.model.leaving_out(i)
        found.append(solve(Problem(model, problem.goals, problem.limits, problem.start), near=dims))
    with np.errstate(divide="ignore"):
        stops = np.maximum(np.log2(np.array(found)), DARK)
    spread = ((stops - stops.mean(axis=0)) ** 2).sum(axis=0)
    return np.asarray(np.sqrt((n - 1) / n * spread))
