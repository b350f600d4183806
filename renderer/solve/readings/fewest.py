"""The fewest assumptions that explain the readings while all others stay as the scene has them.

Found greedily: each time the one that takes most off the sum of squares. Nothing is traced.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from renderer.solve.readings.estimate import NOTHING, Data, Estimate, Response, estimated

FITS = 0.05
"""Probability of a sum of squares as large by chance, from which readings are said to fit."""
MOST = 4  # things; more than that explain anything
WORTH = 4.0  # what another has to take off the sum of squares


@dataclass(frozen=True)
class Fewest:
    """which: numbers of the amounts; estimate: of these alone; instead: for each of them, numbers of those
    that explain as much in its place, with their estimates"""

    which: tuple[int, ...]
    estimate: Estimate
    instead: tuple[tuple[tuple[int, Estimate], ...], ...]

    @property
    def fits(self) -> bool:
        return self.estimate.probability >= FITS


def fewest(response: Response, data: Data, usual: np.ndarray) -> Fewest:
    """From none at all upwards, until the readings fit or nothing more is gained."""

    def fit(which: Sequence[int]) -> Estimate:
        return estimated(only(response, which), data, usual[list(which)])

    which: list[int] = []
    now = fit(which)
    while now.probability < FITS and len(which) < MOST:
        several = [(fit([*which, k]), k) for k in range(len(usual)) if k not in which]
        best, k = min(several, key=lambda it: it[0].chi_square, default=(now, -1))
        if now.chi_square - best.chi_square < WORTH:
            break
        now, which = best, [*which, k]
    instead = []
    for place in range(len(which)):
        others = []
        for k in range(len(usual)):
            if k not in which and now.probability >= FITS:
                it = fit([*which[:place], k, *which[place + 1 :]])
                if it.probability >= FITS:
                    others.append((k, it))
        instead.append(tuple(sorted(others, key=lambda it: it[1].chi_square)))
    return Fewest(tuple(which), now, tuple(instead))


def only(response: Response, which: Sequence[int]) -> Response:
    """The response with all other amounts held at nought."""
    chosen = list(which)
    held = [k for k in range(len(response.origin)) if k not in chosen]
    back = np.tensordot(response.origin[held], response.slopes[held], axes=1)
    layers = np.where(response.layers <= NOTHING, NOTHING, response.layers - back)
    return replace(
        response,
        layers=layers,
        slopes=response.slopes[chosen],
        meter=response.meter[chosen],
        origin=response.origin[chosen],
    )
