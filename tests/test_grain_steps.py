"""The compiled filter against the same told in plain numpy (plain_grain.py), and on a simulated card.

A made-up picture has all that the filter knows: curved, slanted and flat surfaces, hair, a lamp, the open,
texture, specks, a spark, and places where no light has arrived so far.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from plain_grain import plain_grain

from renderer.colour import luminance
from renderer.film.denoise import Grain
from renderer.kernels.grain import as_half
from renderer.kernels.layout import MESH, NOTHING, PART, SEEN, WALL
from renderer.world.material import HAIR

HERE = Path(__file__).parent
SINGLE = 1e-4  # what single precision leaves of a picture whose halves are differences of large numbers


def made_up(height: int, width: int) -> tuple[np.ndarray, ...]:
    """Picture, error, light and what is seen: the error is 20 % of the light, and some light is missing. Some
    surfaces send more or less for it, by noise and from pixel to pixel."""
    random = np.random.default_rng(6)
    y, x = np.mgrid[:height, :width] / max(height, width)
    seen = np.zeros((height, width), SEEN)
    seen["family"], seen["number"], seen["distance"] = WALL, 2, 2.0 + 0.3 * x
    seen["normal"] = (0.29, 0.957, 0.0)
    square = 0.09 - (x - 0.5) ** 2 - (y - 0.5) ** 2
    ball = square > 0.0
    seen["family"][ball], seen["number"][ball] = MESH, 0
    seen["distance"][ball] = 1.5 - np.sqrt(square[ball])
    across = np.stack([x - 0.5, np.sqrt(np.maximum(square, 0.0)), y - 0.5], axis=-1) / 0.3
    seen["normal"][ball] = across[ball]
    seen["number"][ball & (y < 0.3)] = HAIR
    lamp, nothing = (x > 0.8) & (y < 0.15), (x < 0.15) & (y < 0.15)
    seen["family"][lamp], seen["emits"][lamp] = PART, 1
    seen["family"][nothing] = NOTHING
    level = np.where(x < 0.45, 100.0, 300.0 * (1.2 - y))[..., None] * np.array([1.0, 0.9, 0.7])
    halves = level * (1.0 + 0.28 * random.standard_normal((2, height, width, 1)))
    halves *= 1.0 + 0.02 * random.standard_normal((2, height, width, 3))
    halves[0, random.random((height, width)) < 0.01] *= 30.0
    halves[:, random.random((height, width)) < 0.03] = 0.0
    halves[0, random.random((height, width)) < 0.02] *= -3.0  # less than nothing, for the mean as well
    albedo = np.where(random.random((height, width, 1)) < 0.3, 0.15, 0.5) / np.pi
    light = halves.mean(axis=0)
    sent = albedo * halves
    sent[:, y > 0.5] *= 1.0 + 0.05 * random.standard_normal((2, *sent[0, y > 0.5].shape))
    sent[:, x > 0.4] *= 1.0 + 0.5 * random.random(sent[0, x > 0.4].shape)
    error, picture = 0.5 * (sent[0] - sent[1]), sent.mean(axis=0)
    seen["albedo"] = np.pi * albedo
    return *(it.astype(np.float32) for it in (picture, error, light)), seen


@pytest.fixture(scope="module")
def given() -> tuple[np.ndarray, ...]:
    return made_up(46, 37)


def close(found: np.ndarray, expected: np.ndarray, picture: np.ndarray) -> None:
    np.testing.assert_allclose(found, expected, rtol=SINGLE, atol=SINGLE * float(picture.mean()))


def test_the_filter_is_the_one_told_in_numpy(given: tuple[np.ndarray, ...]) -> None:
    shown, difference, calm = plain_grain(*given)
    grain = Grain(*given)
    assert 0.3 < grain.plain.mean() < 0.9
    assert np.abs(shown - given[0])[grain.plain].mean() > 0.05 * given[0].mean()
    close(grain.shown, shown, given[0])
    close(grain.difference, difference, given[0])
    assert not np.allclose(calm, shown)
    assert luminance(shown).min() < 0.0 <= luminance(calm).min()
    close(grain.without_sparks(), calm, given[0])


@pytest.mark.parametrize("shape", [(1, 1), (1, 9), (3, 2), (5, 24)])
def test_small_pictures(shape: tuple[int, int]) -> None:
    picture, error, light, seen = made_up(*shape)
    seen["family"], seen["number"], seen["emits"] = WALL, 0, 0
    found = Grain(picture, error, light, seen)
    if min(shape) > 1:
        close(found.shown, plain_grain(picture, error, light, seen)[0], picture)
    assert np.isfinite(found.without_sparks()).all()


def test_a_pixel_alone_keeps_its_light() -> None:
    """One that is lit, on a surface of nine, has nobody to be compared with."""
    picture, error, light, seen = made_up(5, 5)
    seen["family"], seen["number"], seen["emits"] = WALL, 0, 0
    seen["number"][1:4, 1:4] = 1
    picture[2, 2], light[2, 2], error[2, 2] = 2.0, 10.0, 2.0
    found = Grain(picture, error, light, seen)
    np.testing.assert_allclose(found.shown[2, 2], 2.0, rtol=1e-5)
    np.testing.assert_allclose(found.without_sparks()[2, 2], 2.0, rtol=1e-5)


def test_normals_and_albedo_are_rounded_as_files_keep_them() -> None:
    """Against numpy's float16: all of it up to 1, both signs, points between, and ties."""
    halves = np.arange(0x3C00, dtype=np.uint16).view(np.float16).astype(np.float32)
    values = np.concatenate([halves, 0.5 * (halves[:-1] + halves[1:]), np.random.default_rng(2).random(2000)])
    for value in np.concatenate([values, -values]).astype(np.float32):
        assert as_half(value) == np.float32(np.float16(value)), value


@pytest.mark.parametrize(
    ("on", "settings"),
    [
        ("threads", {"NUMBA_DISABLE_JIT": "1"}),
        ("card", {"NUMBA_DISABLE_JIT": "1", "NUMBA_ENABLE_CUDASIM": "1"}),
    ],
)
def test_without_the_compiler(on: str, settings: dict[str, str], tmp_path: Path) -> None:
    given = made_up(18, 21)
    (tmp_path / "given").write_bytes(pickle.dumps(given))
    command = [
        sys.executable,
        str(HERE / "plain_clean.py"),
        str(tmp_path / "given"),
        str(tmp_path / "out"),
        on,
    ]
    where = os.pathsep.join([str(HERE.parent), *sys.path])
    told = subprocess.run(
        command,
        env={**os.environ, **settings, "PYTHONPATH": where},
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 0, told.stderr[-1500:]
    grain = Grain(*given)
    own = [grain.shown.copy(), grain.difference, grain.without_sparks()]
    for a, b in zip(own, pickle.loads((tmp_path / "out").read_bytes()), strict=True):
        close(a, b, given[0])
