"""Bands: the palette, a step wedge, textures, lines, smoothing, regions."""

from __future__ import annotations

import math

import numpy as np
import pytest

from renderer.colour import D65_XYZ, RGB_TO_XYZ, Y_WEIGHTS, lightness, srgb_decode
from renderer.picture.bands import CLIPPED, EMPTY, FLOOR, PALETTE, classify, colour_of, draw_lines, paint
from renderer.picture.region import depth, find_regions, without_specks
from renderer.picture.smooth import noise_in_stops, smooth

# Machado, Oliveira, Fernandes, IEEE TVCG 15(6), 2009, severity 1.0, on linear RGB (from memory).
SIGHT = {
    "common": np.eye(3),
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritan": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def linear_palette() -> np.ndarray:
    return srgb_decode(np.array([colour_of(band) for band in sorted(PALETTE)]) / 255.0)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIE 1976 L*a*b*, CIE 15, with the cube root's straight part folded into L*: f = (L* + 16) / 116."""
    f = (lightness(np.clip(rgb, 0.0, 1.0) @ RGB_TO_XYZ.T / D65_XYZ) + 16.0) / 116.0
    return np.stack([116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])], axis=1)


def test_lightness_of_the_palette_rises_and_zero_is_neutral() -> None:
    levels = lightness(linear_palette() @ Y_WEIGHTS)
    assert (np.diff(levels) > 5.0).all()
    assert len(set(colour_of(0))) == 1
    assert all(b > r for r, _, b in (colour_of(band) for band in range(-6, 0)))
    assert all(r > b for r, _, b in (colour_of(band) for band in range(1, 5)))


@pytest.mark.parametrize("sight", SIGHT)
def test_neighbours_are_told_apart_by_every_kind_of_sight(sight: str) -> None:
    seen = lab(linear_palette() @ np.asarray(SIGHT[sight]).T)
    # CIE 1976 dE; 2.3 is about the least that is noticed (Mahy et al. 1994, from memory).
    assert (np.linalg.norm(np.diff(seen, axis=0), axis=1) > 8.8).all()


def test_bands_are_centred_on_whole_stops() -> None:
    stops = np.array(
        [[-6.6, -6.0, -5.51, -5.5, -0.5, -0.51, 0.0, 0.49, 0.5, 2.46, 2.48, 9.0, np.nan, -math.inf]]
    )
    expected = [FLOOR, -6, -6, -5, 0, -1, 0, 0, 1, 2, CLIPPED, CLIPPED, EMPTY, FLOOR]
    np.testing.assert_array_equal(classify(stops, math.log2(1 / 0.18), -6.0)[0], expected)
    open_ended = [-6, -6, -6, -5, 0, -1, 0, 0, 1, 2, 2, 4, EMPTY, -6]
    np.testing.assert_array_equal(classify(stops, math.inf, -math.inf)[0], open_ended)


def test_textures_hold_only_black_and_white() -> None:
    for code, white in ((CLIPPED, 5 / 7), (FLOOR, 0.04)):
        pixels = paint(np.full((140, 140), code, dtype=np.int8))
        assert set(np.unique(pixels)) == {0, 255}
        assert (pixels == 255).mean() == pytest.approx(white, abs=1e-9)
    hatch = paint(np.full((50, 50), CLIPPED, dtype=np.int8))[:, :, 0]
    np.testing.assert_array_equal(hatch[1:, :-1], hatch[:-1, 1:])  # constant along 45 degrees
    twice = paint(np.full((100, 100), CLIPPED, dtype=np.int8), scale=2)[:, :, 0]
    assert (twice == 255).mean() == pytest.approx(5 / 7, abs=0.02)


@pytest.mark.parametrize("scale", [1, 2])
def test_line_runs_on_the_brighter_side(scale: int) -> None:
    codes = np.repeat(np.array([[-5, -2, 0, 1]], dtype=np.int8).repeat(20, axis=1), 10, axis=0)
    pixels = paint(codes)
    draw_lines(pixels, codes, scale)
    changed = (pixels != paint(codes)).any(axis=(0, 2))
    np.testing.assert_array_equal(
        np.flatnonzero(changed), [x + i for x in (20, 40, 60) for i in range(scale)]
    )
    assert pixels[5, 20].min() > colour_of(-2)[0]  # lighter in the dark bands
    assert pixels[5, 60].max() < colour_of(1)[0]  # darker in the light ones


def test_regions_of_a_known_picture() -> None:
    codes = np.array([[1, 1, 2, 1], [2, 1, 2, 1], [2, 1, 1, 1], [3, 3, 2, 2]], dtype=np.int8)
    regions = find_regions(codes)
    found = sorted(zip(regions.code.tolist(), regions.area.tolist(), strict=True))
    assert found == [(1, 8), (2, 2), (2, 2), (2, 2), (3, 2)]
    np.testing.assert_array_equal(regions.code[regions.of_pixel], codes)


def test_regions_agree_with_a_flood_fill() -> None:
    codes = np.random.default_rng(3).integers(0, 3, (40, 50)).astype(np.int8)
    codes = np.repeat(np.repeat(codes, 2, axis=0), 2, axis=1)
    filled, count = np.full(codes.shape, -1), 0
    for start in np.ndindex(codes.shape):
        if filled[start] < 0:
            stack = [start]
            while stack:
                y, x = stack.pop()
                if 0 <= y < 80 and 0 <= x < 100 and filled[y, x] < 0 and codes[y, x] == codes[start]:
                    filled[y, x] = count
                    stack += [(y + 1, x), (y - 1, x), (y, x + 1), (y, x - 1)]
            count += 1
    regions = find_regions(codes)
    assert len(regions.area) == count
    assert len(np.unique(filled * count + regions.of_pixel)) == count  # one to one


@pytest.mark.parametrize("reach", [4, 15])
def test_depth_agrees_with_trying_every_pixel(reach: int) -> None:
    codes = np.zeros((24, 30), dtype=np.int8)
    codes[5:20, 8:28] = 1
    codes[9:12, 14:16] = 2
    framed = np.pad(codes, 1, constant_values=99)
    y, x = np.mgrid[0:26, 0:32]
    found = depth(codes, reach)
    for at in np.ndindex(codes.shape):
        other = framed != codes[at]
        nearest = np.hypot(y[other] - at[0] - 1, x[other] - at[1] - 1).min()
        assert found[at] == pytest.approx(min(nearest, reach), abs=1e-5)


def test_specks_go_but_catchlights_and_emptiness_stay() -> None:
    codes = np.zeros((40, 40), dtype=np.int8)
    codes[:, 20:] = 1
    codes[5:8, 5:8] = -1
    codes[5:7, 30:32] = CLIPPED
    codes[20, 30] = CLIPPED
    codes[30, 5] = EMPTY
    clean = without_specks(codes, 20)
    assert (clean[5:8, 5:8] == 0).all()
    assert (clean[5:7, 30:32] == CLIPPED).all()
    assert clean[20, 30] == 1
    assert clean[30, 5] == EMPTY
    alone = np.full((9, 9), EMPTY, dtype=np.int8)
    alone[4, 4] = 2
    np.testing.assert_array_equal(without_specks(alone, 20), alone)


@pytest.mark.parametrize("noise", [0.1, 0.3])
def test_smoothing_takes_noise_away_and_not_light(noise: float) -> None:
    rng = np.random.default_rng(11)
    flat = 5.0 * rng.gamma(noise**-2, noise**2, (200, 200))  # mean 5, relative sd `noise`
    clean = smooth(flat)
    assert clean.std() < 0.3 * flat.std()
    # A stop is .693 in ln: sd in stops of small relative noise; gamma's own skew adds a little.
    assert noise_in_stops(flat) == pytest.approx(noise / math.log(2.0), rel=0.05)
    # Weights by distance in stops favour a pixel's like, and so shift the mean; 0.04 stop is the claim.
    assert abs(math.log2(clean.mean() / 5.0)) < 0.04


def test_smoothing_keeps_edges_fireflies_out_and_emptiness_empty() -> None:
    rng = np.random.default_rng(12)
    truth = np.where(np.arange(100)[None, :] < 50, 1.0, 1.5) * np.ones((100, 1))
    ids = (truth > 1.2).astype(int)
    noisy = truth * rng.gamma(25.0, 1 / 25.0, truth.shape)
    noisy[20, 20] = 5000.0
    noisy[60:64, 60:64] = np.nan
    clean = smooth(noisy, ids)
    assert clean[20, 20] < 2.0
    np.testing.assert_array_equal(np.isnan(clean), np.isnan(noisy))
    # Columns next to the edge hold their own level, though it is only .58 stop high: sd of the mean of
    # 100 pixels smoothed to a third of 20 % is under 1 %, plus correlation down the column: 4 % is 3 sd.
    assert clean[:, 49].mean() == pytest.approx(1.0, rel=0.04)
    assert clean[:, 50].mean() == pytest.approx(1.5, rel=0.04)
