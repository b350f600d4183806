"""Readings from the set laid beside the scene: which assumption is off, how surely, what to expect then.

>>> found = matched(scene, given("readings.csv", scene, lights))
>>> found.matched.settings()
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from renderer.scene.change import changed
from renderer.scene.models import Scene
from renderer.solve.readings.approach import Approach, Watcher, usual_errors
from renderer.solve.readings.assumption import Assumption, Keys
from renderer.solve.readings.estimate import Data, Estimate, Response, estimated
from renderer.solve.readings.fewest import FITS, fewest
from renderer.solve.readings.free import assumptions
from renderer.solve.readings.given import Given
from renderer.solve.readings.metering import Metering
from renderer.solve.readings.observed import data_of, log_levels, used_of
from renderer.solve.readings.told import told

METER_ERROR = 0.1
"""How well a reading repeats [stops]: hand, place and angle of the meter (common practice, no source)."""
MANY, WORST = 4, 3  # readings from which a stray one is looked for, among so many that are furthest off
SURE = 2.0  # standard deviations
TOLD = 0.75  # of its usual error: above that, the readings have said next to nothing of it


@dataclass(frozen=True)
class Found:
    """One assumption after the readings: amount and error in its own measure, values as told."""

    assumption: Assumption
    amount: float
    error: float

    @property
    def off(self) -> bool:
        return abs(self.amount) > SURE * self.error

    @property
    def told(self) -> bool:
        """Whether the readings have made it surer."""
        return self.error < TOLD * self.assumption.usual

    @property
    def before(self) -> float:
        return self.assumption.value(0.0)

    @property
    def after(self) -> float:
        return self.assumption.value(self.amount)

    @property
    def spread(self) -> float:
        """Error of `after`."""
        return self.assumption.spread(self.amount, self.error)

    def as_json(self) -> dict[str, Any]:
        return {
            "name": self.assumption.name,
            "what": self.assumption.words,
            "unit": self.assumption.unit or "1",
            "in_scene": _finite(self.before),
            "estimate": _finite(self.after),
            "error": _finite(self.spread),
            "usual_error": _finite(self.assumption.spread(0.0, self.assumption.usual)),
            "off": self.off,
            "told_by_readings": self.told,
        }


@dataclass(frozen=True)
class Cause:
    """One of the fewest things that explain the readings; instead: what would explain as much in its place"""

    found: Found
    instead: tuple[Found, ...]

    def as_json(self) -> dict[str, Any]:
        return self.found.as_json() | {"or_instead": [it.as_json() for it in self.instead]}


@dataclass(frozen=True)
class Match:
    """before, matched: the meters of the scene as written and with the estimate; estimate: of the amounts of
    `free`; keys: of the scene, by path, with the estimate; unused: a line for each reading that was left out;
    settled: whether the steps came to an end"""

    before: Metering
    matched: Metering
    readings: tuple[Given, ...]
    data: Data
    free: tuple[Assumption, ...]
    estimate: Estimate
    response: Response
    keys: Keys
    unused: tuple[str, ...]
    meter_error: float
    traces: int
    settled: bool
    seed: int

    @property
    def found(self) -> list[Found]:
        x, error = self.estimate.x, self.estimate.error
        return [Found(it, float(x[i]), float(error[i])) for i, it in enumerate(self.free)]

    @property
    def meter(self) -> float:
        """Stops that the meter reads too much."""
        return float(sum(it.amount for it in self.found if it.assumption.kind == "meter"))

    @cached_property
    def expected(self) -> np.ndarray:
        """(n,) the readings to expect of the scene as written, base 2 logarithm."""
        return log_levels(self.before, self.data)

    @cached_property
    def expected_now(self) -> np.ndarray:
        """(n,) of the scene with the estimate, by a meter that is right."""
        return log_levels(self.matched, self.data)

    @property
    def fits(self) -> bool:
        return self.estimate.probability >= FITS

    @cached_property
    def stray(self) -> int | None:
        """The reading without which all others fit; None where all fit, or no single one is to blame."""
        if self.fits or len(self.readings) < MANY:
            return None
        usual = usual_errors(self.free)
        order = np.argsort(-np.abs(self.estimate.left))[:WORST]
        several = []
        for i in map(int, order):
            it = estimated(self.response, self.data.without(i), usual, self.estimate.x)
            several.append((it.probability, i))
        best = max(several)
        return best[1] if best[0] >= FITS else None

    @cached_property
    def fewest(self) -> tuple[Cause, ...] | None:
        """The fewest things that explain the readings (but for a stray one), all else as the scene has it;
        empty where all is as planned within the errors, None where a few do not suffice."""
        data = self.data if self.stray is None else self.data.without(self.stray)
        it = fewest(self.response, data, usual_errors(self.free))
        if not it.fits:
            return None
        return tuple(
            Cause(
                self._found(k, it.estimate, i),
                tuple(self._found(other, estimate, i) for other, estimate in it.instead[i]),
            )
            for i, k in enumerate(it.which)
        )

    def _found(self, k: int, estimate: Estimate, i: int) -> Found:
        return Found(self.free[k], float(estimate.x[i]), float(estimate.error[i]))

    def as_json(self) -> dict[str, Any]:
        it = self.estimate
        return {
            "assumptions": [found.as_json() for found in self.found],
            "correlation": [[_finite(float(value)) for value in row] for row in it.correlation],
            "fit": {
                "chi_square": _finite(it.chi_square),
                "degrees_of_freedom": it.degrees,
                "probability": _finite(it.probability),
                "chi_square_of_readings_as_written": _finite(it.before),
            },
            "readings": [
                {
                    "on": given.on,
                    "mark": given.mark,
                    "as_written": given.text,
                    "line": given.line,
                    "read": _finite(given.level),
                    "error_stops": _finite(float(self.data.sigma[i])),
                    "expected": _finite(2.0 ** float(self.expected[i])),
                    "expected_now": _finite(2.0 ** float(self.expected_now[i])),
                    "left_in_errors": _finite(float(it.left[i])),
                }
                for i, given in enumerate(self.readings)
            ],
            "stray_reading_in_line": None if self.stray is None else self.readings[self.stray].line,
            "fewest_that_explain": [cause.as_json() for cause in self.fewest or ()],
            "not_used": list(self.unused),
            "meter_error_stops": self.meter_error,
            "traces": self.traces,
            "settled": self.settled,
            "seed": self.seed,
        }


def matched(
    scene: Scene,
    readings: Sequence[Given],
    free: Sequence[Assumption] | None = None,
    *,
    meter_error: float = METER_ERROR,
    within: float = 0.01,
    seed: int = 0,
    threads: int | None = None,
    watch: Watcher | None = None,
) -> Match:
    """Estimate what is off, by Gauss-Newton steps over scenes traced with the same random numbers.

    free         what may be off; the usual ones of the scene unless given
    meter_error  how well a reading repeats [stops, one standard deviation]; that of its last third or digit
                 is added
    within       standard error [stops] of the tracing
    raises InputError for a mark that the scene does not have, or where no reading can be used
    """
    free = tuple(assumptions(scene) if free is None else free)
    solver = Approach(scene, free, within, seed, threads, watch)
    used, unused = used_of(readings, solver.first)
    data = data_of(used, solver.first, meter_error)
    x, estimate = solver.solve(data)
    keys = told(scene, solver.scene_at(x, everything=True)[1])
    after = solver.metered(changed(scene, keys) if keys else scene, "as estimated")
    return Match(
        solver.first, after, used, data, free, estimate, solver.response, keys, unused, meter_error,
        solver.traces, solver.settled, seed,
    )  # fmt: skip


def _finite(value: float) -> float | None:
    return float(f"{value:.5g}") if math.isfinite(value) else None
