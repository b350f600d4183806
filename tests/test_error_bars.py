"""Stated errors against true ones, over many films of one scene that differ in the seed."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from light_lab import LIMIT, THREADS, standard_error
from small_scene import LAMP_TO_WALL, PICTURE, ROOM, small

from renderer.colour import luminance
from renderer.film.denoise import box_mean, denoised
from renderer.film.film import REPLICAS, Film
from renderer.film.plan import FLOOR_SHARE, errors_of
from renderer.film.pool import Pool
from renderer.film.wall_light import NODES, with_wall_light, with_walls_to_pass
from renderer.kernels.entry import PIXEL

ONE_PASS = 100.0
FILMS, SAMPLES = 20, 64  # samples of each half
APART = 16  # seeds of films: the metering of the walls takes the seeds that follow


def test_probe_errors_are_honest() -> None:
    """(reading - truth) / stated error follows Student's t of REPLICAS - 1 degrees of freedom: its variance
    is n / (n - 2), its fourth moment 3 n^2 / ((n - 2)(n - 4)). Truth: the mean of all films, which takes
    one part in their number."""
    scene, films = small((16, 16)), 120
    values, errors = [], []
    for k in range(films):
        film = scene.film(within=ONE_PASS, seed=APART * k, threads=2, picture=False)
        values.append(film.layers(0.0, k, False).values().sum(axis=2).mean(axis=0))
        errors.append((2.0 ** film.probe_errors() - 1.0) * values[-1])
    score = (np.array(values) - np.mean(values, axis=0)) / np.array(errors)
    n = REPLICAS - 1
    variance, fourth = n / (n - 2), 3 * n**2 / ((n - 2) * (n - 4))
    found = (score**2).mean(axis=0) * films / (films - 1)
    spread = math.sqrt((fourth - variance**2) / films)
    print("mean square of the scores", found.round(3), f"expected {variance:.3f} +- {spread:.3f}")
    assert (abs(found - variance) <= LIMIT * spread).all()


FOLLOWED, METERED, PAST = "every path followed", "walls metered", "past walls metered coarsely"
SMEARED = "walls metered coarsely"
FEW_NODES, SWEEPS = 4, (16, 64)  # along a side of a face; samples of each


@cache
def films_of(way: str) -> list[Film]:
    """Films of one scene with different seeds and the same number of samples.

    Walls where paths end are metered once: what that misses is all films' own (see the last tests). Where
    they go on past them, what the metering scatters by is a film's own.
    """
    scene, found = small(), []
    packed = scene.packed
    if way == METERED:
        with Pool(THREADS) as pool:
            packed = with_wall_light(pool, scene.packed, scene.camera, APART)
    for k in range(FILMS):
        with Pool(THREADS) as pool:
            if way in (PAST, SMEARED):
                how = {"nodes": FEW_NODES, "sweeps": SWEEPS}
                packed = with_walls_to_pass(pool, scene.packed, scene.camera, APART * k, **how)
            if way == SMEARED:
                packed = packed._replace(past_walls=np.zeros(1, np.int32))
            film = Film.empty(*PICTURE, 0, scene.mix)
            receivers = np.arange(PICTURE[0] * PICTURE[1], dtype=np.int32)
            jobs = [(share, PIXEL, range(2), 0, SAMPLES) for share in np.array_split(receivers, THREADS)]
            assert pool.run(packed, scene.camera, scene.probes, film.pixels, APART * k, jobs)
        film.passes = 1
        found.append(film)
    return found


def true_error(shown: np.ndarray, films: list[Film]) -> np.ndarray:
    """(films,) mean square over the sitter of the relative error of (films, h, w) luminances, counted as
    `errors_of` counts it. Truth: the mean of all films, which takes one part in their number."""
    truth = np.mean([film.half_luminances().mean(axis=0) for film in films], axis=0)
    sitter = films[0].sitter()
    level = box_mean(truth) + FLOOR_SHARE * truth[sitter].mean()
    square = np.array([box_mean(((one - truth) / level) ** 2)[sitter].mean() for one in shown])
    return square * len(films) / (len(films) - 1)


@pytest.mark.parametrize("way", [FOLLOWED, METERED, PAST])
def test_picture_error_is_honest(way: str) -> None:
    """Mean square of the true relative error of the sitter's raw pixels against that of the stated one."""
    films = films_of(way)
    true = true_error(np.array([film.half_luminances().mean(axis=0) for film in films]), films)
    stated = np.array([2.0 ** errors_of(film, grain=True).stops() - 1.0 for film in films])
    gap = true - stated**2
    error = standard_error(gap)
    print(f"{way}: true {true.mean() ** 0.5:.4f}, stated {(stated**2).mean() ** 0.5:.4f}")
    assert abs(gap.mean()) <= LIMIT * error


def test_error_of_a_cleaned_picture_is_not_made_small() -> None:
    """What is stated of a picture without grain, against its true error; the factor TOLD is from others."""
    films = films_of(METERED)
    shown = np.array([luminance(denoised(film.layers(0.0, 0, False))) for film in films])
    true = true_error(shown, films)
    stated = np.array([2.0 ** errors_of(film).stops() - 1.0 for film in films])
    print(f"true {true.mean() ** 0.5:.4f}, stated {(stated**2).mean() ** 0.5:.4f}")
    assert (stated**2).mean() >= true.mean() - LIMIT * standard_error(true - stated**2)


def test_halves_are_independent() -> None:
    """Correlation of the two halves' errors over pixels and films; its standard error is 1 / sqrt(count)."""
    halves = np.array([film.half_luminances()[:, film.sitter()] for film in films_of(FOLLOWED)])
    noise = halves - halves.mean(axis=(0, 1))
    noise /= noise.std(axis=(0, 1))  # every pixel on one scale, or the few at the edge of a shadow decide
    first, second = noise[:, 0].ravel(), noise[:, 1].ravel()
    correlation = (first * second).mean()
    expected = -1.0 / (2 * FILMS - 1)  # the mean of all halves is taken off both
    print(f"correlation {correlation:+.4f}, expected {expected:+.4f} +- {1 / math.sqrt(first.size):.4f}")
    assert abs(correlation - expected) <= LIMIT / math.sqrt(first.size)


def bounced(film: Film) -> tuple[float, float]:
    """Mean bounced luminance of the sitter and of the wall behind."""
    layer = luminance(film.layers(0.0, 0, False).bounced.sum(axis=0))
    return float(layer[film.sitter()].mean()), float(layer[~film.sitter()].mean())


def test_walls_metered_beforehand_change_the_picture_within_their_bias() -> None:
    """Straight lines between nodes h apart miss cosine^4 light of a lamp at distance D from the wall by at
    most (h / D)^2: h^2 / 8 times its second derivatives, -4 / D^2 along each side. Only bounced light."""
    means = {way: np.array([bounced(film) for film in films_of(way)]) for way in (FOLLOWED, METERED)}
    followed, metered = means[FOLLOWED].mean(axis=0), means[METERED].mean(axis=0)
    error = np.sqrt(sum(m.var(axis=0, ddof=1) for m in means.values()) / FILMS)
    cell = float(np.max(np.array(ROOM.high) - np.array(ROOM.low))) / (NODES - 1)
    bias = (cell / LAMP_TO_WALL) ** 2
    print(f"metered / followed - 1: {metered / followed - 1} +- {error / followed}, stated bias {bias:.3f}")
    assert (abs(metered - followed) <= LIMIT * error + bias * followed).all()


def test_paths_that_go_on_past_walls_put_right_what_the_grid_smears() -> None:
    """The mean of paths followed to their end, though walls are known at so few nodes that the same grids are
    far off by themselves."""
    means = {way: np.array([bounced(film) for film in films_of(way)]) for way in (FOLLOWED, PAST, SMEARED)}
    followed, spread = means[FOLLOWED].mean(axis=0), {w: m.var(axis=0, ddof=1) for w, m in means.items()}
    gaps = {}
    for way in (PAST, SMEARED):
        gap, error = means[way].mean(axis=0) - followed, np.sqrt((spread[way] + spread[FOLLOWED]) / FILMS)
        gaps[way] = gap / error
        print(f"{way} / followed - 1: {gap / followed}, in errors {gaps[way]}")
    assert (abs(gaps[PAST]) <= LIMIT).all()
    assert (abs(gaps[SMEARED]) > 2.0 * LIMIT).any()
