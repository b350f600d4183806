"""Where to trace: on the processor's threads or on a graphics card."""

from __future__ import annotations

import os
from functools import cache
from importlib.util import find_spec

from renderer.errors import InputError
from renderer.film.pool import Pool

AUTO, CPU, GPU = "auto", "cpu", "gpu"
PLACES = (AUTO, CPU, GPU)


def check_place(place: str) -> None:
    """Say before the work begins that a graphics card cannot be used. Raises InputError."""
    lacking = card_lacks() if place == GPU else ""
    if lacking:
        raise InputError(f"--on gpu: {lacking}; leave --on out to use the processor")


def pool_on(place: str, threads: int | None) -> Pool:
    """The pool for a place. Raises InputError for a graphics card that cannot be used."""
    check_place(place)
    if place == CPU or card_lacks():
        return Pool(threads)
    from renderer.film.card import CardPool

    return CardPool(threads)


@cache
def card_lacks() -> str:
    """Why no graphics card can be used; empty where one can."""
    simulated = os.environ.get("NUMBA_ENABLE_CUDASIM") == "1"
    if not simulated and find_spec("numba_cuda") is None:
        return "numba has no CUDA here: pip install 'halfstop[gpu]' adds it"
    try:
        from numba import cuda

        if not cuda.is_available():
            return "no graphics card with CUDA and a driver for it was found"
    except Exception as error:  # a half-installed CUDA fails in ways of its own
        return f"CUDA cannot be loaded ({str(error).splitlines()[0] if str(error) else type(error).__name__})"
    return ""
