"""The place of one light or card for a scene's targets, sought in a box from coarse to fine.

Every place is traced with the same random numbers, so that what differs between two of them is the place,
and in each the dimmers are solved too. The cost of a place is the sum of its squared misses.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from renderer.errors import InputError
from renderer.meter.face.verdict import wanted_of
from renderer.preview import Preview
from renderer.scene.models import Scene
from renderer.scene.target import Target
from renderer.solve.check import check
from renderer.solve.dimmers.balance import Balance, balanced, limits_of
from renderer.solve.dimmers.dimmer import INNER, OUTER, Problem, solve
from renderer.solve.goal import Goal, Goals
from renderer.solve.model import Model
from renderer.solve.move import Spot, placing, spot_of
from renderer.solve.places.box import Box
from renderer.solve.places.hang import hung
from renderer.solve.size import needs_picture, sized
from renderer.solve.whole import whole_trace

COARSE = {1: 9, 2: 16, 3: 24}  # places of the first round, by the number of open axes
NEXT = {1: 4, 2: 6, 3: 8}  # places about each of the best, of a later round
ROUNDS = ((2, 0.30), (1, 0.10))  # how many of the best; half the width of the new box, in parts of the whole
LOOKED = 11  # 2^11 places at most are looked at for some that can be had
FINAL, FINER = 3, 0.2  # of the best that are traced again; part of the error that they may have
WORD = 4.0  # margins that a wrong pattern counts as (own choice)
OF_METERS = ("lighting_ratio", "level")  # targets that need no measures of the face
Watcher = Callable[[str], None]


@dataclass(frozen=True)
class Try:
    """One place: its cost, the values of the targets and by how many margins each is missed."""

    spot: Spot
    cost: float
    dims: dict[str, float]
    values: dict[str, float | str]
    misses: dict[str, float]
    round: int

    @property
    def missed(self) -> list[str]:
        return [name for name, miss in self.misses.items() if not abs(miss) < 1e-6]

    def as_json(self) -> dict[str, Any]:
        return {
            **self.spot.as_json(),
            "round": self.round,
            "cost": round(self.cost, 4),
            "dimmers": {name: round(value, 4) for name, value in self.dims.items()},
            "values": {name: _plain(value) for name, value in self.values.items()},
            "missed_by_margins": {name: _plain(value) for name, value in self.misses.items()},
        }


@dataclass(frozen=True)
class Placing:
    """tries  all that were traced, the best first; refused: why how many places could not be had
    best   the winners, traced again more finely, the best first: place, and dimmers and targets there
    """

    box: Box
    before: Spot
    tries: tuple[Try, ...]
    refused: dict[str, int]
    best: tuple[tuple[Spot, Balance], ...]
    within: float
    seed: int

    @property
    def keys(self) -> dict[str, Any]:
        """The keys that put the thing in the best place, by path, as far as it moved."""
        spot, found = self.best[0]
        scene = found.preview.scene
        was = placing(scene, self.box.thing, self.before)
        return {
            key: value for key, value in placing(scene, self.box.thing, spot).items() if was[key] != value
        }

    def as_json(self) -> dict[str, Any]:
        return {
            "place": self.box.words(),
            "before": self.before.as_json(),
            "best": [{**spot.as_json(), **found.as_json()} for spot, found in self.best],
            "traces": len(self.tries),
            "standard_error_stops": self.within,
            "seed": self.seed,
            "refused": self.refused,
            "tried": [it.as_json() for it in self.tries],
        }


def placed(
    scene: Scene,
    box: Box,
    hold: Collection[str] = (),
    limit: Mapping[str, tuple[float, float]] | None = None,
    free: Collection[str] = (),
    *,
    within: float = 0.1,
    seed: int = 0,
    threads: int | None = None,
    watch: Watcher | None = None,
) -> Placing:
    """Search a box for the place where the targets are met; dimmers as in `balanced`.

    within  standard error of readings [stops] while searching; the best are traced to a fifth of it
    The same seed gives the same answer. Raises InputError where nothing in the box can be had.
    """
    limit = limit or {}
    search = _Search(scene, box, hold, limit, free, within, seed, threads, needs_picture(scene), watch)
    tries = search.run()
    best = []
    for it in sorted(tries, key=lambda it: it.cost)[:FINAL]:
        if watch:
            watch(f"once more, finer: {it.spot.words()}")
        made, _ = hung(scene, box.thing, it.spot)
        assert made is not None
        found = balanced(search.traced(made, FINER * within), hold, limit, free)
        best.append((search.of(made, it.spot, len(ROUNDS) + 1, found.preview).cost, it.spot, found))
    best.sort(key=lambda item: item[0])
    return Placing(
        box,
        spot_of(scene, box.thing),
        tuple(sorted(tries, key=lambda it: it.cost)),
        dict(search.refused),
        tuple((spot, found) for _, spot, found in best),
        within,
        seed,
    )


@dataclass
class _Search:
    scene: Scene
    box: Box
    hold: Collection[str]
    limit: Mapping[str, tuple[float, float]]
    free: Collection[str]
    within: float
    seed: int
    threads: int | None
    picture: bool
    watch: Watcher | None

    def __post_init__(self) -> None:
        self.refused: Counter[str] = Counter()
        self.seen: set[Spot] = set()

    def run(self) -> list[Try]:
        """All rounds."""
        from scipy.stats import qmc

        count = len(self.box.open)
        whole = np.zeros(count), np.ones(count)
        if count == 1:
            points: Iterator[Sequence[float]] = iter(np.linspace(0.0, 1.0, COARSE[1])[:, None].tolist())
        else:
            points = iter(qmc.Sobol(count, seed=self.seed).random_base2(LOOKED).tolist())
        now = self.box.parts(spot_of(self.scene, self.box.thing))
        tries = self._traced_of([now] if all(0.0 <= part <= 1.0 for part in now) else [], 1, 1)
        tries += self._traced_of(points, COARSE[count], 1)
        if not tries:
            why = ", ".join(f"{reason} ({times} places)" for reason, times in self.refused.most_common())
            raise InputError(f"--place: nothing in {self.box.words()} can be had: {why}")
        for number, (several, half) in enumerate(ROUNDS, 2):
            for centre in sorted(tries, key=lambda it: it.cost)[:several]:
                parts = np.array(self.box.parts(centre.spot))
                low, high = np.maximum(parts - half, whole[0]), np.minimum(parts + half, whole[1])
                if count == 1:
                    near = np.linspace(low, high, NEXT[1] + 2).tolist()
                else:
                    near = (
                        low + (high - low) * qmc.Sobol(count, seed=self.seed + number).random(64)
                    ).tolist()
                tries += self._traced_of(near, NEXT[count] + (2 if count == 1 else 0), number)
        return tries

    def _traced_of(
        self, points: Collection[Sequence[float]] | Iterator[Sequence[float]], count: int, number: int
    ) -> list[Try]:
        found: list[Try] = []
        for parts in points:
            if len(found) >= count:
                break
            spot = self.box.spot(parts)
            if spot in self.seen:
                continue
            self.seen.add(spot)
            made, why = hung(self.scene, self.box.thing, spot)
            if made is None:
                self.refused[why] += 1
                continue
            if self.watch:
                self.watch(f"round {number}: {spot.words()}")
            found.append(self.of(made, spot, number, self.traced(made, self.within)))
        return found

    def traced(self, scene: Scene, within: float) -> Preview:
        return whole_trace(
            sized(scene, self.picture),
            within=within * (10.0 if self.picture else 1.0),
            seed=self.seed,
            threads=self.threads,
            picture=self.picture,
            face=needs_face(scene.target),
            magnify=False,
        )

    def of(self, scene: Scene, spot: Spot, number: int, preview: Preview) -> Try:
        """The place with its best dimmers."""
        model = Model.of(preview)
        check(model.lights, scene.target is not None, self.hold, self.limit, self.free)
        fixed = {name for name in model.lights if name not in scene.light and name not in self.free}
        goals = Goals.of(preview, model)
        limits = limits_of(model, {*self.hold, *(fixed - self.limit.keys())}, self.limit)
        dims = solve(Problem(model, goals.solved, limits, model.dims))
        values: dict[str, float | str] = {}
        misses: dict[str, float] = {}
        cost = 0.0
        for goal in goals.solved:
            value = model.measures[goal.name].values(dims[None])
            values[goal.name], misses[goal.name] = float(value[0]), float(goal.misses(value)[0])
            cost += _cost(goal, value)
        for name, (finding, verdict) in goals.fixed.items():
            values[name], misses[name] = finding.value, verdict.miss
            wanted = wanted_of(name, finding, scene.target) if scene.target is not None else None
            if wanted is not None:
                cost += _cost(Goal.of(name, wanted), np.array([finding.number]))
            elif verdict.result != "pass":
                cost += (OUTER * (WORD if verdict.result == "fail" else 0.1)) ** 2
        cost += len(goals.missing) * (OUTER * WORD) ** 2
        dimmers = dict(zip(model.lights, (float(it) for it in dims), strict=True))
        return Try(spot, cost / OUTER**2, dimmers, values, misses, number)


def _cost(goal: Goal, value: np.ndarray) -> float:
    return float((OUTER * goal.misses(value)[0]) ** 2 + (INNER * goal.misses(value, goal.aim)[0]) ** 2)


def needs_face(target: Target | None) -> bool:
    """Whether a target is more than the meters say."""
    if target is None:
        return False
    return any(getattr(target, key) is not None for key in type(target).model_fields if key not in OF_METERS)


def _plain(value: float | str) -> float | str | None:
    if isinstance(value, str):
        return value
    return round(value, 4) if math.isfinite(value) else None
