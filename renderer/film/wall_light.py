"""Metering the faces of the room beforehand, so that pictures need not follow every bounce.

Two sweeps: a short one that follows every path to its end, then a longer one whose paths end on walls
that the first has metered, or go on past them, as those of the picture do.
"""

from __future__ import annotations

import math

import numpy as np

from renderer.film.film import HALVES
from renderer.film.pool import Pool
from renderer.kernels.entry import PROBE
from renderer.kernels.layout import FLAT, PackedScene
from renderer.kernels.layout import PROBE as PROBE_RECORD
from renderer.kernels.tally import BOUNCED
from renderer.kernels.wall_light import INSET

NODES, SWEEPS = 24, (16, 64)  # along a side of each face; samples a node
COARSE_NODES, COARSE_SWEEPS = 12, (8, 24)  # while a light is being moved
# For paths that go on past walls in pairs: what nodes scatter by is evened out over many, and the nearer they
# are, the less is left of a pair. From 48 to 72 nodes the time to equal error is the same within a tenth.
FINE_NODES, FINE_SWEEPS = 64, (2, 10)
# Error that the grids may bring to the picture, of that which is asked for; how much longer than the one
# before each further sweep is for it, and how many there may be.
GRID_SHARE, LONGER, MOST_LONGER = 0.2, 4, 3
# Of bounces, for one sample of the light straight from the lights, once walls are metered. Two reach the same
# error in 0.7 to 1.05 of the time that one takes (six rigs, mean 0.85), three in 0.6 to 1.3.
PATHS = 2


def wall_probes(scene: PackedScene, nodes: int = NODES) -> np.ndarray:
    """A flat receptor (PROBE records) at every node of every face, in the order of `wall_light`."""
    low, high = scene.room[0]["low"] + INSET, scene.room[0]["high"] - INSET
    probes = np.zeros((6, nodes, nodes), PROBE_RECORD)
    probes["kind"] = FLAT
    steps = np.linspace(0.0, 1.0, nodes)
    for face in range(6):
        axis, upper = divmod(face, 2)
        first, second = [k for k in range(3) if k != axis]
        at, normal = probes["at"][face], probes["axis"][face]
        at[..., axis] = high[axis] if upper else low[axis]
        normal[..., axis] = -1.0 if upper else 1.0
        at[..., first] = (low[first] + (high[first] - low[first]) * steps)[:, None]
        at[..., second] = (low[second] + (high[second] - low[second]) * steps)[None, :]
    return probes.reshape(-1)


def with_wall_light(
    pool: Pool, scene: PackedScene, camera: np.ndarray, seed: int, coarse: bool = False
) -> PackedScene:
    """The scene with the light on its walls known, where paths end; itself where there is no room."""
    if not scene.room[0]["present"]:
        return scene
    nodes, sweeps = (COARSE_NODES, COARSE_SWEEPS) if coarse else (NODES, SWEEPS)
    for sweep, samples in enumerate(sweeps):
        scene = _metered(pool, scene, camera, seed + 1 + sweep, nodes, samples, 1)
    return with_paths(scene)


def with_walls_to_pass(
    pool: Pool,
    scene: PackedScene,
    camera: np.ndarray,
    seed: int,
    within: float = math.inf,
    nodes: int = FINE_NODES,
    sweeps: tuple[int, int] = FINE_SWEEPS,
) -> PackedScene:
    """The scene with the light on its walls known to each half of a film apart; some paths go on past them
    and put right what the grids smear. The scene itself where there is no room.

    within  error that the picture is to have [stops], which the grids shall add little to
    """
    if not scene.room[0]["present"]:
        return scene
    for sweep, samples in enumerate(sweeps):
        scene = without_bias(_metered(pool, scene, camera, seed + 1 + sweep, nodes, samples, HALVES))
    # Each sweep ends its paths on the grids of the one before, whose scatter is left in it where few samples
    # stand against many.
    for longer in range(1, MOST_LONGER + 1):
        if math.log2(1.0 + scatter_of(scene) / GRID_SHARE) <= within:
            break
        samples = sweeps[-1] * LONGER**longer
        scene = _metered(pool, scene, camera, seed + len(sweeps) + longer, nodes, samples, HALVES)
    return with_paths(scene)


def _metered(
    pool: Pool, scene: PackedScene, camera: np.ndarray, seed: int, nodes: int, samples: int, grids: int
) -> PackedScene:
    """The scene with its walls metered once more, by so many samples of every node of every grid."""
    probes = wall_probes(scene, nodes)
    receivers = np.arange(len(probes), dtype=np.int32)
    tally = pool.tally(grids, len(probes), len(scene.lights))
    pool.run(scene, camera, probes, tally, seed, [(receivers, PROBE, range(grids), 0, samples)])
    kinds = tally.radiance / np.float32(samples)
    every = kinds.sum(axis=3).reshape(grids, 6, nodes, nodes, -1, 3)
    bounced = _smooth(kinds[:, :, :, BOUNCED].reshape(every.shape))
    return scene._replace(wall_light=np.ascontiguousarray(np.concatenate([every, bounced], axis=-1)))


def scatter_of(scene: PackedScene) -> float:
    """What the mean of both grids scatters by, over a quarter of all nodes, for its light: about what it
    brings to a picture whose light has all met a wall."""
    light = scene.wall_light[..., :3].sum(axis=(-2, -1), dtype=np.float64)
    mean, nodes = light.mean(), light[0].size
    if not mean > 0.0:
        return 0.0
    apart = 0.5 * (light[0] - light[1])
    return float(math.sqrt(np.mean(apart**2) / (0.25 * nodes)) / mean)


def with_paths(scene: PackedScene) -> PackedScene:
    """A scene whose walls are metered, with as many bounces to a sample as serve a picture best."""
    return scene._replace(paths=np.full(1, PATHS, np.int32))


def without_bias(scene: PackedScene) -> PackedScene:
    """The scene with paths that go on past walls whose light is known, and put right what the grid smears."""
    return scene._replace(past_walls=np.ones(1, np.int32))


def _smooth(light: np.ndarray) -> np.ndarray:
    """Every node with its eight neighbours on the face, by 1, 2, 1 along each side: what has bounced varies
    slowly, and a wall that is looked at shows the noise of its nodes."""
    for axis in (2, 3):
        last = light.shape[axis] - 1
        before = np.take(light, [0, *range(last)], axis)
        after = np.take(light, [*range(1, last + 1), last], axis)
        light = 0.25 * before + 0.5 * light + 0.25 * after
    return light.astype(np.float32)
