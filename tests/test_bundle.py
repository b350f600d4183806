"""Structures of arrays by one address, as kernels of a graphics card read them; here the processor does."""

from __future__ import annotations

from typing import Any

import numba
import numpy as np
import pytest
from small_scene import small

from renderer.film.pool import Pool
from renderer.kernels.bundle import opened, table_of
from renderer.kernels.layout import SEEN, PackedScene, Tally

tally_at, scene_at = opened(Tally), opened(PackedScene)


@numba.njit
def add_to_tally(table: Any, half: int, receiver: int, light: int) -> Any:
    tally = tally_at(table)
    tally.radiance[half, receiver, light, 1, 2] += 2.5
    tally.irradiance[half, receiver, light, 1] = 7.0
    tally.seen[receiver].patch = 5
    return tally.samples[half, receiver], tally.radiance.shape, tally.irradiance.size


@numba.njit
def read_of_scene(table: Any, i: int, k: int) -> Any:
    scene = scene_at(table)
    mesh = scene.mesh
    return mesh.triangles[i, k], mesh.materials.shape[0], scene.room[0].high[1], scene.shapes[0].luminance


def test_sums_land_where_numpy_has_them() -> None:
    rng = np.random.default_rng(1)
    tally = Pool.tally(2, 5, 3, seen=5)
    tally.samples[:] = rng.integers(0, 99, tally.samples.shape)
    expected = Tally(*(it.copy() for it in tally))
    for half, receiver, light in ((0, 0, 0), (1, 4, 2), (0, 3, 1)):
        samples, shape, size = add_to_tally(np.array(table_of(tally)), half, receiver, light)
        assert samples == expected.samples[half, receiver]
        assert shape == expected.radiance.shape and size == expected.irradiance.size
        expected.radiance[half, receiver, light, 1, 2] += 2.5
        expected.irradiance[half, receiver, light, 1] = 7.0
        expected.seen["patch"][receiver] = 5
    for found, wanted in zip(tally, expected, strict=True):
        assert (found == wanted).all()


def test_a_packed_scene_is_as_it_is_declared_and_read_so() -> None:
    """`table_of` compares every array with its declaration, those of the mesh too."""
    packed = small().packed
    table = np.array(table_of(packed))
    for i, k in ((0, 0), (len(packed.mesh.triangles) - 1, 8)):
        corner, count, high, luminance = read_of_scene(table, i, k)
        assert corner == packed.mesh.triangles[i, k] and count == len(packed.mesh.materials)
        assert high == packed.room["high"][0, 1] and luminance == packed.shapes["luminance"][0]


@pytest.mark.parametrize(
    "wrong",
    [
        {"samples": np.zeros((2, 5), np.int64)},
        {"irradiance": np.zeros((2, 5, 3, 4), np.float32)},
        {"samples": np.zeros(10, np.int32)},
        {"seen": np.zeros(5, [("family", "i4")])},
    ],
)
def test_what_is_not_as_declared_is_refused(wrong: dict[str, np.ndarray]) -> None:
    tally = Pool.tally(2, 5, 3, seen=5)
    with pytest.raises(TypeError, match=f"Tally.{next(iter(wrong))}"):
        table_of(tally._replace(**wrong))
    assert tally.seen.dtype == SEEN
