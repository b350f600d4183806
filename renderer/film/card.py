"""A graphics card in place of threads: the same kernels over the same samples.

What a pool of threads adds to a tally, the card sums in its own memory, and it is added at the end of every
run.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numba import cuda
from numba.core import config

from renderer.film.place import Place
from renderer.film.pool import Job, Pool, Stop
from renderer.film.wall_light import PATHS
from renderer.film.waves import MOST, Room, Waves
from renderer.kernels.bundle import table_of
from renderer.kernels.denoise import Reach, extent
from renderer.kernels.each import Each
from renderer.kernels.entry import PIXEL
from renderer.kernels.gpu import THREADS, all_on_card, work_on_card
from renderer.kernels.grain import Plate
from renderer.kernels.layout import Mesh, PackedScene, Tally
from renderer.kernels.wave import Wave

KEPT = 16  # runs after which an array that none has read is let go: scenes come in a few variants by turns
TILE_WIDTH, TILE_HEIGHT = 8, 4  # pixels, one for each thread of a warp


class CardPlace(Place):
    """The card's memory and its threads; `threads` are those of the processor."""

    def bring(self, array: np.ndarray) -> Any:
        return _to_card(np.ascontiguousarray(array))

    def back(self, array: Any) -> np.ndarray:
        return np.asarray(array.copy_to_host())

    def empty(self, shape: tuple[int, ...], dtype: np.typing.DTypeLike) -> Any:
        return _to_card(np.empty(shape, dtype)) if config.ENABLE_CUDASIM else cuda.device_array(shape, dtype)

    def do(self, step: Each, count: int, *arguments: Any) -> None:
        if count:
            all_on_card(step)[-(-count // THREADS), THREADS](count, *arguments)

    def clean(self, step: int, plate: Plate, how: Reach) -> None:
        blocks = -(-math.prod(extent(step, plate)) // THREADS)
        work_on_card[blocks, THREADS](step, plate, how)


class CardPool(Pool):
    """See `Pool`; `threads` are those that prepare and clean up on the processor."""

    first_samples, few = 16, MOST

    def __init__(self, threads: int | None) -> None:
        super().__init__(threads)
        self.place = CardPlace(threads)
        # By the identity of an array: it, its copy on the card, and the number of the run that read it last.
        self._there: dict[int, tuple[np.ndarray, Any, int]] = {}
        self._runs = 0
        self._room = Room(self.place, PATHS)
        self._most, self._none = self._room.most(), _to_card(np.zeros(1, np.int32))
        self._nought: dict[tuple[tuple[int, ...], np.dtype[Any]], Any] = {}

    def run(
        self,
        scene: PackedScene,
        camera: np.ndarray,
        probes: np.ndarray,
        tally: Tally,
        seed: int,
        jobs: Sequence[Job],
        deadline: float | None = None,
        stop: Stop | None = None,
    ) -> bool:
        """As `Pool.run`; the halves of a job are the first ones of the tally.

        A tally that lies on the card is added to where it lies.
        """
        jobs = [job for job in jobs if len(job[0])]
        noted = any(family != PIXEL or first == 0 for _, family, _, first, _ in jobs)  # what is seen
        sums = tally if _on_card(tally) else self._empty(tally, noted)
        traced = self._scene(scene), _to_card(camera), _to_card(probes), sums
        shared = [self._shared(job) for job in jobs]
        room = self._room.of(max((columns for _, _, columns in shared), default=1))
        waves, held = Waves(scene, room, self._none), []  # until the card is done with them
        complete = True
        for (receivers, family, halves, first, count), (at_once, shares, _) in zip(jobs, shared, strict=True):
            there = self._receivers(receivers, family, camera)
            for i in range(0, len(receivers), at_once):
                some = there[i : i + at_once]
                numbers = _to_card(np.array([family, seed, len(halves), shares, first, count]))
                held.append(Wave(*traced, some, numbers, *room))
                table, columns = _by_address(held[-1]), len(some) * len(halves) * shares
                for step in range(-(-count // shares)):
                    if self.over(deadline, stop):
                        complete = False
                        break
                    waves.take(table, columns, step)
        waves.end()
        cuda.synchronize()
        if sums is not tally:
            _add(sums, tally, noted)
        return complete

    def _shared(self, job: Job) -> tuple[int, int, int]:
        """How many receivers of a job are traced at once, how many samples of each, and both together."""
        receivers, _, halves, _, count = job
        at_once = min(len(receivers), max(1, self._most // len(halves)))
        shares = max(1, min(count, self._most // (at_once * len(halves))))
        return at_once, shares, at_once * len(halves) * shares

    def _empty(self, like: Tally, noted: bool) -> Tally:
        sums = (like.radiance, like.irradiance, like.samples)
        radiance, irradiance, samples = (self._zeros(it.shape, it.dtype) for it in sums)
        return Tally(radiance, irradiance, samples, _to_card(like.seen if noted else like.seen[:1]))

    def _zeros(self, shape: tuple[int, ...], dtype: np.dtype[Any]) -> Any:
        """Zeros on the card, copied there from others: to send them would take longer than to trace."""
        if (shape, dtype) not in self._nought:
            if len(self._nought) >= KEPT:
                self._nought.clear()
            self._nought[shape, dtype] = _to_card(np.zeros(shape, dtype))
        there = cuda.device_array(shape, dtype)
        there.copy_to_device(self._nought[shape, dtype])
        return there

    def _scene(self, scene: PackedScene) -> Any:
        """The scene on the card; what lies there from the runs before is not sent again."""
        self._runs += 1
        there: dict[str, Any] = {
            name: self._array(it) for name, it in scene._asdict().items() if name != "mesh"
        }
        mesh = Mesh(*map(self._array, scene.mesh))
        self._there = {key: it for key, it in self._there.items() if self._runs - it[2] < KEPT}
        return PackedScene(mesh=mesh, **there)

    def _array(self, array: np.ndarray) -> Any:
        return self._kept(array, np.ascontiguousarray)

    def _receivers(self, receivers: np.ndarray, family: int, camera: np.ndarray) -> Any:
        width, height = int(camera[0]["width"]), int(camera[0]["height"])
        return self._kept(receivers, lambda it: _in_tiles(it, width, height) if family == PIXEL else it)

    def _kept(self, array: np.ndarray, ready: Callable[[np.ndarray], np.ndarray]) -> Any:
        """An array on the card, made ready for it where it does not lie there yet."""
        if id(array) in self._there:
            _, copy, _ = self._there[id(array)]
        else:
            copy = _to_card(ready(array))
        self._there[id(array)] = array, copy, self._runs
        return copy


def _in_tiles(pixels: np.ndarray, width: int, height: int) -> np.ndarray:
    """The same pixels (n,) int32, no two alike, tile by tile: threads of a warp then see much the same.

    It brings 7 % more samples.
    """
    wanted = np.zeros(width * height, np.bool_)
    wanted[pixels] = True
    order = _tile_order(width, height)
    return np.asarray(order[wanted[order]])


@lru_cache(4)
def _tile_order(width: int, height: int) -> np.ndarray:
    row, column = np.divmod(np.arange(width * height), width)
    return np.lexsort((column, row, column // TILE_WIDTH, row // TILE_HEIGHT)).astype(np.int32)


def _to_card(array: np.ndarray) -> Any:
    if config.ENABLE_CUDASIM and array.dtype.names:  # fields by attribute, as compiled code reads them
        array = array.view(np.recarray)
    return cuda.to_device(array)


def _by_address(structure: Any) -> Any:
    """A structure of arrays on the card as its kernels read it; in the simulator they read it as it is."""
    return structure if config.ENABLE_CUDASIM else _to_card(np.array(table_of(structure), np.int64))


def _on_card(tally: Tally) -> bool:
    return not isinstance(tally.samples, np.ndarray)


def _add(sums: Tally, tally: Tally, noted: bool) -> None:
    """Add what the card has summed to a tally of the processor's."""
    for own, theirs in zip(tally[:3], sums[:3], strict=True):
        own += theirs.copy_to_host()  # type: ignore[attr-defined]
    if noted:
        sums.seen.copy_to_host(tally.seen)  # type: ignore[attr-defined]
