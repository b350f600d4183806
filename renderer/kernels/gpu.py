"""The same kernels on a graphics card: one thread a receiver, half and share of its samples.

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
from renderer.kernels.entry import trace_receiver
from renderer.kernels.lanes import LANES
from renderer.kernels.layout import STACK, PackedScene, Tally, Work
from renderer.kernels.ray import STACK_SIZE
from renderer.kernels.shelf import keep

THREADS = 128  # of a block
# in the simulator kernels read the structures themselves
if config.ENABLE_CUDASIM:
    scene_at = tally_at = lambda it: it
else:
    scene_at, tally_at = opened(PackedScene), opened(Tally)
STACK_TYPE = STACK if config.ENABLE_CUDASIM else numba.from_dtype(STACK)

for plain in TWO_BODIES:
    overload(plain, target="cuda")(with_signature_of(plain, plain))


def trace_all(
    scene: Any, camera: Any, probes: Any, receivers: Any, family: Any, seed: Any, halves: Any, shares: Any,
    first: Any, count: Any, tally: Any,
) -> None:  # fmt: skip
    """Add `count` samples, from number `first`, to each of `receivers` in halves 0 .. halves - 1.

    scene, tally  tables, as `renderer.kernels.bundle` has them
    shares  slots that each half's samples are shared out among: slot s of half h is h * shares + s of `tally`
    """
    at = cuda.grid(1)
    if at >= receivers.shape[0] * halves * shares:
        return
    receiver = receivers[at % receivers.shape[0]]
    slot = at // receivers.shape[0]
    half, share = slot // shares, slot % shares
    scene, tally = scene_at(scene), tally_at(tally)
    work = Work(cuda.local.array(STACK_SIZE, STACK_TYPE), cuda.local.array(LANES, numba.float32))
    begin, end = first + count * share // shares, first + count * (share + 1) // shares
    trace_receiver(scene, camera, probes, work, receiver, family, seed, half, slot, begin, end, tally)


def work_on_all(step: Any, plate: Any, how: Any) -> None:
    """One step of `renderer.kernels.denoise` for a whole plate."""
    at, (rows, columns) = cuda.grid(1), extent_inside(step, plate)
    if at < rows * columns:
        work_at(step, plate, at // columns, at % columns, how)


def on_card(function: Any) -> Any:
    """A kernel of the card, kept on disk with the others: see `renderer.kernels.compiler`."""
    dispatcher = cuda.jit(function)
    if config.ENABLE_CUDASIM:
        return dispatcher
    from numba.cuda.dispatcher import CUDACache

    return keep(dispatcher, CUDACache, cache_folder())


trace_on_card = on_card(trace_all)
work_on_card = on_card(work_on_all)


@cache
def all_on_card(step: Each) -> Any:
    """Kernel (count, ...) that does a step for things 0 .. count - 1."""
    return on_card(step.within(ONE_A_THREAD, cuda=cuda))
