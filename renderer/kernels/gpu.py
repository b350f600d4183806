"""The same kernels on a graphics card.

Imported only where a card is to be used: it needs numba's CUDA target, or its simulator.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numba
from numba import cuda
from numba.core import config
from numba.extending import overload

from renderer.kernels.bundle import opened
from renderer.kernels.compiler import TWO_BODIES, cache_folder, with_signature_of
from renderer.kernels.denoise import extent_inside, work_at
from renderer.kernels.each import ONE_A_THREAD, Each
from renderer.kernels.lanes import LANES
from renderer.kernels.layout import STACK, Work
from renderer.kernels.path import paths_of
from renderer.kernels.ray import STACK_SIZE
from renderer.kernels.shelf import keep
from renderer.kernels.tally import accumulate
from renderer.kernels.wave import (
    Wave,
    begin_sample,
    columns_of,
    leave_path,
    leave_start,
    light_path,
    light_start,
    put_path,
    under_way,
)

THREADS = 64  # of a block
# in the simulator kernels read the structure itself
wave_at = (lambda it: it) if config.ENABLE_CUDASIM else opened(Wave)
STACK_TYPE = STACK if config.ENABLE_CUDASIM else numba.from_dtype(STACK)

OWN = {accumulate: lambda sums, place, value: cuda.atomic.add(sums, place, value)}
"""Bodies that a card has of its own."""
for plain in TWO_BODIES:
    overload(plain, target="cuda")(with_signature_of(plain, OWN.get(plain, plain)))


# Kernels of a `Wave`, whose table `renderer.kernels.bundle` has made; a thread for each sample or path, and
# where light is gathered, for each light of it.


def begin_all(table: Any, step: Any, leg: Any) -> None:
    """Begin sample number `step` of every column."""
    column, wave = cuda.grid(1), wave_at(table)
    if column < columns_of(wave):
        work = Work(cuda.local.array(STACK_SIZE, STACK_TYPE), cuda.local.array(LANES, numba.float32))
        begin_sample(wave, work, column, step, leg)


def light_starts(table: Any) -> None:
    """Gather light where samples have begun."""
    place, wave = cuda.grid(1), wave_at(table)
    columns = columns_of(wave)
    if place < columns * wave.scene.lights.shape[0]:
        work = Work(cuda.local.array(STACK_SIZE, STACK_TYPE), cuda.local.array(LANES, numba.float32))
        light_start(wave, work, place % columns, place // columns)


def light_paths(table: Any, turn: Any) -> None:
    """Gather light where paths stand."""
    place, wave = cuda.grid(1), wave_at(table)
    some = under_way(wave, turn)
    if place < some * wave.scene.lights.shape[0]:
        work = Work(cuda.local.array(STACK_SIZE, STACK_TYPE), cuda.local.array(LANES, numba.float32))
        light_path(wave, work, turn, place % some, place // some)


def leave_starts(table: Any, turn: Any) -> None:
    """Take the paths of samples that have begun on; write those that go on further."""
    place, wave = cuda.grid(1), wave_at(table)
    columns = columns_of(wave)
    if place == 0:
        wave.written[(turn + 2) % 3] = 0
    if place < columns * paths_of(wave.scene):
        work = Work(cuda.local.array(STACK_SIZE, STACK_TYPE), cuda.local.array(LANES, numba.float32))
        going, names, vertex, start = leave_start(wave, work, place % columns, place // columns)
        if going:
            put_path(wave, turn, cuda.atomic.add(wave.written, (turn + 1) % 3, 1), names, vertex, start)


def leave_paths(table: Any, turn: Any) -> None:
    """Take paths on; write those that go on further."""
    place, wave = cuda.grid(1), wave_at(table)
    if place == 0:
        wave.written[(turn + 2) % 3] = 0  # nothing reads it any more, or writes it yet
    if place < under_way(wave, turn):
        work = Work(cuda.local.array(STACK_SIZE, STACK_TYPE), cuda.local.array(LANES, numba.float32))
        going, names, vertex, start = leave_path(wave, work, turn, place)
        if going:
            put_path(wave, turn, cuda.atomic.add(wave.written, (turn + 1) % 3, 1), names, vertex, start)


def work_on_all(step: Any, plate: Any, how: Any) -> None:
    """One step of `renderer.kernels.denoise` for a whole plate."""
    at, (rows, columns) = cuda.grid(1), extent_inside(step, plate)
    if at < rows * columns:
        work_at(step, plate, at // columns, at % columns, how)


def on_card(function: Any, registers: int | None = None) -> Any:
    """A kernel of the card, kept on disk with the others: see `renderer.kernels.compiler`.

    registers  of a thread, at most
    """
    if config.ENABLE_CUDASIM:
        return cuda.jit(function)
    dispatcher = cuda.jit(function, max_registers=registers)
    from numba.cuda.dispatcher import CUDACache

    return keep(dispatcher, CUDACache, cache_folder())


# Fewer registers than the compiler would take: more threads then hide each other's waiting, a seventh sooner.
begin_on_card = on_card(begin_all, 168)
light_starts_on_card, light_paths_on_card = on_card(light_starts, 128), on_card(light_paths, 128)
leave_starts_on_card, leave_paths_on_card = on_card(leave_starts, 96), on_card(leave_paths, 96)
work_on_card = on_card(work_on_all)


def blocks_for(threads: int) -> int:
    """Of THREADS each, for so many."""
    return -(-threads // THREADS)


@cache
def all_on_card(step: Each) -> Any:
    """Kernel (count, ...) that does a step for things 0 .. count - 1."""
    return on_card(step.within(ONE_A_THREAD, cuda=cuda))
