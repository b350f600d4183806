"""The threads that trace: they share out blocks of receivers and can be told to halt."""

from __future__ import annotations

import signal
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from contextlib import contextmanager
from threading import Event, current_thread, main_thread
from types import FrameType, TracebackType

import numpy as np

from renderer.film.place import Place
from renderer.film.share import usable_cores
from renderer.kernels.entry import trace
from renderer.kernels.layout import SEEN, STACK, PackedScene, Tally
from renderer.kernels.ray import STACK_SIZE

BLOCK, LEAST_BLOCK = 1024, 16  # receivers a thread takes at a time
TASKS = 4  # for each thread where receivers are few, so that one that is held up leaves work to the others

Job = tuple[np.ndarray, int, Sequence[int], int, int]
"""Receivers (int32), their family, halves, number of the first sample, samples."""
Stop = Callable[[], bool]
"""Asked before every block: whether what is traced is wanted no more."""


@contextmanager
def interrupts_to(listener: Callable[[int, FrameType | None], None]) -> Iterator[None]:
    """In the body Ctrl-C goes to `listener`. Only the main thread may, and need, listen."""
    if current_thread() is not main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, listener)
    try:
        yield
    finally:
        if before is not None:  # as one that Python did not set
            signal.signal(signal.SIGINT, before)


class Pool:
    """Threads. Inside its `with`, an interrupt from the keyboard sets `halted`; a second one is passed on.

    interrupts  how many any pool took since the program began: whoever traces one thing after the other
                sees by it that the person wants an end
    first_samples  of each half of a pixel, that the first pass of a film takes
    few         points that are worth a job of their own, where there are no more
    place       where it traces
    """

    interrupts = 0
    first_samples, few = 1, 128

    def __init__(self, threads: int | None) -> None:
        self.place = Place(threads)
        self._threads = ThreadPoolExecutor(threads or usable_cores())
        self._tasks = TASKS * (threads or usable_cores())
        self.halted = Event()
        self._listening = interrupts_to(self._halt)

    def __enter__(self) -> Pool:
        self._listening.__enter__()
        return self

    def _halt(self, number: int, frame: FrameType | None) -> None:
        if self.halted.is_set():
            raise KeyboardInterrupt
        Pool.interrupts += 1
        self.halted.set()

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trail: TracebackType | None
    ) -> None:
        self._listening.__exit__(None, None, None)
        self._threads.shutdown(cancel_futures=error is not None)

    def over(self, deadline: float | None, stop: Stop | None) -> bool:
        """Whether no further block is to be begun; see `run`."""
        late = deadline is not None and (self.halted.is_set() or time.monotonic() > deadline)
        return late or (stop is not None and stop())

    @staticmethod
    def tally(halves: int, receivers: int, lights: int, seen: int = 1) -> Tally:
        """An empty tally."""
        return Tally(
            np.zeros((halves, receivers, lights, 2, 3), np.float32),
            np.zeros((halves, receivers, lights, 3), np.float32),
            np.zeros((halves, receivers), np.int32),
            np.zeros(seen, SEEN),
        )

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
        """Do all jobs, block by block; False when some were left out.

        deadline  monotonic time after which no block is begun. None: every block is done, even after an
                  interrupt, which then only sets `halted`.
        stop      ends it at any time
        """

        def work(receivers: np.ndarray, family: int, halves: Sequence[int], first: int, count: int) -> bool:
            if self.over(deadline, stop):
                return False
            stack = np.empty(STACK_SIZE, STACK)
            for half in halves:
                trace(scene, camera, probes, receivers, family, stack, seed, half, first, count, tally)
            return True

        futures = []
        for receivers, family, halves, first, count in jobs:
            block = max(LEAST_BLOCK, min(BLOCK, -(-len(receivers) // self._tasks)))
            futures += [
                self._threads.submit(work, receivers[i : i + block], family, halves, first, count)
                for i in range(0, len(receivers), block)
            ]
        wait(futures)
        return all(future.result() for future in futures)
