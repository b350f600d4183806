"""The film: the same for any number of threads, mixed exactly, stopped when asked, and honest."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from small_scene import small

from renderer.colour import luminance
from renderer.errors import InputError
from renderer.film.film import Film
from renderer.film.layers import Layers
from renderer.film.pool import Pool
from renderer.kernels.entry import PIXEL
from renderer.kernels.layout import MESH
from renderer.preview import Preview
from renderer.scene.change import changed
from renderer.scene.load import load
from renderer.world.material import CORNEA

ONE_PASS = 100.0  # stops: reached by the first pass
REPOSITORY = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def film() -> Film:
    return small().film(within=ONE_PASS, seed=3, threads=2)


@pytest.fixture(scope="module")
def layers(film: Film) -> Layers:
    return film.layers(0.0, 3, False)


def test_same_seed_same_film_for_any_number_of_threads() -> None:
    scene = small((48, 48))  # more pixels than a thread takes at a time
    films = [scene.film(within=ONE_PASS, seed=7, threads=threads) for threads in (1, 2, 3)]
    for other in films[1:]:
        np.testing.assert_array_equal(other.pixels.radiance, films[0].pixels.radiance)
        np.testing.assert_array_equal(other.pixels.irradiance, films[0].pixels.irradiance)
        np.testing.assert_array_equal(other.probe_sums, films[0].probe_sums)
    changed = scene.film(within=ONE_PASS, seed=8, threads=2)
    assert (changed.pixels.radiance != films[0].pixels.radiance).any()


def test_same_film_however_the_samples_are_split() -> None:
    scene = small()
    receivers = np.arange(400, dtype=np.int32)
    with Pool(2) as pool:
        whole, parts = (pool.tally(2, 400, 2, seen=400) for _ in range(2))
        jobs = [(receivers, PIXEL, range(2), 0, 8)]
        assert pool.run(scene.packed, scene.camera, scene.probes, whole, 5, jobs)
        for first, count in ((0, 3), (3, 1), (4, 4)):
            jobs = [(receivers[::-1].copy(), PIXEL, range(2), first, count)]
            assert pool.run(scene.packed, scene.camera, scene.probes, parts, 5, jobs)
    np.testing.assert_array_equal(whole.radiance, parts.radiance)
    np.testing.assert_array_equal(whole.seen, parts.seen)


def test_picture_is_the_sum_of_its_layers(layers: Layers) -> None:
    weights = layers.mix.weights()
    expected = sum(layers.radiance[i].astype(float) * weights[i] for i in range(2))
    # three single-precision roundings of weights and products, one of the sum
    np.testing.assert_allclose(layers.picture(), expected, rtol=4 * 2.0**-24)
    alone = [layers.with_mix(layers.mix.changed(solo=[name])).picture() for name in ("key", "lamp")]
    np.testing.assert_array_equal(alone[0] + alone[1], layers.picture())
    muted = layers.with_mix(layers.mix.changed(mute=["lamp"])).picture()
    np.testing.assert_array_equal(muted, alone[0])


def test_half_on_all_dimmers_is_one_stop_and_no_ratio(layers: Layers) -> None:
    """The stop is a factor of two (common practice, no source)."""
    halved = layers.with_mix(layers.mix.changed(dim={"key": 0.5, "lamp": 0.5}))
    np.testing.assert_array_equal(halved.picture(), layers.picture() / 2)
    np.testing.assert_array_equal(halved.illuminance(), layers.illuminance() / 2)
    np.testing.assert_array_equal(halved.values(), layers.values() / 2)


def test_colour_temperature_moves_colour_and_not_level(layers: Layers) -> None:
    warm = layers.with_mix(layers.mix.changed(cct={"key": 3200.0, "lamp": 3200.0}))
    assert warm.picture()[..., 0].sum() > layers.picture()[..., 0].sum()
    assert warm.picture()[..., 2].sum() < layers.picture()[..., 2].sum()
    # on a probe that white light reaches unbounced, luminance is unchanged to rounding
    np.testing.assert_allclose(warm.values(0), layers.values(0), rtol=1e-6)


def test_a_gel_multiplies_each_channel(layers: Layers) -> None:
    gelled = layers.with_mix(layers.mix.changed(colour={"key": (1.0, 0.5, 0.25)}, mute=["lamp"]))
    plain = layers.with_mix(layers.mix.changed(mute=["lamp"]))
    np.testing.assert_array_equal(gelled.picture(), plain.picture() * np.float32([1.0, 0.5, 0.25]))


def test_a_light_that_is_not_there(layers: Layers) -> None:
    with pytest.raises(InputError) as caught:
        layers.mix.changed(mute=["lmap"])
    assert str(caught.value) == 'no light is called "lmap"; did you mean "lamp"? (lights: key, lamp)'
    with pytest.raises(InputError, match=r'^no light is called "sun" \(lights: key, lamp\)$'):
        layers.mix.changed(dim={"sun": 1.0})


@pytest.mark.parametrize("value", [-0.1, float("nan"), float("inf")])
def test_a_dimmer_that_cannot_be(layers: Layers, value: float) -> None:
    with pytest.raises(InputError, match=r"^--dim key=(-0.1|nan|inf): expected 0 to 100 \(1 is full\)$"):
        layers.mix.changed(dim={"key": value})


@pytest.mark.parametrize("within", [0.2, 0.05])
def test_tracing_stops_at_the_error_asked_for(within: float) -> None:
    seen = []
    film = small().film(within=within, seed=2, threads=2, watch=seen.append)
    assert max(film.error, film.probe_errors().max()) <= within
    assert [progress.passes for progress in seen] == list(range(1, film.passes + 1))
    assert all(progress.error > within for progress in seen[:-1])


def test_tracing_stops_where_a_pixel_can_have_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    from renderer.film import plan, tracing

    for module in (plan, tracing):
        monkeypatch.setattr(module, "MOST_SAMPLES", 8)
    seen = []
    film = small().film(within=1e-3, seed=2, threads=2, grain=True, watch=seen.append)
    assert film.samples() == 16
    assert film.error > 1e-3
    assert len(seen) <= 6


def test_a_lamp_smaller_than_a_pixel_shows_in_both_eyes() -> None:
    """The bare head of the potter's workshop mirrored in the corneas: under a hundredth of a pixel there."""
    scene = changed(load(REPOSITORY / "scenes" / "potter-7-hard-key.toml"), {"camera.picture": [320, 400]})
    preview = Preview.trace(scene, within=0.2, seed=2, face=False, magnify=False)
    bright, seen = luminance(preview.layers.picture()), preview.layers.seen
    cornea = (seen["family"] == MESH) & (seen["number"] == CORNEA)
    left = np.arange(seen.shape[1]) < np.nonzero(cornea)[1].mean()
    for eye in (cornea & left, cornea & ~left):
        assert eye.sum() > 50
        assert bright[eye].max() > 8.0 * np.median(bright[eye])


def test_tracing_stops_when_the_time_is_over() -> None:
    scene = small((64, 64))
    scene.film(within=ONE_PASS, threads=2)
    started = time.monotonic()
    film = scene.film(within=1e-6, seconds=1.0, threads=2)
    assert film.passes >= 1
    assert film.samples() >= 4
    assert time.monotonic() - started < 20.0  # a pass that has begun a block may finish it


INTERRUPTED = """
import os, signal, sys
sys.path[:0] = ["tests", "."]
from small_scene import small
scene = small((48, 48))
scene.film(within=100.0, threads=2)
print("begun", flush=True)

def told(progress):
    print("pass", flush=True)
    if {in_watch} and progress.passes == 2:
        os.kill(os.getpid(), signal.SIGINT)

film = scene.film(within=1e-6, threads=2, watch=told)
picture = film.layers(0.0, 0, False).picture()
print("kept", film.samples(), bool((picture > 0.0).all()), flush=True)
"""


def interrupted(in_watch: bool, delay: float = 0.0) -> str:
    """What a tracing process says last that is interrupted after `delay`, or by itself in its watcher."""
    process = subprocess.Popen(
        [sys.executable, "-c", INTERRUPTED.replace("{in_watch}", str(in_watch))],
        cwd=REPOSITORY,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "begun\n"
    if not in_watch:
        assert process.stdout.readline() == "pass\n"
        time.sleep(delay)
        process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 0, err[-800:]
    return out.splitlines()[-1]


@pytest.mark.parametrize("delay", [0.6, 1.5])
def test_an_interrupt_while_tracing_keeps_what_is_there(delay: float) -> None:
    kept, samples, whole = interrupted(False, delay).split()
    assert (kept, whole) == ("kept", "True")
    assert int(samples) >= 4


def test_an_interrupt_between_passes_keeps_what_is_there() -> None:
    assert interrupted(True).split()[0] == "kept"
