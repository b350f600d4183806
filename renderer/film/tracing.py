"""Filling a film: passes over pixels and probes until the error asked for, the time, or a stop."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass

import numpy as np

from renderer.film.device import AUTO, pool_on
from renderer.film.film import HALVES, REPLICAS, Film
from renderer.film.mix import Mix
from renderer.film.plan import FALL, MOST_GROWTH, MOST_SAMPLES, errors_of, wanted_samples
from renderer.film.pool import Job, Pool, Stop
from renderer.film.wall_light import with_paths, with_wall_light, with_walls_to_pass, without_bias
from renderer.kernels.entry import PIXEL, PROBE
from renderer.kernels.layout import PackedScene

PROBE_SAMPLES = 64  # of each replica of each probe, in the first pass
MOST_PROBE_SAMPLES = 1 << 22


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
    grain: bool = False,
    on: str | Pool = AUTO,
    watch: Watcher | None = None,
    show: Callable[[Film], None] | None = None,
    stop: Stop | None = None,
    metered: PackedScene | None = None,
) -> Film:
    """Trace a film.

    within      standard error [stops] at which to stop: of the sitter's pixels as they are shown (root mean
                square) and of every probe
    seconds     time after which to stop whatever the error; the first pass is always finished
    follow_all  the picture's mean is that of paths followed to their end, and not of paths that end on walls
                which were metered beforehand; probes are always followed
    picture     False: trace the probes alone
    wall_light  of a film of the same scene that was traced before
    grain       pixels are shown as they come; else their grain is taken out first
    on          a place of `renderer.film.device`, or a pool that is open already
    show        is given the film after every pass that was finished
    stop        ends it at any time, also before the first pass is finished
    metered     what probes stand in, where that is another scene than the picture's
    An interrupt from the keyboard ends the tracing and keeps what is there; the first pass is finished.
    """
    started = time.monotonic()
    with pool_on(on, threads) if isinstance(on, str) else nullcontext(on) as pool:
        film = Film.empty(int(camera[0]["width"]), int(camera[0]["height"]), len(probes), mix)
        pictured = scene
        if wall_light is not None:
            pictured = with_paths(scene._replace(wall_light=wall_light))
        elif picture:
            pictured = (
                with_walls_to_pass(pool, scene, camera, seed, within)
                if follow_all
                else with_wall_light(pool, scene, camera, seed)
            )
            film.wall_light = pictured.wall_light
        if follow_all:
            pictured = without_bias(pictured)
        here, probing = np.full(film.width * film.height, pool.first_samples, np.int32), PROBE_SAMPLES
        while True:
            deadline = started + seconds if film.passes else None
            jobs = _jobs(film, here) if picture else []
            before = film.samples_taken()
            complete = pool.run(pictured, camera, probes, film.pixels, seed, jobs, deadline, stop)
            if not complete and not film.passes:  # nobody wants it any more
                return film
            _read_probes(pool, film, metered or scene, camera, probes, seed, probing)
            film.passes += complete
            probe_error = float(film.probe_errors().max(initial=0.0))
            error, wanted = probe_error, here
            if picture and complete:
                errors = errors_of(film, grain, threads)
                film.error = errors.stops()
                if film.error > within:
                    done = film.pixels.samples[0].reshape(film.height, film.width)
                    wanted = wanted_samples(errors, done, within).ravel()
            if show and complete:
                show(film)
            if picture:
                error = max(error, film.error)
            elapsed = time.monotonic() - started
            if watch:
                left = _left(film, wanted, elapsed) if picture else 0.0
                left = max(0.0, min(left, seconds - elapsed))
                told = (film.passes, film.samples(), error, within, elapsed, left)
                watch(Progress(*told))
            film.halted = pool.halted.is_set()
            if film.halted or not complete or error <= within or elapsed >= seconds:
                return film
            full = film.samples() >= HALVES * MOST_SAMPLES  # where more is wanted most, there is no more
            stuck = picture and film.error > within and (full or film.samples_taken() == before)
            if stuck or probing >= MOST_PROBE_SAMPLES:
                return film
            here = wanted if film.error > within else here
            probing = _probing_next(probing, probe_error, within)


def _left(film: Film, wanted: np.ndarray, elapsed: float) -> float:
    """Seconds that the samples still wanted should take."""
    taken = film.samples_taken()
    return elapsed * max(0.0, float(HALVES * wanted.sum(dtype=np.int64) - taken)) / max(1, taken)


def probed(
    scene: PackedScene,
    camera: np.ndarray,
    probes: np.ndarray,
    mix: Mix,
    samples: int,
    seed: int = 0,
    threads: int | None = None,
) -> Film:
    """The probes alone, each replica with just so many samples.

    Two scenes traced so with one seed share their random numbers, and what differs between them is the scene.
    """
    film = Film.empty(int(camera[0]["width"]), int(camera[0]["height"]), len(probes), mix)
    with Pool(threads) as pool:
        _read_probes(pool, film, scene, camera, probes, seed, samples)
        film.passes, film.halted = 1, pool.halted.is_set()
    return film


def _jobs(film: Film, wanted: np.ndarray) -> list[Job]:
    """The samples that bring every pixel to `wanted` of each half, pixels of one number together."""
    done = film.pixels.samples[0]
    short = np.flatnonzero(wanted > done).astype(np.int32)
    ways = (
        done[short].astype(np.int64) << 32 | wanted[short]
    )  # one number for each pair, since pairs sort slowly
    order = np.argsort(ways, kind="stable")
    cuts = np.flatnonzero(np.diff(ways[order])) + 1
    jobs: list[Job] = []
    for chosen in np.split(short[order], cuts) if len(short) else []:
        first, last = int(done[chosen[0]]), int(wanted[chosen[0]])
        jobs.append((chosen, PIXEL, range(HALVES), first, last - first))
    return jobs


def _probing_next(done: int, error: float, within: float) -> int:
    """Samples of each replica of a probe at which its error should have come down to `within`."""
    if not math.isfinite(error) or error <= within:
        return done
    wanted = done * min((error / within) ** (1.0 / FALL), MOST_GROWTH)
    return int(min(MOST_PROBE_SAMPLES, max(done + 1, math.ceil(wanted))))


def _read_probes(
    pool: Pool,
    film: Film,
    scene: PackedScene,
    camera: np.ndarray,
    probes: np.ndarray,
    seed: int,
    target: int,
) -> None:
    """Bring every replica of every probe to `target` samples."""
    if len(probes) == 0:
        return
    first = int(film.probe_counts[0, 0])
    if target <= first:
        return
    readings = pool.tally(REPLICAS, len(probes), len(film.mix.faders))
    jobs = [
        (np.array([i], np.int32), PROBE, range(REPLICAS), first, target - first) for i in range(len(probes))
    ]
    pool.run(scene, camera, probes, readings, seed, jobs)
    film.probe_sums += readings.radiance
    film.probe_counts += readings.samples
