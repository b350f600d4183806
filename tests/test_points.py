"""The scrambled Sobol points: nets in base 2, even, and independent from pair to pair and key to key.

source  Sobol 1967; Owen, Randomly permuted (t,m,s)-nets and (t,s)-sequences, 1995: a (0, 2)-sequence puts
        exactly one of every 2^k points (from a multiple of 2^k on) into each box 2^-a x 2^-(k - a)
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from light_lab import LIMIT
from statistic import chi_square, normal_score

from renderer.kernels.compiler import entry
from renderer.kernels.sampler import U32, pair_of


@entry
def fill(keys, pairs, numbers, out):
    for i in range(keys.shape[0]):
        out[i, 0], out[i, 1] = pair_of(U32(keys[i]), pairs[i], numbers[i])


def points(key: int | np.ndarray, pair: int, number: int | np.ndarray) -> np.ndarray:
    count = max(np.size(key), np.size(number))
    keys, numbers = (np.zeros(count, np.int64) + values for values in (key, number))
    out = np.empty((count, 2))
    fill(keys, np.full(count, pair), numbers, out)
    return out


@pytest.mark.parametrize("key", [0, 1, 123456789, 2**32 - 1])
@pytest.mark.parametrize("block", [0, 1, 5])
def test_every_block_is_a_net(key: int, block: int) -> None:
    for k in range(11):
        found = points(key, 3, block * 2**k + np.arange(2**k))
        assert found.min() >= 0.0
        assert found.max() < 1.0
        for a in range(k + 1):
            column, row = (found * [2**a, 2 ** (k - a)]).astype(int).T
            assert len(set(zip(column, row, strict=True))) == 2**k


def test_a_net_knows_plain_random_points_from_its_own() -> None:
    """The check above bites: random points leave boxes empty."""
    column, row = (np.random.default_rng(0).random((64, 2)) * 8).astype(int).T
    assert len(set(zip(column, row, strict=True))) < 64


@pytest.mark.parametrize("number", [0, 1, 777])
def test_one_point_is_even_over_keys(number: int) -> None:
    found = points(np.arange(1 << 17), 2, number)
    column, row = (found * 32).astype(int).T
    seen = np.bincount(32 * column + row, minlength=1024)
    assert abs(normal_score(*chi_square(seen, np.full(1024, len(found) / 1024)))) <= LIMIT


@pytest.mark.parametrize(
    ("first", "second"),
    [((1, 2, 0), (1, 3, 0)), ((1, 2, 1), (1, 3, 1)), ((1, 2, 0), (2, 2, 0)), ((1, 2, 0), (1, 4, 1))],
)
def test_pairs_and_keys_are_independent(first: tuple[int, int, int], second: tuple[int, int, int]) -> None:
    """(key, pair, dimension) against another, over 2^13 points: both margins are exactly even, so the
    table of 32 x 32 cells has 31^2 degrees of freedom."""
    count, side = 1 << 13, 32
    one, other = (points(key, pair, np.arange(count))[:, d] for key, pair, d in (first, second))
    seen = np.bincount(side * (one * side).astype(int) + (other * side).astype(int), minlength=side**2)
    value = float(((seen - count / side**2) ** 2).sum() / (count / side**2))
    assert abs(normal_score(value, (side - 1) ** 2)) <= LIMIT


def test_digits_after_the_first_that_differs_are_independent() -> None:
    """Owen 1995: below the first digit in which two points differ, their digits are independent."""
    keys = np.arange(1 << 16)
    first, second = (points(keys, 0, number)[:, 0] for number in (0, 1))  # they differ in the first digit
    for digit in range(2, 9):
        agree = ((first * 2**digit).astype(int) ^ (second * 2**digit).astype(int)) & 1 == 0
        assert abs(agree.mean() - 0.5) <= LIMIT * 0.5 / math.sqrt(len(keys))


def test_a_smooth_integral_converges_faster_than_by_chance() -> None:
    """The standard error of a smooth integral over scrambled nets falls like n^-1.5 sqrt(log n), over random
    points like n^-0.5. Owen, Scrambled net variance for integrals of smooth functions, 1997."""
    few, many, keys = 64, 1024, 64
    spread = []
    for count in (few, many):
        found = np.array([points(key, 1, np.arange(count)) for key in range(keys)])
        spread.append(np.exp(found.sum(axis=2)).mean(axis=1).std(ddof=1))
    fall = math.log(spread[1] / spread[0])
    expected = math.log((few / many) ** 1.5 * math.sqrt(math.log(many) / math.log(few)))
    error = math.sqrt(2.0 / (2.0 * (keys - 1)))  # of the difference of two logarithms of a spread
    assert fall <= expected + LIMIT * error
