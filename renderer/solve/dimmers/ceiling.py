"""The ceiling of contrast: the highest ratio that the key alone makes here, and what would raise it.

Only the two cheeks are metered, under the key alone, with the same random numbers in every variant: so
that a gain is known better than the ratios that it lies between.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from renderer.colour import luminance
from renderer.errors import InputError
from renderer.film.pool import Pool
from renderer.meter.face.points import Tracer, with_light_only
from renderer.meter.mark import KEY_CHEEK, SHADOW_CHEEK, key_light, marks_of
from renderer.scene.change import changed
from renderer.scene.models import Scene
from renderer.solve.dimmers.variant import Changes, variants
from renderer.solve.measure import jackknife, log2
from renderer.world.build import build

REPLICAS, SAMPLES = 16, 512
SURE = 2.0  # standard errors from which a gain is told from nothing
STACKED = 4  # measures that are taken one on top of the other
LEAST_GAIN = 0.1  # stop that a further measure must bring
Watcher = Callable[[str], None]


@dataclass(frozen=True)
class Gain:
    """One variant: `ratio` x:1 it reaches, `gain` in stops over the scene as it is, each +- one standard
    error; `key_loss` stops that the key-side cheek loses at the same dimmer."""

    what: str
    ratio: float
    gain: float
    error: float
    key_loss: float

    def as_json(self) -> dict[str, Any]:
        return {
            "what": self.what,
            "ratio": round(self.ratio, 3),
            "gain_stops": round(self.gain, 3),
            "error": round(self.error, 4),
            "key_loss_stops": round(self.key_loss, 3),
        }


@dataclass(frozen=True)
class Ceiling:
    """ratio  x:1 with the key alone, cards where they are, +- error; alone: each variant for itself, the
    best first; together: the best of them one on top of the other, gains from the scene as it is;
    traces: how many scenes were metered."""

    ratio: float
    error: float
    alone: tuple[Gain, ...]
    together: tuple[Gain, ...]
    traces: int

    def as_json(self) -> dict[str, Any]:
        return {
            "ratio": round(self.ratio, 3),
            "error": round(self.error, 3),
            "each_alone": [gain.as_json() for gain in self.alone],
            "one_on_top_of_the_other": [gain.as_json() for gain in self.together],
            "scenes_metered": self.traces,
        }


def ceiling(
    scene: Scene,
    seed: int = 0,
    threads: int | None = None,
    wanted: float = math.inf,
    watch: Watcher | None = None,
) -> Ceiling | None:
    """Meter the scene and its variants; None with nobody in the chair or no marks at the cheeks.

    wanted  a ratio (x:1); measures are piled up until it is reached
    """
    with Pool(threads) as pool:
        meter = _Meter(pool, seed, watch)
        base = meter.cheeks(scene, "as it is")
        if base is None:
            return None
        found: list[tuple[Gain, Changes]] = []
        for variant in variants(scene):
            read = meter.cheeks(variant.of(scene), variant.what)
            if read is not None:
                found.append((_gain(variant.what, base, read), variant.changes))
        found.sort(key=lambda item: -item[0].gain)
        together: list[Gain] = []
        pile: Changes = {}
        for gain, changes in found:
            last = together[-1] if together else None
            done = last is not None and last.ratio >= wanted
            if (
                done
                or len(together) >= STACKED
                or gain.gain < SURE * gain.error
                or changes.keys() & pile.keys()
            ):
                continue
            more = _gain_of_pile(meter, scene, base, gain.what, {**pile, **changes})
            if more is not None and more.gain >= (last.gain if last else 0.0) + LEAST_GAIN:
                together.append(more)
                pile |= changes
        value, error = _ratio(base)
        return Ceiling(value, error, tuple(gain for gain, _ in found), tuple(together), meter.count)


@dataclass
class _Meter:
    pool: Pool
    seed: int
    watch: Watcher | None
    count: int = 0

    def cheeks(self, scene: Scene, what: str) -> np.ndarray | None:
        """(replicas, 2) lux under the key alone: key-side cheek, shadow-side cheek."""
        if self.watch:
            self.watch(what)
        self.count += 1
        world = build(scene)
        marks = {mark.name: mark for mark in marks_of(world)[0]}
        if not {KEY_CHEEK, SHADOW_CHEEK} <= marks.keys():
            return None
        pair = [marks[KEY_CHEEK], marks[SHADOW_CHEEK]]
        number = [layer.name for layer in world.layers].index(key_light(world))
        lit = with_light_only(world.bare_faced.packed, number)
        at, axis = np.array([it.at for it in pair]), np.array([it.axis for it in pair])
        tracer = Tracer(self.pool, world.camera, self.seed)
        light = tracer.arriving(lit, at, axis, SAMPLES, REPLICAS, off=0.0)
        if self.pool.halted.is_set():
            raise KeyboardInterrupt
        return luminance(light[:, :, 0].sum(axis=2))


def _left_out(read: np.ndarray) -> np.ndarray:
    return np.asarray((read.sum(axis=0) - read) / (len(read) - 1))


def _ratio(read: np.ndarray) -> tuple[float, float]:
    mean, left = read.mean(axis=0), _left_out(read)
    return float(mean[0] / mean[1]), jackknife(left[:, 0] / left[:, 1])


def _gain(what: str, base: np.ndarray, read: np.ndarray) -> Gain:
    """Stops of the ratio over the base's; the replicas belong together, so the error is of the difference."""

    def gains(one: np.ndarray, other: np.ndarray) -> np.ndarray:
        return np.asarray(log2(other[..., 0] / other[..., 1]) - log2(one[..., 0] / one[..., 1]))

    value = float(gains(base.mean(axis=0), read.mean(axis=0)))
    error = jackknife(gains(_left_out(base), _left_out(read)))
    loss = float(log2(base.mean(axis=0)[0] / read.mean(axis=0)[0]))
    return Gain(what, _ratio(read)[0], value, error, loss)


def _gain_of_pile(meter: _Meter, scene: Scene, base: np.ndarray, what: str, pile: Changes) -> Gain | None:
    try:
        read = meter.cheeks(changed(scene, pile), what)
    except InputError:
        return None
    return None if read is None else _gain(what, base, read)
