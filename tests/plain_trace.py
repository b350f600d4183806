"""Run as a program: trace packed scenes from a file without the compiler, on threads or on a simulated card.

python plain_trace.py SCENES.pickle FILMS.pickle threads|card

With numba switched off every kernel runs as Python over numpy, which checks every index.
"""

from __future__ import annotations

import pickle
import sys
import warnings
from typing import Any

import numpy as np
from numba.core import config

from renderer.film.pool import Pool
from renderer.kernels.layout import Mesh, PackedScene, Tally

sys.setswitchinterval(3600.0)  # threads of a simulated card never come between the sums of another
warnings.filterwarnings("ignore", message="overflow encountered")  # hashes are meant to wrap


def as_records(value: Any) -> Any:
    """Arrays whose fields are read as attributes, as compiled code reads them."""
    if isinstance(value, (Mesh, PackedScene, Tally)):
        return type(value)(*map(as_records, value))
    return value.view(np.recarray) if value.dtype.names and config.DISABLE_JIT else value


def main(scenes: str, films: str, on: str) -> None:
    if on == "card":
        from renderer.film.card import CardPool

        kind: type[Pool] = CardPool
    else:
        kind = Pool
    found = []
    with open(scenes, "rb") as file:
        for packed, camera, probes, receivers, seed, jobs in pickle.load(file):
            tally = Pool.tally(2, receivers, max(1, len(packed.lights)), seen=receivers)
            kept = tally
            if on != "card":
                packed, camera, probes, tally = map(as_records, (packed, camera, probes, tally))
            with kind(1) as pool:
                assert pool.run(packed, camera, probes, tally, seed, jobs)
            found.append((kept.radiance, kept.irradiance, kept.samples))
    with open(films, "wb") as file:
        pickle.dump(found, file)


if __name__ == "__main__":
    main(*sys.argv[1:])
