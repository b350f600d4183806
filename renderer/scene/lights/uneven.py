"""From values over a solved grid to the mean and the table that a part carries."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from renderer.scene.parts import Numbers

Floats = NDArray[np.float64]
CELLS = 24
"""Rows and columns of a table: as many as a shape keeps of it."""


def covered(edges: Floats, low: float, high: float) -> Floats:
    """Length of each interval between ascending `edges` (n + 1,) that lies within low to high (n,)."""
    return np.asarray(np.clip(np.minimum(edges[1:], high) - np.maximum(edges[:-1], low), 0.0, None))


def averaged(edges: Floats, values: Floats, targets: Floats) -> Floats:
    """Means over the intervals between `targets` (m + 1,) of what is even between `edges` (n + 1,).

    values  (n, ...), along the first axis; the sum over the whole is kept. Targets lie within the edges
    """
    weights = np.array([covered(edges, a, b) for a, b in pairwise(targets)])
    return np.asarray(np.tensordot(weights / weights.sum(axis=1, keepdims=True), values, axes=1))


def read_between(places: Floats, values: Floats, targets: Floats, period: float = 0.0) -> Floats:
    """Straight lines between `places` (n,), level past the last, or repeating; values (n, ...), (m, ...)."""
    flat = values.reshape(len(places), -1)
    lines = [np.interp(targets, places, line, period=period or None) for line in flat.T]
    return np.array(lines).T.reshape(len(targets), *values.shape[1:])


def middles(edges: Floats) -> Floats:
    return np.asarray((edges[1:] + edges[:-1]) / 2.0)


def numbers(table: Floats) -> Numbers | None:
    """As a part carries it; None where it is even, or dark."""
    if float(table.max()) <= 0.0 or float(np.ptp(table)) <= 1e-9 * float(table.max()):
        return None
    return tuple(tuple(float(value) for value in row) for row in table)
