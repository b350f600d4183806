"""A graphics card in place of threads: the same kernels over the same samples.

What a pool of threads adds to a tally, the card sums in its own memory, and it is added at the end of every
run. Few receivers with many samples, as meters are, share each half's samples out among
several threads of the card.
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
from renderer.kernels.bundle import table_of
from renderer.kernels.denoise import Reach, extent
from renderer.kernels.each import Each
from renderer.kernels.entry import PIXEL
from renderer.kernels.gpu import THREADS, all_on_card, trace_on_card, work_on_card
from renderer.kernels.grain import Plate
from renderer.kernels.layout import Mesh, PackedScene, Tally

BUSY = 1 << 17  # threads that keep a card busy
KEPT = 16  # runs after which an array that none has read is let go: scenes come in a few variants by turns
TILE_WIDTH, TILE_HEIGHT = 8, 4  # pixels, one for each thread of a warp
AT_ONCE = 1 << 20  # receivers of one launch, so that a deadline or an interrupt is seen in between


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

    first_samples, few = 16, AT_ONCE

    def __init__(self, threads: int | None) -> None:
        super().__init__(threads)
        self.place = CardPlace(threads)
        # By the identity of an array: it, its copy on the card, and the number of the run that read it last.
        self._there: dict[int, tuple[np.ndarray, Any, int]] = {}
        self._runs = 0
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

        A tally that lies on the card is added to where it lies; it can only be one of pixels.
        """
        packed, seen_by, meters = self._scene(scene), _to_card(camera), _to_card(probes)
        sums: dict[tuple[int, int], Any] = {}
        tables: dict[tuple[int, int], Any] = {}  # by which kernels reach them
        if not isinstance(tally.samples, np.ndarray):
            tables[len(tally.samples), 1] = _by_address(tally)
        complete = True
        jobs = [job for job in jobs if len(job[0])]
        noted = any(family != PIXEL or first == 0 for _, family, _, first, _ in jobs)  # what is seen
        for receivers, family, halves, first, count in jobs:
            there = self._receivers(receivers, family, camera)
            for i in range(0, len(receivers), AT_ONCE):
                if self.over(deadline, stop):
                    complete = False
                    break
                here = there[i : i + AT_ONCE]
                shares = 1 if family == PIXEL else max(1, min(count, BUSY // (len(here) * len(halves))))
                way = (len(halves), shares)
                if way not in tables:
                    sums[way] = self._empty(len(halves) * shares, tally, noted)
                    tables[way] = _by_address(sums[way])
                numbers = (family, seed, *way, first, count)
                blocks = -(-len(here) * way[0] * shares // THREADS)
                trace_on_card[blocks, THREADS](packed, seen_by, meters, here, *numbers, tables[way])
            if deadline is not None or stop is not None:  # asked between jobs
                cuda.synchronize()
        for (slots, shares), found in sums.items():
            _add(found, slots, shares, tally, noted)
        return complete

    def _empty(self, slots: int, like: Tally, noted: bool) -> Tally:
        sums = (like.radiance, like.irradiance, like.samples)
        radiance, irradiance, samples = (self._zeros((slots, *it.shape[1:]), it.dtype) for it in sums)
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
        return _by_address(PackedScene(mesh=mesh, **there))

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


def _add(sums: Any, halves: int, shares: int, tally: Tally, noted: bool) -> None:
    """Add what the card has summed, every half in `shares` slots, to a tally of the processor's."""
    for own, theirs in zip(tally[:3], sums[:3], strict=True):
        parts = theirs.copy_to_host()
        if shares > 1:
            parts = parts.reshape(halves, shares, *parts.shape[1:]).sum(axis=1, dtype=own.dtype)
        own[:halves] += parts
    if noted:
        sums.seen.copy_to_host(tally.seen)
