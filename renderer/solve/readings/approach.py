"""Gauss-Newton over scenes traced with the same random numbers: nearer to the readings, step by step."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from renderer.errors import InputError
from renderer.scene.models import Scene
from renderer.solve.readings.assumption import Assumption, Keys
from renderer.solve.readings.estimate import NOTHING, Data, Estimate, Response, estimated
from renderer.solve.readings.metering import Metering
from renderer.solve.readings.observed import logs

SETTLED = 0.1  # of its own error: a step of an amount that is none
AGAIN = 0.5  # of its usual error: from there slopes are traced anew
MOST_STEPS = 8
Watcher = Callable[[str], None]


class Approach:
    """Traces what the steps need: the scene as written, at an amount, and a little to either side."""

    def __init__(
        self,
        scene: Scene,
        free: tuple[Assumption, ...],
        within: float,
        seed: int,
        threads: int | None,
        watch: Watcher | None,
    ) -> None:
        self.scene, self.free, self.seed, self.threads, self.watch = scene, free, seed, threads, watch
        self.traces, self.settled = 0, True
        self.samples: int | None = None
        self.within = within
        self.first = self.metered(scene, "as written")
        self.samples = self.first.samples
        lights = self.first.lights
        self.slopes = np.zeros((len(free), len(self.first.marks), len(lights)))
        for k, it in enumerate(free):
            if it.kind == "output":
                self.slopes[k, :, lights.index(it.light or "")] = 1.0
        self.meter = np.array([float(it.kind == "meter") for it in free])
        self.bent = [k for k, it in enumerate(free) if not it.linear]
        self.response = Response(logs(self.first.levels), self.slopes, self.meter, np.zeros(len(free)))

    def metered(self, scene: Scene, what: str) -> Metering:
        if self.watch:
            self.watch(what)
        self.traces += 1
        return Metering.traced(scene, self.within, self.seed, self.threads, self.samples)

    def scene_at(self, x: np.ndarray, everything: bool = False) -> tuple[Scene, Keys]:
        """The scene with what has to be traced, or `everything`, at its amounts."""
        scene = self.scene
        keys: Keys = {}
        for it, amount in zip(self.free, x, strict=True):
            if amount and (everything or not it.linear):
                keys |= it.keys(scene, float(amount))
                scene = it.of(scene, float(amount))
        return scene, keys

    def solve(self, data: Data) -> tuple[np.ndarray, Estimate]:
        """Steps until none of what is traced moves by more than a tenth of its own error."""
        usual = usual_errors(self.free)
        x, sloped = np.zeros(len(self.free)), None
        for _ in range(MOST_STEPS):
            if sloped is None or np.any(np.abs(x - sloped)[self.bent] > AGAIN * usual[self.bent]):
                self._slope(x)
                sloped = x
            self.response = replace(self.response, slopes=self.slopes, origin=x)
            found = estimated(self.response, data, usual, x)
            step = found.x - x
            if np.all(np.abs(step)[self.bent] <= SETTLED * found.error[self.bent]):
                return found.x, found
            x = self._stepped(x, step, usual)
        self.settled = False
        return found.x, found

    def _stepped(self, x: np.ndarray, step: np.ndarray, usual: np.ndarray) -> np.ndarray:
        """The next place, no more than twice the usual errors away, and nearer where things do not fit;
        the layers there are traced."""
        bent = np.abs(step / usual)[self.bent]
        step = step * min(1.0, 2.0 / max(float(bent.max(initial=0.0)), 1e-9))
        for _ in range(4):
            try:
                scene, _ = self.scene_at(x + step)
            except InputError:
                step = 0.5 * step
                continue
            x = x + step
            levels = logs(self.metered(scene, "a step nearer").levels)
            gains = np.tensordot(x * [it.kind == "output" for it in self.free], self.slopes, axes=1)
            self.response = replace(
                self.response, layers=np.where(levels <= NOTHING, NOTHING, levels + gains)
            )
            return x
        return x

    def _slope(self, x: np.ndarray) -> None:
        """Central differences of every layer's level, half a usual error to either side; one end counts
        alone where the other does not fit."""
        for k in self.bent:
            it, half = self.free[k], 0.5 * self.free[k].usual
            ends: list[np.ndarray] = []
            at: list[float] = []
            for sign, word in ((-1.0, "less"), (1.0, "more"), (0.0, "as it is")):
                if len(ends) == 2:
                    break
                moved = x.copy()
                moved[k] += sign * half
                try:
                    scene, _ = self.scene_at(moved)
                except InputError:
                    continue
                ends.append(self.metered(scene, f"{it.words}, {word}").replicas)
                at.append(float(moved[k]))
            if len(ends) == 2:
                self.slopes[k] = slope_of(ends[0], ends[1]) / (at[1] - at[0])


def slope_of(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """(marks, lights) stops from one to the other, of (replicas, marks, lights) that belong together.

    A difference with a standard error e, by the jackknife, adds e^2 to the mean of its square; many of them
    would pass for knowledge. Each is therefore shrunk by the factor 1 - (e / difference)^2, to nought where
    that is below it.
    source  the positive-part rule of James and Stein, for each difference by itself (from memory)
    """
    n = len(one)
    there = (one.mean(axis=0) > 0.0) & (other.mean(axis=0) > 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        change = np.log2(other.mean(axis=0) / one.mean(axis=0))
        fewer = np.log2((other.sum(axis=0) - other) / (one.sum(axis=0) - one))
        error = np.sqrt((n - 1) / n * ((fewer - fewer.mean(axis=0)) ** 2).sum(axis=0))
        kept = np.maximum(0.0, 1.0 - (error / change) ** 2)
    return np.where(there & np.isfinite(kept) & np.isfinite(change), change * kept, 0.0)


def usual_errors(free: Sequence[Assumption]) -> np.ndarray:
    """(amounts,) before anything is read."""
    return np.array([it.usual for it in free])
