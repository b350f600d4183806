"""A graphics card in place of threads: the same kernels over the same samples.

What a pool of threads adds to a tally, the card sums in its own memory, and it is added at the end of every
run.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence
from functools import lru_cache, partial
from typing import Any

import numpy as np
from numba import cuda
from numba.core import config

from renderer.film.card_memory import Sent, Sums, by_address, to_card
from renderer.film.place import Place
from renderer.film.pool import Job, Pool, Stop
from renderer.film.wall_light import PATHS
from renderer.film.waves import MOST, Room, Waves
from renderer.kernels.denoise import Reach, extent
from renderer.kernels.each import Each
from renderer.kernels.entry import PIXEL
from renderer.kernels.gpu import THREADS, all_on_card, blocks_for, work_on_card
from renderer.kernels.layout import PackedScene, Tally
from renderer.kernels.plate import Plate
from renderer.kernels.wave import Wave

TILE_WIDTH, TILE_HEIGHT = 8, 4  # pixels, one for each thread of a warp

warnings.filterwarnings("ignore", ".*Grid size")  # few paths are left at the end of every run


class CardPlace(Place):
    """The card's memory and its threads; `threads` are those of the processor."""

    def bring(self, array: np.ndarray) -> Any:
        return to_card(array)

    def back(self, array: Any) -> np.ndarray:
        return np.asarray(array.copy_to_host())

    def empty(self, shape: tuple[int, ...], dtype: np.typing.DTypeLike) -> Any:
        return to_card(np.empty(shape, dtype)) if config.ENABLE_CUDASIM else cuda.device_array(shape, dtype)

    def do(self, step: Each, count: int, *arguments: Any) -> None:
        if count:
            all_on_card(step)[blocks_for(count), THREADS](count, *arguments)

    def clean(self, step: int, plate: Plate, how: Reach) -> None:
        work_on_card[blocks_for(math.prod(extent(step, plate))), THREADS](step, plate, how)


class CardPool(Pool):
    """See `Pool`; `threads` are those that prepare and clean up on the processor."""

    first_samples, few = 16, MOST

    def __init__(self, threads: int | None) -> None:
        super().__init__(threads)
        self.place = CardPlace(threads)
        self._sent, self._sums = Sent(), Sums(threads)
        self._room = Room(self.place, PATHS)
        self._most, self._none = self._room.most(), to_card(np.zeros(3, np.int32))

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
        sums = tally if _on_card(tally) else self._sums.empty(tally, noted)
        traced = self._sent.scene(scene), self._sent.array(camera), self._sent.array(probes), sums
        shared = [self._shared(job) for job in jobs]
        in_order = partial(_in_tiles, width=int(camera[0]["width"]), height=int(camera[0]["height"]))
        room = self._room.of(max((columns for _, _, columns in shared), default=1))
        waves, held = Waves(scene, room, self._none), []  # until the card is done with them
        complete = True
        for (receivers, family, halves, first, count), (at_once, shares, _) in zip(jobs, shared, strict=True):
            there = self._sent.array(receivers, in_order if family == PIXEL else None)
            for i in range(0, len(receivers), at_once):
                some = there[i : i + at_once]
                numbers = self._sent.array(np.array([family, seed, len(halves), shares, first, count]))
                wave = Wave(*traced, some, numbers, *room)
                table, columns = by_address(wave), len(some) * len(halves) * shares
                held.append((wave, table))
                for step in range(-(-count // shares)):
                    if self.over(deadline, stop):
                        complete = False
                        break
                    waves.take(table, columns, step)
        waves.end()
        cuda.synchronize()
        if sums is not tally:
            self._sums.add(sums, tally, noted)
        return complete

    def _shared(self, job: Job) -> tuple[int, int, int]:
        """How many receivers of a job are traced at once, how many samples of each, and both together."""
        receivers, _, halves, _, count = job
        at_once = min(len(receivers), max(1, self._most // len(halves)))
        shares = max(1, min(count, self._most // (at_once * len(halves))))
        return at_once, shares, at_once * len(halves) * shares


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


def _on_card(tally: Tally) -> bool:
    return not isinstance(tally.samples, np.ndarray)
