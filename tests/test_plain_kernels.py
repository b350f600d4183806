"""The kernels without the compiler and on a simulated graphics card: the very film that compiled ones make.

Without the compiler every index is checked by numpy, so a wrong one shows here as a failure and not
elsewhere as a wrong picture. The scenes have every shape, table and surface that kernels know.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from renderer import assets
from renderer.film.pool import Pool
from renderer.film.wall_light import with_wall_light, with_walls_to_pass
from renderer.kernels.entry import PIXEL, PROBE, trace
from renderer.meter.mark import marks_of, probes_of
from renderer.scene.change import changed
from renderer.scene.load import load
from renderer.world.build import build

HERE = Path(__file__).parent
EMPTY_CHAIR = {"sitter.mesh": "none"}
SCENES: dict[str, dict[str, Any]] = {
    "default": {"sitter.subsurface": True},  # tubes with a skirt, a panel, a bulb, a card; skin, hair, eyes
    "oboist-6-silver-card": EMPTY_CHAIR,  # a rough metal
    "potter-14-breakup": EMPTY_CHAIR,  # a mask
    "potter-16-thin-sheet": EMPTY_CHAIR,  # a weave
    "oboist-5-lamp": EMPTY_CHAIR,  # an open shade; a practical
    "oboist-4-slash": EMPTY_CHAIR,  # light by direction
    "potter-9-window": EMPTY_CHAIR,
    "oboist-2-card": {  # lenses before the eyes, which fill the picture
        "sitter.glasses": {},
        "camera.lens_mm": 700,
        "camera.aim": [0.0, 0.0, 1.22],
    },
}
SIDE = 16
SEED = 11
EXACT = 1e-4  # of the brightest value: what single-precision sums in another order leave


@pytest.fixture(scope="module")
def films(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Any]]:
    """A file of packed scenes, and what the compiled kernels make of them."""
    packs, expected = [], []
    for k, (name, changes) in enumerate(SCENES.items()):
        scene = changed(
            load(assets.folder("scenes") / f"{name}.toml"), {**changes, "camera.picture": [SIDE, SIDE]}
        )
        world = build(scene)
        probes = probes_of([mark for mark in marks_of(world)[0] if mark.name in scene.mark])
        rng = np.random.default_rng(k)
        pixels = np.sort(rng.choice(SIDE * SIDE, 10, replace=False)).astype(np.int32)
        meters = np.arange(len(probes), dtype=np.int32)
        jobs = [(pixels, PIXEL, range(2), 0, 1), (meters, PROBE, range(2), 0, 2)]
        with Pool(2) as pool:
            metered = (with_wall_light, with_walls_to_pass, None)[k % 3]
            packed = metered(pool, world.packed, world.camera, SEED) if metered else world.packed
            tally = Pool.tally(2, SIDE * SIDE, len(packed.lights), seen=SIDE * SIDE)
            assert pool.run(packed, world.camera, probes, tally, SEED, jobs)
        packs.append((packed, world.camera, probes, SIDE * SIDE, SEED, jobs))
        expected.append((tally.radiance, tally.irradiance, tally.samples))
    path = tmp_path_factory.mktemp("plain") / "scenes.pickle"
    path.write_bytes(pickle.dumps(packs))
    return path, expected


@pytest.mark.parametrize(
    ("on", "settings"),
    [
        ("threads", {"NUMBA_DISABLE_JIT": "1"}),
        ("card", {"NUMBA_DISABLE_JIT": "1", "NUMBA_ENABLE_CUDASIM": "1"}),
        pytest.param("threads", {"NUMBA_BOUNDSCHECK": "1"}, marks=pytest.mark.slow),
    ],
)
def test_the_same_film(films: tuple[Path, list[Any]], on: str, settings: dict[str, str]) -> None:
    """Without the compiler, on a simulated card, and compiled so that every index is checked."""
    path, expected = films
    out = path.parent / f"{on}.pickle"
    command = [sys.executable, str(HERE / "plain_trace.py"), str(path), str(out), on]
    where = os.pathsep.join([str(HERE.parent), *sys.path])
    told = subprocess.run(
        command,
        env={**os.environ, **settings, "PYTHONPATH": where, "HALFSTOP_CACHE": str(path.parent)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 0, told.stderr[-1500:]
    for name, own, plain in zip(SCENES, expected, pickle.loads(out.read_bytes()), strict=True):
        assert (own[2] == plain[2]).all(), name
        assert own[0].max() > 0.0, name
        for a, b in zip(own[:2], plain[:2], strict=True):
            np.testing.assert_allclose(a, b, rtol=EXACT, atol=EXACT * float(a.max()), err_msg=name)


WRONG_INDEX = """
import numba
import numpy as np
from renderer.kernels.compiler import kernel

@kernel
def picked(array, i):
    return array[i]

@numba.njit
def called(array, i):
    return picked(array, i)

print(called(np.ones(3), 2))
print(called(np.ones(3), 3))
"""


def test_a_wrong_index_is_told(tmp_path: Path) -> None:
    """What the slow run above rests on: checks reach kernels that only kernels call."""
    told = subprocess.run(
        [sys.executable, "-c", WRONG_INDEX],
        env={**os.environ, "NUMBA_BOUNDSCHECK": "1", "HALFSTOP_CACHE": str(tmp_path)},
        cwd=HERE.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.stdout == "1.0\n"
    assert "IndexError: index is out of bounds" in told.stderr


def test_compiled_once_for_all_scenes(films: tuple[Path, list[Any]]) -> None:
    """A second signature would cost every person a minute, at the scene that asks for it first."""
    assert len(films[1]) == len(SCENES)
    assert len(trace.signatures) == 1
