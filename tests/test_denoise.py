"""A picture without grain: what the filter may take away and what it may not, on light made up here.

Light and noise are known, so the bounds follow from the truth and from the standard error of a mean.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.ndimage import convolve

from renderer.colour import luminance
from renderer.film.denoise import WINDOW, box_sum, denoised
from renderer.film.layers import Layers
from renderer.film.mix import Fader, Mix
from renderer.kernels.layout import MESH, PART, SEEN, WALL
from renderer.preview import Preview
from renderer.record import read, write
from renderer.scene.load import load

MIX = Mix((Fader("key", cct=5600.0),))
NOISE = 0.1  # standard error of a pixel, as a share of its light
SIDE = 64
SCENE = """
[camera]
picture = [48, 60]
[light.key]
source = "disc"
around = { azimuth = 45, distance = 1.2, height = 1.8 }
diameter = 0.6
lumens = 1500
"""


def wall(height: int = SIDE, width: int = SIDE) -> np.ndarray:
    """SEEN records of a flat wall that faces the lens, 2 m away."""
    seen = np.zeros((height, width), SEEN)
    seen["family"], seen["distance"] = WALL, 2.0
    seen["normal"] = (0.0, 1.0, 0.0)
    return seen


def layers_of(
    light: np.ndarray, seen: np.ndarray, noise: float = NOISE, albedo: float | np.ndarray = 0.5, seed: int = 1
) -> Layers:
    """Layers whose two halves have the given (h, w) illuminance with independent normal noise."""
    random = np.random.default_rng(seed)
    halves = light * (1.0 + math.sqrt(2.0) * noise * random.standard_normal((2, *light.shape)))
    grey = np.broadcast_to(albedo, light.shape)[None, ..., None] / math.pi
    arriving = np.broadcast_to(halves.mean(axis=0)[None, ..., None], (1, *light.shape, 3)).astype(np.float32)
    difference = np.broadcast_to(0.5 * (halves[0] - halves[1])[None, ..., None], arriving.shape)
    radiance = (arriving * grey).astype(np.float32)
    none = np.zeros((16, 0, 1, 2, 3))
    kept = (difference * grey).astype(np.float16)
    return Layers(MIX, radiance, 0.0 * radiance, arriving, seen, none, 0.0, 1, 1, 0.0, 0, False, kept)


def light_of(picture: np.ndarray, albedo: float | np.ndarray = 0.5) -> np.ndarray:
    """(h, w) illuminance that a picture of a Lambertian surface tells."""
    return np.asarray(luminance(picture) * math.pi / albedo)


def flat(value: float = 100.0) -> np.ndarray:
    return np.full((SIDE, SIDE), value)


def test_even_light_passes_unchanged() -> None:
    layers = layers_of(flat(), wall(), noise=0.0)
    np.testing.assert_allclose(denoised(layers), layers.picture(), rtol=1e-5)


def test_noise_falls_and_the_mean_stays() -> None:
    """The mean of n pixels with the standard error s has s / sqrt(n); the filter may add none to it."""
    found = light_of(denoised(layers_of(flat(), wall()))) / 100.0
    assert abs(found.mean() - 1.0) < 4.0 * NOISE / SIDE
    # 24 neighbours of B3 weights leave (70 / 256) of the noise of independent pixels, in one pass alone
    assert (found - 1.0).std() < NOISE * 70.0 / 256.0


@pytest.mark.parametrize(("noise", "moved"), [(0.05, 0.0), (0.1, 0.1)])
def test_a_hard_edge_keeps_its_place_and_width(noise: float, moved: float) -> None:
    """A step of one stop: columns beside it move by the noise of their mean alone, or in much noise, in
    which pixels of both sides overlap, by no more than a tenth of the step."""
    light = flat()
    light[:, SIDE // 2 :] = 200.0
    columns = light_of(denoised(layers_of(light, wall(), noise))).mean(axis=0)
    allowed = 4.0 * noise / math.sqrt(SIDE)
    np.testing.assert_allclose(columns[SIDE // 2 - 3 : SIDE // 2], 100.0, rtol=allowed, atol=100.0 * moved)
    np.testing.assert_allclose(columns[SIDE // 2 : SIDE // 2 + 3], 200.0, rtol=allowed, atol=100.0 * moved)


def test_a_soft_edge_keeps_its_width() -> None:
    """A penumbra of 10 pixels from 1 to 3 stops more: from 10 to 90 % of the way within a tenth."""
    height, width, middle = 200, SIDE, 0.5 * (SIDE - 1)
    ramp = np.clip((np.arange(width) - middle) / 10.0 + 0.5, 0.0, 1.0)
    light = np.broadcast_to(50.0 + 350.0 * ramp, (height, width))
    for noise in (0.07, 0.15):
        columns = light_of(denoised(layers_of(light, wall(height, width), noise))).mean(axis=0)
        at = [np.interp(50.0 + 350.0 * share, columns, np.arange(width)) for share in (0.1, 0.5, 0.9)]
        assert at[2] - at[0] == pytest.approx(8.0, rel=0.1)
        assert at[1] == pytest.approx(middle, abs=0.25)


def test_no_light_leaks_to_another_surface() -> None:
    """However noisy the bright side is, so that light alone would not tell them apart."""
    light, seen = flat(), wall()
    light[:, : SIDE // 2] = 10.0
    seen["number"][:, : SIDE // 2] = 1
    random = np.random.default_rng(3).standard_normal((SIDE, SIDE))
    noise = np.where(seen["number"] == 1, 0.0, 1.0)
    layers = layers_of(light * (1.0 + 0.3 * noise * random), seen, noise=0.0)
    assert layers.difference is not None
    layers.difference[...] = (0.5 / math.pi * 30.0 * noise * random)[None, ..., None]
    dark = seen["number"] == 1
    np.testing.assert_allclose(denoised(layers)[dark], layers.picture()[dark], rtol=1e-5)


def two_albedos() -> np.ndarray:
    """(h, w) at random, pixel by pixel."""
    return np.where(np.random.default_rng(5).random((SIDE, SIDE)) < 0.5, 0.1, 0.6)


def test_texture_stays() -> None:
    """Albedo is put back, light loses its noise."""
    seen, albedo = wall(), two_albedos()
    seen["albedo"] = albedo[..., None]
    found = light_of(denoised(layers_of(flat(), seen, albedo=albedo)), albedo) / 100.0
    assert (found - 1.0).std() < NOISE * 70.0 / 256.0


def test_texture_stays_that_no_albedo_tells() -> None:
    """As within a pixel, or of a shine. What differs by `spread` from pixel to pixel and by `noise` from half
    to half goes to the mean about it by noise / spread, of variances; the mean by 1, 4, 6, 4, 1 along each
    side is off by 70 / 256 of the spread."""
    seen, albedo = wall(), two_albedos()
    seen["albedo"] = albedo.mean()
    found = light_of(denoised(layers_of(flat(), seen, albedo=albedo)), albedo) / 100.0
    spread, noise = albedo.var(), NOISE**2 * (albedo**2).mean()
    toward = noise / spread * np.hypot(np.abs(albedo - albedo.mean()), albedo.std() * 70.0 / 256.0) / albedo
    assert (found - 1.0).std() < np.hypot(NOISE * 70.0 / 256.0, np.sqrt((toward**2).mean()))


def test_a_lamp_is_left_alone() -> None:
    seen = wall()
    seen["family"][20:40, 20:40], seen["emits"][20:40, 20:40] = PART, 1
    layers = layers_of(flat(), seen)
    lamp = seen["emits"] == 1
    layers.radiance[:, lamp] += np.float32(1000.0)
    np.testing.assert_array_equal(denoised(layers)[lamp], layers.picture()[lamp])


def test_a_lamp_that_is_off_is_a_surface() -> None:
    """It sends what it gets from the key; in the mix it is on or off."""
    seen = wall()
    seen["family"], seen["emits"], seen["albedo"] = PART, 1, 0.5
    key = layers_of(flat(), seen)
    assert key.difference is not None
    mix = Mix((*MIX.faders, Fader("lamp", cct=3000.0)))
    glow = np.full_like(key.radiance, 500.0)
    radiance, nothing = np.concatenate([key.radiance, glow]), np.zeros_like(key.irradiance)
    both = replace(
        key,
        mix=mix,
        radiance=radiance,
        bounced=0.0 * radiance,
        irradiance=np.concatenate([key.irradiance, nothing]),
        difference=np.concatenate([key.difference, nothing.astype(np.float16)]),
    )
    np.testing.assert_array_equal(denoised(both), both.picture())
    off = both.with_mix(mix.changed(mute=["lamp"]))
    assert not off.with_mix(mix.changed(mute=["key"])).unlit().any()
    assert off.unlit().all()
    assert (light_of(denoised(off)) / 100.0 - 1.0).std() < NOISE * 70.0 / 256.0


def test_a_catchlight_stays_and_a_spark_goes() -> None:
    """Both are one bright pixel; the halves agree on the one that is there."""
    layers = layers_of(flat(), wall())
    assert layers.difference is not None
    bright = np.float32(2000.0)
    layers.radiance[0, 20, 20] += bright
    layers.radiance[0, 40, 40] += bright
    layers.difference[0, 40, 40] = bright  # all of it in the first half
    before, after = luminance(layers.picture()), luminance(denoised(layers))
    assert after[20, 20] == pytest.approx(before[20, 20], rel=0.01)
    assert after[40, 40] < 0.1 * before[40, 40]


def test_mirrored_light_gives_the_mirrored_picture() -> None:
    seen = wall()
    seen["family"][10:30, 5:25] = MESH
    layers = layers_of(np.add.outer(np.linspace(50.0, 100.0, SIDE), np.linspace(0.0, 80.0, SIDE)), seen)
    assert layers.difference is not None
    turned = Layers(
        MIX,
        layers.radiance[:, :, ::-1],
        layers.bounced[:, :, ::-1],
        layers.irradiance[:, :, ::-1],
        seen[:, ::-1],
        *(layers.replicas, 0.0, 1, 1, 0.0, 0, False),
        layers.difference[:, :, ::-1],
    )
    np.testing.assert_allclose(denoised(turned)[:, ::-1], denoised(layers), rtol=1e-4)


@pytest.mark.parametrize("shape", [(40, 33), (3, 50), (1, 1), (9, 2)])
def test_sums_over_squares_are_those_of_a_library(shape: tuple[int, int]) -> None:
    """Against scipy.ndimage.convolve with ones."""
    plane = np.random.default_rng(4).random(shape).astype(np.float32)
    expected = convolve(plane.astype(float), np.ones((WINDOW, WINDOW)), mode="constant")
    np.testing.assert_allclose(box_sum(plane), expected, rtol=1e-5)


def test_threads_change_nothing() -> None:
    layers = layers_of(flat(), wall())
    np.testing.assert_array_equal(denoised(layers, threads=1), denoised(layers, threads=5))


def test_layers_without_halves_stay_raw() -> None:
    layers = layers_of(flat(), wall())
    alone = Layers(**{**layers.__dict__, "difference": None})
    np.testing.assert_array_equal(denoised(alone), layers.picture())


def test_numbers_know_nothing_of_it_and_a_mix_is_cleaned_again(tmp_path: Path) -> None:
    (tmp_path / "scene.toml").write_text(SCENE)
    preview = Preview.trace(load(tmp_path / "scene.toml"), within=0.5, face=False)
    for name, grain in (("clean", False), ("grain", True)):
        write(preview, tmp_path / name, grain=grain)
    for name in ("numbers.json", "layers.exr"):
        clean, grain = ((tmp_path / folder / name).read_bytes() for folder in ("clean", "grain"))
        assert clean == grain, name
    assert json.loads((tmp_path / "clean" / "numbers.json").read_text())["marks"]
    again = read(tmp_path / "clean")
    assert not np.array_equal(preview.picture(), preview.picture(raw=True))
    np.testing.assert_array_equal(again.picture(), preview.picture())
    np.testing.assert_array_equal(
        again.mixed(dim={"key": 0.5}).key_picture(raw=True),
        preview.mixed(dim={"key": 0.5}).key_picture(raw=True),
    )
    half = preview.mixed(dim={"key": 0.5})
    np.testing.assert_allclose(denoised(half.layers), 0.5 * denoised(preview.layers), rtol=1e-3, atol=1e-6)
