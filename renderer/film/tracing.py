"""Filling a film: passes over pixels and probes until the error asked for, the time, or a stop."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from renderer.film.film import HALVES, REPLICAS, Film
from renderer.film.mix import Mix
from renderer.film.pool import Job, Pool
from renderer.film.wall_light import with_wall_light
from renderer.kernels.entry import PIXEL, PROBE
from renderer.kernels.layout import PackedScene

FIRST_SAMPLES = 2  # of each half of each pixel in the first pass
MOST_GROWTH = 4.0  # a pass may multiply the samples so far by this much and no more
MOST_SAMPLES = 1 << 16  # of each half
BACKGROUND_SHARE = 0.28  # samples of a pixel without sitter, for one of a pixel with
PROBE_SAMPLES = 64  # of each replica of each probe, for one sample of each half of a pixel
# How the error falls with samples: 0.5 for random points, more for stratified ones. The lower value
# asks for larger passes and so for fewer of them.
FALL = 0.55


@dataclass(frozen=True)
class Progress:
    """What a watcher is told: errors in stops (1 standard error), time in seconds."""

    passes: int
    samples: int
    error: float
    within: float
    elapsed: float
    left: float  # estimated


Watcher = Callable[[Progress], None]


@dataclass
class Group:
    """Pixels that get the same number of samples."""

    pixels: np.ndarray
    share: float
    done: int = 0

    def job(self, target: float) -> Job:
        """The samples that bring this group up to its share of `target`."""
        count = max(0, math.ceil(target * self.share) - self.done)
        job = (self.pixels, PIXEL, range(HALVES), self.done, count)
        self.done += count
        return job


def run(
    scene: PackedScene,
    camera: np.ndarray,
    probes: np.ndarray,
    mix: Mix,
    *,
    within: float = 0.1,
    seconds: float = math.inf,
    seed: int = 0,
    threads: int | None = None,
    follow_all: bool = False,
    picture: bool = True,
    wall_light: np.ndarray | None = None,
    allowance: float = 1.0,
    watch: Watcher | None = None,
) -> Film:
    """Trace a film.

    within      standard error [stops] at which to stop: of the sitter's pixels (root mean square) and
                of every probe
    seconds     time after which to stop whatever the error; the first pass is always finished
    follow_all  follow every path of the picture to its end, instead of ending it on walls that were
                metered beforehand; probes are always followed
    picture     False: trace the probes alone
    wall_light  of a film of the same scene that was traced before
    allowance   what pixels may have of `within`: more than 1 where their grain is taken out afterwards
    An interrupt from the keyboard ends the tracing and keeps what is there; the first pass is finished.
    """
    started = time.monotonic()
    with Pool(threads) as pool:
        film = Film.empty(int(camera[0]["width"]), int(camera[0]["height"]), len(probes), mix)
        pictured = scene
        if wall_light is not None:
            pictured = scene._replace(wall_light=wall_light)
        elif picture and not follow_all:
            pictured = with_wall_light(pool, scene, camera, seed)
            film.wall_light = pictured.wall_light
        groups = [Group(np.arange(film.width * film.height, dtype=np.int32), 1.0)] if picture else []
        done, target = 0, FIRST_SAMPLES
        while True:
            deadline = started + seconds if film.passes else None
            jobs = [group.job(target) for group in groups]
            complete = pool.run(pictured, camera, probes, film.pixels, seed, jobs, deadline)
            _read_probes(pool, film, scene, camera, probes, seed, done, target)
            film.passes += complete
            done = target
            error = float(film.probe_errors().max(initial=0.0))
            if picture:
                error = max(error, film.picture_error() / allowance)
            wanted = _samples_for(error, within, done)
            elapsed = time.monotonic() - started
            if watch:
                left = max(0.0, min(elapsed * (wanted / done - 1.0), seconds - elapsed))
                watch(Progress(film.passes, film.samples(), error, within, elapsed, left))
            film.halted = pool.halted.is_set()
            if film.halted or not complete or error <= within or elapsed >= seconds:
                return film
            if done >= MOST_SAMPLES:
                return film
            if picture and film.passes == 1:
                groups = _by_sitter(film, done)
            target = max(done + 1, math.ceil(min(wanted, MOST_GROWTH * done)))


def _by_sitter(film: Film, done: int) -> list[Group]:
    """The pixels with sitter, which decide when the film is done, and the others."""
    sitter = film.sitter()
    if not sitter.any():
        return [Group(np.arange(sitter.size, dtype=np.int32), 1.0, done)]
    near = sitter.copy()  # with the pixels about the outline, of which the sitter fills a part
    near[1:] |= sitter[:-1]
    near[:-1] |= sitter[1:]
    near[:, 1:] |= sitter[:, :-1]
    near[:, :-1] |= sitter[:, 1:]
    chosen, others = np.flatnonzero(near), np.flatnonzero(~near)
    return [
        Group(chosen.astype(np.int32), 1.0, done),
        Group(others.astype(np.int32), BACKGROUND_SHARE, done),
    ]


def _samples_for(error: float, within: float, done: int) -> float:
    """Samples of each half at which the error should have come down to `within`."""
    if not math.isfinite(error) or error <= within:
        return float(done)
    return float(done * (error / within) ** (1.0 / FALL))


def _read_probes(
    pool: Pool,
    film: Film,
    scene: PackedScene,
    camera: np.ndarray,
    probes: np.ndarray,
    seed: int,
    done: int,
    target: int,
) -> None:
    """Add to every replica of every probe its samples from `done` to `target` (of a pixel's half)."""
    if len(probes) == 0:
        return
    readings = pool.tally(REPLICAS, len(probes), len(film.mix.faders))
    first, count = PROBE_SAMPLES * done, PROBE_SAMPLES * (target - done)
    jobs = [(np.array([i], np.int32), PROBE, range(REPLICAS), first, count) for i in range(len(probes))]
    pool.run(scene, camera, probes, readings, seed, jobs)
    film.probe_sums += readings.radiance
    film.probe_counts += readings.samples
