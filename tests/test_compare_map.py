"""The map of a difference: closed forms, noise that stays neutral, a palette for every kind of sight."""

from __future__ import annotations

import numpy as np
import pytest
from test_picture_bands import SIGHT, lab

from renderer.colour import Y_WEIGHTS, lightness, srgb_decode
from renderer.picture.bands import EMPTY
from renderer.picture.difference_map import (
    CERTAIN,
    LIMITS,
    PALETTE,
    Change,
    _rgb,
    bands,
    change,
    difference_map,
)

SIZE = (120, 96)
SAME = np.zeros(SIZE, int)


def halves_of(level: np.ndarray, noise: float, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Two independent halves as their mean and half their difference."""
    one, other = (level * (1.0 + noise * 2**0.5 * rng.standard_normal(level.shape)) for _ in range(2))
    return 0.5 * (one + other), 0.5 * (one - other)


def test_a_known_quotient_is_found() -> None:
    """log2 of 2, 1/8 and 1: arithmetic."""
    first = np.ones(SIZE)
    second = np.ones(SIZE)
    second[:40], second[80:] = 2.0, 0.125
    ids = np.repeat([0, 1, 2], 40)[:, None] * np.ones(SIZE, int)
    found = change(first, second, None, ids, 1.0)
    assert found.stops[:40] == pytest.approx(1.0) and found.stops[80:] == pytest.approx(-3.0)
    assert (
        (bands(found)[:40] == 2).all()
        and (bands(found)[40:80] == 0).all()
        and (bands(found)[80:] == -4).all()
    )


def test_noise_stays_neutral_and_its_error_is_true() -> None:
    rng = np.random.default_rng(3)
    level = np.linspace(0.5, 4.0, SIZE[1]) * np.ones(SIZE)
    (a, ha), (b, hb) = halves_of(level, 0.1, rng), halves_of(level, 0.1, rng)
    found = change(a, b, (ha, hb), SAME, 1.0)
    # A mean over 25 pixels of a quotient of two with 10 % each: known in closed form.
    wanted = 0.1 * 2**0.5 / np.log(2.0) / 5.0
    inner = np.s_[10:-10, 10:-10]
    assert np.sqrt((found.error[inner] ** 2).mean()) == pytest.approx(wanted, rel=0.1)
    assert found.stops[inner].std() == pytest.approx(wanted, rel=0.15)
    assert found.certain[inner].mean() < 0.1  # 0.046 for a normal error known without error
    assert (bands(found) == 0).mean() > 0.999


def test_what_is_shared_drops_out() -> None:
    rng = np.random.default_rng(4)
    a, half = halves_of(np.ones(SIZE), 0.3, rng)
    found = change(a, 0.5 * a, (half, 0.5 * half), SAME, 1.0)
    assert found.stops == pytest.approx(-1.0) and found.error.max() < 1e-9 and found.certain.all()


def test_much_noise_takes_a_larger_square() -> None:
    rng = np.random.default_rng(5)
    (a, ha), (b, hb) = halves_of(np.ones(SIZE), 0.4, rng), halves_of(np.full(SIZE, 2.0**0.5), 0.4, rng)
    found = change(a, b, (ha, hb), SAME, 1.0)
    inner = np.s_[10:-10, 10:-10]
    assert found.error[inner].mean() == pytest.approx(0.4 * 2**0.5 / np.log(2.0) / 15.0, rel=0.15)
    assert found.certain[inner].mean() > 0.99
    unsure = Change(found.stops, 10.0 * found.error, np.abs(found.stops) > CERTAIN * 10.0 * found.error)
    assert (bands(unsure)[inner] == 0).mean() > 0.6


def test_dark_in_both_is_no_difference() -> None:
    found = change(np.full(SIZE, 1e-6), np.full(SIZE, 1e-5), None, SAME, 1.0)
    assert (bands(found) == EMPTY).all()
    assert difference_map(found, SAME, ("A", "B")).shape[1] > SIZE[1]


def test_no_mean_is_taken_over_an_edge() -> None:
    first = np.ones(SIZE)
    second = np.ones(SIZE)
    second[:, 48:] = 4.0
    ids = (np.arange(SIZE[1]) >= 48) * np.ones(SIZE, int)
    assert set(np.unique(bands(change(first, second, None, ids, 1.0)))) == {0, 3}


def test_planes_that_do_not_fit() -> None:
    with pytest.raises(ValueError, match="planes of one shape"):
        change(np.ones((3, 3)), np.ones((3, 4)), None, np.zeros((3, 3), int), 1.0)


@pytest.mark.parametrize("sight", SIGHT)
def test_the_palette_is_told_apart_by_every_kind_of_sight(sight: str) -> None:
    rgb = srgb_decode(np.array([_rgb(band) for band in sorted(PALETTE)]) / 255.0)
    seen = lab(rgb @ np.asarray(SIGHT[sight]).T)
    # CIE 1976 dE; 2.3 is about the least that is noticed (Mahy et al. 1994, from memory).
    assert (np.linalg.norm(np.diff(seen, axis=0), axis=1) > 8.8).all()
    assert (np.diff(lightness(rgb @ Y_WEIGHTS)) > 5.0).all()
    assert len(PALETTE) == 2 * len(LIMITS) + 1
