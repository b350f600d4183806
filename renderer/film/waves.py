"""Samples on their way through the kernels of a card; see `renderer.kernels.wave`."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import cuda

from renderer.film.place import Place
from renderer.kernels.gpu import (
    THREADS,
    begin_on_card,
    blocks_for,
    leave_paths_on_card,
    leave_starts_on_card,
    light_paths_on_card,
    light_starts_on_card,
)
from renderer.kernels.layout import PackedScene
from renderer.kernels.wave import NAMES, START_ROWS, VERTEX_ROWS

MOST = 1 << 20  # samples of a wave, with room for twice as many paths as set out: two gigabytes
ROOM = 0.25  # of the card's free memory, at most
BLIND = 8  # vertices that the last paths are taken on by before it is asked how many are left: asking waits


class Room:
    """Memory of a card for waves, used again and again.

    paths  of bounces to a sample, at most
    """

    def __init__(self, place: Place, paths: int) -> None:
        self._place, self._paths = place, paths
        self._arrays: tuple[Any, ...] = ()

    def most(self) -> int:
        """How many samples a wave may have."""
        each = sum(math.prod(shape) * np.dtype(kind).itemsize for shape, kind in self._kinds(1))
        free, _ = cuda.current_context().get_memory_info()
        return int(min(MOST, max(THREADS, ROOM * min(free, 1 << 50) / each)))

    def of(self, columns: int) -> tuple[Any, ...]:
        """The last fields of a `Wave`, for so many samples."""
        if not self._arrays or self._arrays[0].shape[1] < columns:
            self._arrays = ()  # let go before more is asked for
            self._arrays = tuple(self._place.empty(*kind) for kind in self._kinds(columns))
        return self._arrays

    def _kinds(self, columns: int) -> tuple[tuple[tuple[int, ...], type], ...]:
        """Their shapes and types."""
        under_way = 2 * self._paths * columns
        return (
            ((START_ROWS, columns), np.float64),
            ((NAMES, columns), np.uint32),
            ((2, VERTEX_ROWS, under_way), np.float64),
            ((2, NAMES, under_way), np.uint32),
            ((3,), np.int32),
        )


class Waves:
    """The waves of one run: samples are begun, and all paths under way go on by a vertex with them."""

    def __init__(self, scene: PackedScene, room: tuple[Any, ...], none: Any) -> None:
        """none  (3,) int32 on the card: 0"""
        known = scene.wall_light.shape[2] > 1  # as `paths_of` has it
        self._paths, self._legs = int(scene.paths[0]) if known else 1, 2 if len(scene.lenses) else 1
        self._lights = len(scene.lights)
        self._under_way, self._count = room[2].shape[2], room[-1]
        self._count.copy_to_device(none)
        self._turn = self._some = 0  # how many of these there were, and paths under way at most
        self._table: Any = None

    def take(self, table: Any, columns: int, step: int) -> None:
        """Begin a sample of every column of the wave that has this table."""
        self._table = table
        for leg in range(self._legs):
            begin_on_card[blocks_for(columns), THREADS](table, step, leg)
            if self._lights:
                light_starts_on_card[blocks_for(columns * self._lights), THREADS](table)
            while self._some > self._under_way - columns * self._paths:
                self._go_on()
            self._go_on(columns)

    def end(self) -> None:
        """Follow all paths to their ends."""
        while self._some:
            for _ in range(BLIND):
                self._leave()
            self._ask()

    def _go_on(self, columns: int = 0) -> None:
        self._leave(columns)
        self._ask()

    def _leave(self, columns: int = 0) -> None:
        """Take all paths, and those of samples that have begun, on by a vertex."""
        turn, most = self._turn, self._some
        if columns:
            leave_starts_on_card[blocks_for(columns * self._paths), THREADS](self._table, turn)
        if most:
            if self._lights:
                light_paths_on_card[blocks_for(most * self._lights), THREADS](self._table, turn)
            leave_paths_on_card[blocks_for(most), THREADS](self._table, turn)
        self._turn += 1

    def _ask(self) -> None:
        self._some = int(self._count.copy_to_host()[self._turn % 3])
