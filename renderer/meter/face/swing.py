"""The lowest elevation of the key from which up spectacles are clear of it."""

from __future__ import annotations

import math

import numpy as np

from renderer.colour import luminance
from renderer.kernels import layout
from renderer.meter.face.mirror_image import SHOWN, Aimed, Field, Lattice, aimed
from renderer.meter.face.points import Tracer, with_shapes, without_bounce
from renderer.world.build import World

ELEVATIONS = np.arange(0.0, 91.0)  # deg over the level of the eyes
PITCHES, YAWS = np.arange(-10.0, 10.1, 5.0), np.arange(-15.0, 15.1, 7.5)  # deg about the pose as written
MOST_OF_LENS = 0.10  # share of a lens that may show it; none of the pupil


def swung(
    tracer: Tracer, worn: World, bare: layout.PackedScene, field: Field, lattices: list[Lattice], key: int
) -> tuple[float, float] | None:
    """For the head as it is and over all poses [deg]; 90 where nothing lower is clear, None without a key.

    The key is swung on the circle about the eyes, with its skirts, turned to them as it is now; nothing else
    is there then to hide it.
    """
    lamp = bare.lights[key]
    to_key = lamp["middle"] - field.head.origin
    level = math.hypot(to_key[0], to_key[1])
    if lamp["count"] == 0 or level < 1e-6:
        return None
    judged = [it for it in lattices if it.part in ("lens", "pupil")]
    rays = aimed(field, judged, PITCHES, YAWS)
    sizes = np.array([len(it.points) for it in judged])
    of_lens = np.array([it.part == "lens" for it in judged])
    ahead = np.array([to_key[0] / level, to_key[1] / level, 0.0])
    now = math.atan2(to_key[2], level)
    alone = without_bounce(_alone(worn, bare, key))
    shown = [
        _shares(tracer, alone, key, field, rays, ahead, math.radians(e) - now, sizes) for e in ELEVATIONS
    ]
    glare = np.array([(np.where(of_lens, share - MOST_OF_LENS, share) > 0.0).any(axis=2) for share in shown])
    as_is = glare[:, len(PITCHES) // 2, len(YAWS) // 2]
    return _from(np.asarray(as_is)), _from(np.asarray(glare.any(axis=(1, 2))))


def _from(glare: np.ndarray) -> float:
    """The elevation after the last that shows it."""
    last = np.flatnonzero(glare)
    return float(ELEVATIONS[min(len(ELEVATIONS) - 1, last[-1] + 1 if len(last) else 0)])


def _alone(worn: World, bare: layout.PackedScene, key: int) -> layout.PackedScene:
    """The scene with nothing in it but the key and its own dark parts, skirts among them."""
    lamp = bare.lights[key]
    dark = [sum(part.luminance <= 0.0 for part in layer.parts) for layer in worn.layers]
    first = int(bare.lights["count"].sum()) + len(worn.boards) + sum(dark[:key])
    own = [*range(lamp["first"], lamp["first"] + lamp["count"]), *range(first, first + dark[key])]
    lights = bare.lights.copy()
    lights["count"] = 0
    lights[key]["first"], lights[key]["count"] = 0, lamp["count"]
    return with_shapes(bare._replace(lights=lights), bare.shapes[own])


def _shares(
    tracer: Tracer,
    alone: layout.PackedScene,
    key: int,
    field: Field,
    rays: Aimed,
    ahead: np.ndarray,
    turn: float,
    sizes: np.ndarray,
) -> np.ndarray:
    """(pitches, yaws, lattices) share of each lattice that shows the key, swung up by `turn` [rad]: the rays
    are swung down instead."""
    start = field.head.origin + _swung_down(rays.start - field.head.origin, ahead, turn)
    way = _swung_down(rays.way, ahead, turn)
    lamp = alone.lights[key]
    to_middle = lamp["middle"] - start
    along = np.einsum("ij,ij->i", to_middle, way)
    off2 = np.einsum("ij,ij->i", to_middle, to_middle) - along**2
    some = np.flatnonzero((along > -lamp["reach"]) & (off2 < lamp["reach"] ** 2))
    count = np.zeros((len(PITCHES), len(YAWS), len(sizes)))
    if len(some):
        level = luminance(tracer.looked(alone, start[some], way[some]))[:, key]
        own = some[level > SHOWN * alone.shapes["luminance"].max()]
        np.add.at(count, (rays.row[own], rays.column[own], rays.lattice[own]), 1.0)
    return np.asarray(count / sizes)


def _swung_down(vectors: np.ndarray, ahead: np.ndarray, turn: float) -> np.ndarray:
    """Vectors (n, 3) turned down by an angle in the upright plane through `ahead`."""
    level, up = vectors @ ahead, vectors[:, 2]
    c, s = math.cos(turn), math.sin(turn)
    down = vectors + ((c - 1.0) * level + s * up)[:, None] * ahead
    down[:, 2] = c * up - s * level
    return np.asarray(down)
