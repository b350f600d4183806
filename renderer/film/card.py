"""A graphics card in place of threads: the same kernels over the same samples.

What a pool of threads adds to a tally, the card adds to a copy of it in its own memory, which comes back at
the end of every run. Few receivers with many samples, as meters are, share each half's samples out among
several threads of the card.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import Any

import numpy as np
from numba import cuda
from numba.core import config

from renderer.film.pool import Job, Pool
from renderer.kernels.entry import PIXEL
from renderer.kernels.gpu import THREADS, trace_on_card
from renderer.kernels.layout import Mesh, PackedScene, Tally

BUSY = 1 << 17  # threads that keep a card busy
AT_ONCE = 1 << 20  # receivers of one launch, so that a deadline or an interrupt is seen in between


class CardPool(Pool):
    """See `Pool`; `threads` are those that prepare and clean up on the processor."""

    first_samples, few = 16, AT_ONCE

    def __init__(self, threads: int | None) -> None:
        super().__init__(threads)
        self._there: dict[int, tuple[np.ndarray, Any]] = {}  # by the array's identity: it, and its copy
        self._tallies: dict[int, tuple[Tally, Tally]] = {}

    def run(
        self,
        scene: PackedScene,
        camera: np.ndarray,
        probes: np.ndarray,
        tally: Tally,
        seed: int,
        jobs: Sequence[Job],
        deadline: float | None = None,
    ) -> bool:
        """As `Pool.run`; the halves of a job are the first ones of the tally."""
        packed, seen_by = self._scene(scene), self._array(camera)
        meters = _to_card(probes)
        complete = True
        kept: Any = None
        for receivers, family, halves, first, count in jobs:
            for i in range(0, len(receivers), AT_ONCE):
                if deadline is not None and (self.halted.is_set() or time.monotonic() > deadline):
                    complete = False
                    break
                here = receivers[i : i + AT_ONCE]
                slots = len(halves)
                shares = 1 if family == PIXEL else max(1, min(count, BUSY // (len(here) * slots)))
                if shares == 1:
                    sums = kept = kept or self._tally(tally)
                else:
                    sums = _empty(slots * shares, tally)
                blocks = -(-len(here) * slots * shares // THREADS)
                trace_on_card[blocks, THREADS](
                    packed,
                    seen_by,
                    meters,
                    _to_card(here),
                    family,
                    seed,
                    slots,
                    shares,
                    first,
                    count,
                    sums,
                )
                if shares > 1:
                    _add_shares(sums, shares, slots, tally)
            cuda.synchronize()
        if kept is not None:
            for own, theirs in zip(tally, kept, strict=True):
                theirs.copy_to_host(own)
        return complete

    def _array(self, array: np.ndarray) -> Any:
        if id(array) not in self._there:
            self._there[id(array)] = array, _to_card(np.ascontiguousarray(array))
        return self._there[id(array)][1]

    def _scene(self, scene: PackedScene) -> PackedScene:
        there: dict[str, Any] = {
            name: self._array(it) for name, it in scene._asdict().items() if name != "mesh"
        }
        return PackedScene(mesh=Mesh(*map(self._array, scene.mesh)), **there)

    def _tally(self, tally: Tally) -> Tally:
        key = id(tally.radiance)
        if key not in self._tallies:
            self._tallies = {key: (tally, Tally(*map(_to_card, tally)))}  # one picture at a time
        return self._tallies[key][1]


def _to_card(array: np.ndarray) -> Any:
    if config.ENABLE_CUDASIM and array.dtype.names:  # fields by attribute, as compiled code reads them
        array = array.view(np.recarray)
    return cuda.to_device(array)


def _empty(slots: int, like: Tally) -> Tally:
    sums = [
        np.zeros((slots, *it.shape[1:]), it.dtype) for it in (like.radiance, like.irradiance, like.samples)
    ]
    return Tally(*map(cuda.to_device, (*sums, like.seen)))


def _add_shares(sums: Any, shares: int, slots: int, tally: Tally) -> None:
    for own, theirs in zip(tally[:3], sums[:3], strict=True):
        parts = theirs.copy_to_host()
        own[:slots] += parts.reshape(slots, shares, *parts.shape[1:]).sum(axis=1, dtype=own.dtype)
    sums.seen.copy_to_host(tally.seen)
