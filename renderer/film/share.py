"""Rows shared out among threads; what is worked out of them must not depend on how."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache

LEAST = 16  # rows, of a picture or the like
TASKS = 4  # for each thread, so that one that is held up leaves work to the others


def usable_cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@cache
def _workers(threads: int) -> ThreadPoolExecutor:
    """Kept, as a picture asks for them a dozen times."""
    return ThreadPoolExecutor(threads)


def shared_out(
    work: Callable[[int, int], None], count: int, threads: int | None = None, least: int = LEAST
) -> None:
    """Calls `work` with the first and the end of every share of `count` rows; back when all is done.

    threads  None: as many as there are cores. `work` must not share anything out itself.
    least    rows that are worth a task of their own
    """
    threads = threads or usable_cores()
    share = max(least, -(-count // (TASKS * threads)))
    if threads == 1 or count <= share:
        work(0, count)
        return
    starts = range(0, count, share)
    list(_workers(threads).map(lambda first: work(first, min(count, first + share)), starts))
