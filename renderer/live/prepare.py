"""All kernels compiled ahead, by a picture of a few pixels in which a light moves."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path

from renderer.errors import InputError
from renderer.film.device import AUTO, GPU
from renderer.kernels.compiler import cache_folder
from renderer.kernels.shelf import Shelf
from renderer.live import ahead
from renderer.live.live import Live
from renderer.scene.change import changed


@dataclass(frozen=True)
class Prepared:
    """Names of kernels that lay on disk and of those just compiled, where they lie, and the seconds."""

    found: list[str]
    made: list[str]
    folder: Path
    seconds: float


def prepare(on: str = AUTO) -> Prepared:
    """Compile what is not on disk yet, for the processor or a place of `renderer.film.device`.

    Raises InputError for a folder that cannot be written, before it compiles, and for a card that is not
    there.
    """
    started, folder = time.monotonic(), cache_folder()
    found, made = len(Shelf.found), len(Shelf.made)
    Shelf.strict = True
    beside = ahead.begin() if on != GPU else None
    try:
        with Live(on) as live:
            live.show(ahead.smallest())
            live.show(changed(ahead.smallest(), {"light.key.diameter": 0.2}))
        ahead.compile_rest()
    except OSError as error:
        raise InputError(
            f"halfstop prepare: compiled kernels cannot be kept in {folder}: {error.strerror or error};"
            " HALFSTOP_CACHE names another folder"
        ) from None
    finally:
        Shelf.strict = False
    lay_there, made_now = Shelf.found[found:], Shelf.made[made:]
    if beside:  # nothing lay there before
        lay_there, made_now = [], made_now + lay_there
        beside.wait()
    return Prepared(lay_there, made_now, folder, time.monotonic() - started)
