"""What of a scene and its film lies on a graphics card, and how it gets there and back."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import partial
from typing import Any

import numpy as np
from numba import cuda
from numba.core import config

from renderer.film.share import shared_out
from renderer.kernels.bundle import table_of
from renderer.kernels.layout import Mesh, PackedScene, Tally

WORTH = 8192  # receivers whose sums are worth a task of their own
SMALL = 1 << 16  # bytes of an array that is told by what is in it: to look at it takes less than to send it
KEPT = 16  # runs after which an array that none has read is let go: scenes come in a few variants by turns


def to_card(array: np.ndarray) -> Any:
    """A copy of an array on the card."""
    array = np.ascontiguousarray(array)
    if config.ENABLE_CUDASIM and array.dtype.names:  # fields by attribute, as compiled code reads them
        array = array.view(np.recarray)
    return cuda.to_device(array)


def by_address(structure: Any) -> Any:
    """A structure of arrays on the card as its kernels read it; in the simulator they read it as it is."""
    return structure if config.ENABLE_CUDASIM else to_card(np.array(table_of(structure), np.int64))


class Sent:
    """Arrays that were sent to the card and have not changed since: they are not sent again."""

    def __init__(self) -> None:
        # By what is in a small array, or the identity of another: it, its copy on the card, and the number of
        # the run that read it last.
        self._there: dict[Hashable, tuple[np.ndarray, Any, int]] = {}
        self._runs = 0

    def scene(self, scene: PackedScene) -> PackedScene:
        """The scene on the card, for one run."""
        self._runs += 1
        there: dict[str, Any] = {
            name: self.array(it) for name, it in scene._asdict().items() if name != "mesh"
        }
        mesh = Mesh(*map(self.array, scene.mesh))
        self._there = {key: it for key, it in self._there.items() if self._runs - it[2] < KEPT}
        return PackedScene(mesh=mesh, **there)

    def array(self, array: np.ndarray, ready: Callable[[np.ndarray], np.ndarray] | None = None) -> Any:
        """An array on the card, made `ready` for it where it does not lie there yet."""
        by_content = ready is None and array.nbytes <= SMALL
        key = (array.dtype, array.shape, array.tobytes()) if by_content else id(array)
        copy = self._there[key][1] if key in self._there else to_card(ready(array) if ready else array)
        self._there[key] = array, copy, self._runs
        return copy


class Sums:
    """Tallies on the card that are added to tallies of the processor's."""

    def __init__(self, threads: int | None) -> None:
        self._threads = threads
        # By shape and type of sums: zeros on the card, and where on the processor sums arrive.
        self._spare: dict[tuple[tuple[int, ...], np.dtype[Any]], tuple[Any, np.ndarray]] = {}

    def empty(self, like: Tally, noted: bool) -> Tally:
        """An empty tally on the card.

        noted  whether what is seen is noted
        """
        radiance, irradiance, samples = map(self._zeros, like[:3])
        return Tally(radiance, irradiance, samples, to_card(like.seen if noted else like.seen[:1]))

    def add(self, sums: Any, tally: Tally, noted: bool) -> None:
        """Add what the card has summed to a tally of the processor's."""
        for own, theirs in zip(tally[:3], sums[:3], strict=True):
            _, arrived = self._spare_for(own)
            theirs.copy_to_host(arrived)
            shared_out(partial(_add_between, own, arrived), own.shape[1], self._threads, WORTH)
        if noted:
            sums.seen.copy_to_host(tally.seen)

    def _zeros(self, like: np.ndarray) -> Any:
        """Zeros, copied on the card from others: to send them would take longer than to trace."""
        zeros, _ = self._spare_for(like)
        there = cuda.device_array(like.shape, like.dtype)
        there.copy_to_device(zeros)
        return there

    def _spare_for(self, like: np.ndarray) -> tuple[Any, np.ndarray]:
        kind = like.shape, like.dtype
        if kind not in self._spare:
            if len(self._spare) >= KEPT:
                self._spare.clear()
            self._spare[kind] = to_card(np.zeros(*kind)), np.empty(*kind)
        return self._spare[kind]


def _add_between(own: np.ndarray, more: np.ndarray, first: int, end: int) -> None:
    own[:, first:end] += more[:, first:end]
