"""The vector unit and raw memory against their plain twins, the single-precision sieve against exact rays.

The plain bodies are the definitions; that the sieve neither loses a hit nor invents one is checked against
the same inequalities in rational arithmetic.
"""

from __future__ import annotations

import os
import subprocess
import sys
from fractions import Fraction

import numpy as np
import pytest

from renderer.kernels import address
from renderer.kernels.block import may_hit, may_hit_plain, must_hit, must_hit_plain
from renderer.kernels.compiler import entry
from renderer.kernels.lanes import LANES, WIDEN, box_entries, box_entries_plain, lowest_bit, lowest_bit_plain
from renderer.kernels.ray import inverse
from renderer.kernels.wide import NODE_SIZE, pack_blocks, pack_nodes

FAR = np.float32(np.inf)


@entry
def vector_boxes(node, start, inverse_d, far_inverse_d, near, t_max, entries):
    return box_entries(node, start, inverse_d, far_inverse_d, near, t_max, entries)


@entry
def vector_sieve(block, start, direction, t_max):
    return may_hit(block, start, direction, t_max), must_hit(block, start, direction, t_max)


@entry
def inverse_of(x):
    return inverse(x)


@entry
def lowest(mask):
    return lowest_bit(mask)


@entry
def memory(array, value):
    """Everything address.py does, on an array of four int64."""
    at = address.address_of(array)
    address.put_long(at + 24, value)
    whole, single = address.whole_at, address.single_at
    return at, whole(at), whole(at + 4), single(at + 8), address.long_at(at + 16)


def singles(v: np.ndarray) -> tuple[np.float32, ...]:
    return tuple(np.float32(x) for x in v)


@pytest.mark.parametrize("value", [0, -1, 1 << 40, -(1 << 62)])
def test_compiled_reads_and_writes_are_the_plain_ones(value: int) -> None:
    array = np.array([-5 + (7 << 32), 0, -3 - (1 << 50), 1], np.int64)
    array[1:2].view(np.float32)[0] = -1.75
    found = memory(array, value)
    at = address.address_of_plain(array)
    plain = address.whole_at_plain(at), address.whole_at_plain(at + 4), address.single_at_plain(at + 8)
    assert found == (at, *plain, address.long_at_plain(at + 16))
    assert plain == (-5, 6, -1.75)
    assert array[3] == value
    address.put_long_plain(at + 24, value ^ 1)
    address.put_single_plain(at + 8, 2.5)
    assert array[3] == value ^ 1
    assert array[1:2].view(np.float32)[0] == 2.5


def test_lowest_bit() -> None:
    for mask in range(1, 256):
        assert lowest(mask) == lowest_bit_plain(mask) == (mask & -mask).bit_length() - 1


def test_vector_box_test_is_the_plain_one() -> None:
    rng = np.random.default_rng(9)
    hits = 0
    for round_ in range(4000):
        a, b = rng.normal(size=(2, 3, LANES)).astype(np.float32)
        planes = np.concatenate([np.minimum(a, b), np.maximum(a, b)])
        planes[:3, 5], planes[3:, 5] = np.inf, -np.inf  # an empty place
        if round_ % 4 == 1:  # a box without thickness
            planes[3, :3] = planes[0, :3]
        o = rng.normal(size=3).astype(np.float32)
        d = rng.normal(size=3)
        if round_ % 4 == 2:  # along an axis, either sign of nought
            d[rng.integers(0, 3)] = rng.choice([0.0, -0.0, 1e-35])
        if round_ % 4 == 3:  # from a plane of a box
            o[0] = planes[rng.choice([0, 3]), 2]
        nodes = pack_nodes(np.stack([np.full((6, 8), 7.0), planes]), np.zeros((2, 8), int))
        inverse_d = tuple(np.float32(inverse_of(x)) for x in d)
        near = tuple(32 * (k if inverse_d[k] >= 0 else 3 + k) for k in range(3))
        one, other = np.full(LANES, -1, np.float32), np.full(LANES, -2, np.float32)
        with np.errstate(all="ignore"):
            ray = (nodes.ctypes.data + NODE_SIZE, singles(o), inverse_d, singles(np.array(inverse_d) * WIDEN))
            t_max = np.float32(rng.choice([0.5, 2.0, np.inf]))
            plain = box_entries_plain(*ray, near, t_max, one.ctypes.data)
        assert vector_boxes(*ray, near, t_max, other.ctypes.data) == plain
        np.testing.assert_array_equal(one, other)
        hits += plain != 0
    assert 400 < hits < 3900


def exactly_hit(row: np.ndarray, o: np.ndarray, d: np.ndarray, t_max: float) -> bool:
    """Whether o + t d = a + u e1 + v e2 has u, v >= 0, u + v <= 1, 0 < t < t_max: Cramer, no rounding."""
    n = [Fraction(float(x)) for x in row]
    o_, d_ = [Fraction(float(x)) for x in o], [Fraction(float(x)) for x in d]
    s, e1, e2 = [o_[k] - n[k] for k in range(3)], n[3:6], n[6:]

    def volume(a: list[Fraction], b: list[Fraction], c: list[Fraction]) -> Fraction:
        cross = [b[(k + 1) % 3] * c[(k + 2) % 3] - b[(k + 2) % 3] * c[(k + 1) % 3] for k in range(3)]
        return sum((a[k] * cross[k] for k in range(3)), Fraction(0))

    det = volume(e1, d_, e2)
    if det == 0:
        return False
    u, v, t = volume(s, d_, e2) / det, volume(d_, s, e1) / det, volume(e2, s, e1) / det
    return u >= 0 and v >= 0 and u + v <= 1 and t > 0 and (np.isinf(t_max) or t < Fraction(t_max))


@pytest.mark.parametrize("size", [1e-3, 0.1, 3.0])
@pytest.mark.parametrize("kind", ["anywhere", "edge on", "needle", "at the start", "near t_max"])
def test_the_sieve_loses_no_hit_and_invents_none(size: float, kind: str) -> None:
    """Rays through edges and corners of triangles of every shape, from a millimetre to a room away."""
    rng = np.random.default_rng(int(1e4 * size) + len(kind))
    undecided, hits, tried = 0, 0, 0
    for _ in range(60):
        rows = np.empty((LANES, 9), np.float32)
        rows[:, :3] = rng.normal(size=3) + size * rng.normal(size=(LANES, 3))
        rows[:, 3:] = size * rng.normal(size=(LANES, 6))
        if kind == "needle":
            rows[:, 6:] = rows[:, 3:6] * rng.uniform(0.2, 2.0, (LANES, 1)) + 1e-5 * rows[:, 6:]
        held = int(rng.integers(1, LANES + 1))
        blocks = pack_blocks(np.array([[0, held]]), rows)
        for _ in range(4):
            aim = rows[rng.integers(held)].astype(float)
            u, v = rng.choice([0.0, 1e-7, 0.3, 0.7, 1.0], 2)
            target = aim[:3] + u * aim[3:6] + min(v, 1.0 - u) * aim[6:]
            away = rng.normal(size=3) * rng.choice([size, 3.0])
            if kind == "edge on":
                away = aim[3:6] * rng.normal() + aim[6:] * rng.normal() + 1e-6 * rng.normal(size=3)
            if kind == "at the start":
                away = 2e-5 * rng.normal(size=3)
            d = -away / np.linalg.norm(away)
            o = target + away
            t_max = np.inf
            if kind == "near t_max":
                t_max = float(np.linalg.norm(away)) * (1.0 + 1e-6 * rng.normal())
            ray = (blocks.ctypes.data, singles(o), singles(d), np.float32(t_max) * WIDEN)
            may, must = vector_sieve(*ray)
            with np.errstate(all="ignore"):
                assert (may, must) == (may_hit_plain(*ray), must_hit_plain(*ray))
            assert may >> held == 0
            for k in range(held):
                hit = exactly_hit(rows[k], o, d, t_max)
                assert not hit or may >> k & 1
                assert hit or not must >> k & 1
                undecided += (may ^ must) >> k & 1
                hits += hit
                tried += 1
    print(f"{kind}, {size} m: {hits} hits and {undecided} undecided of {tried}")
    assert hits > 50


def test_rays_without_the_compiler() -> None:
    """The whole traversal, plain: with numba switched off it says what it says compiled."""
    code = """
import numpy as np
from test_tree import by_tree, loose, rays, soup
rng = np.random.default_rng(3)
mesh = loose(soup("plain", rng, 60))
distance, number, any_hit = by_tree(mesh, *rays("to the middle", rng, 40))
print(distance.tolist(), number.tolist(), any_hit.tolist())
"""
    here = os.path.dirname(__file__)
    said = [
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "NUMBA_DISABLE_JIT": switch, "PYTHONPATH": os.pathsep.join([here, *sys.path])},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for switch in ("0", "1")
    ]
    assert said[0] == said[1]
    assert "True" in said[0]
    assert "False" in said[0]
