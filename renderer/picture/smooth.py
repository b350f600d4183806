"""Light smoothing of a noisy picture, so that its bands have clean edges. Never used for a number."""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from renderer.film.share import shared_out

Plane = NDArray[np.float32]

_EDGE_STOPS = 0.6
# Holes of each pass, and the least noise [stops] that asks for it. The last narrow pass takes away the
# lattice that a wide one leaves.
_PASSES = ((1, 0.0), (2, 0.03), (4, 0.12), (1, 0.12))
_SPLINE = (0.375, 0.25, 0.0625)  # B3 spline by distance 0, 1, 2
_ROWS = 32  # at a time
_EMPTY, _DARKEST = np.float32(np.nan), np.float32(1e-6)


def smooth(values: NDArray[np.floating], ids: NDArray[np.integer] | None = None) -> Plane:
    """Smoothed copy of (h, w) `values` (luminance or illuminance, any unit; NaN: nothing there).

    First a pixel that is beyond all its eight neighbours is brought to the nearest of them (fireflies).
    Then one to four passes, as many as the noise asks for, of a 5 x 5 B3 spline with holes (edge-avoiding
    a-trous: Dammertz et al., HPG 2010, from memory): a neighbour counts less the more stops it lies away
    (Gaussian of 0.6 stop, wider at first in much noise), and not at all where `ids`, (h, w), says that it
    belongs to another surface. Values themselves are averaged, not their logarithms, whose mean would lie
    below the true level by an amount that grows with noise.
    """
    raw = np.asarray(values, dtype=np.float32)
    noise = noise_in_stops(raw)
    plane = _tame(raw)
    edge = max(_EDGE_STOPS, 3.0 * noise)  # at first, or noise itself would count as edges
    for step, least in _PASSES:
        if noise >= least:
            plane = _pass(plane, step, ids, edge)
            edge = _EDGE_STOPS
    return plane


def noise_in_stops(values: NDArray[np.floating]) -> float:
    """Standard deviation of a typical pixel [stops], from how it differs from its neighbours; 0 if too small.

    Half of the pixels differ less than the median from the mean of left and right neighbour; for normal
    noise that median is 0.6745 sd, and the difference has 1.5 times the variance of one pixel.
    """
    lit = np.asarray(values)[::2]
    with np.errstate(divide="ignore", invalid="ignore"):
        log = np.log2(lit)
        bend = log[:, 1:-1] - 0.5 * (log[:, :-2] + log[:, 2:])
    bend = bend[np.isfinite(bend)]
    return float(np.median(np.abs(bend))) / (0.6745 * 1.5**0.5) if bend.size else 0.0


def _tame(plane: Plane) -> Plane:
    padded = np.pad(plane, 1, constant_values=_EMPTY)
    h, w = plane.shape
    low, high = np.full((h, w), np.inf, np.float32), np.full((h, w), -np.inf, np.float32)
    for dy, dx in product(range(3), range(3)):
        if (dy, dx) != (1, 1):
            near = padded[dy : dy + h, dx : dx + w]
            np.fmin(low, near, out=low)
            np.fmax(high, near, out=high)
    alone = low > high
    return np.where(alone, plane, np.clip(plane, low, high))


def _pass(plane: Plane, step: int, ids: NDArray[np.integer] | None, edge: float) -> Plane:
    """One pass, some rows at a time: their numbers stay near the processor."""
    darkest = _DARKEST * max(float(np.fmax.reduce(plane, axis=None, initial=0.0)), 1e-30)
    result = np.empty_like(plane)

    def work(first: int, end: int) -> None:
        for top in range(first, end, _ROWS):
            bottom, above = min(end, top + _ROWS), max(0, top - 2 * step)
            rows = slice(above, bottom + 2 * step)
            found = _pass_over(plane[rows], step, None if ids is None else ids[rows], edge, darkest)
            result[top:bottom] = found[top - above : bottom - above]

    shared_out(work, len(plane))
    return result


def _pass_over(
    plane: Plane, step: int, ids: NDArray[np.integer] | None, edge: float, darkest: np.float32
) -> Plane:
    """One pass; rows at the ends lack the neighbours beyond them."""
    there = ~np.isnan(plane)
    value = np.where(there, plane, 0.0).astype(np.float32)
    log = np.log2(np.maximum(value, darkest))
    log[~there] = np.inf  # infinitely far from everything: weight 0
    total = value * np.float32(_SPLINE[0] ** 2)
    weight = np.where(there, np.float32(_SPLINE[0] ** 2), np.float32(0.0))
    whole, part = there.all(), np.empty_like(plane)
    # A pair of pixels has one weight: half of the 24 neighbours are enough, each used both ways.
    for dy, dx in product(range(3), range(-2, 3)):
        if dy == 0 and dx <= 0:
            continue
        here, near = _shifted(plane.shape, dy * step, dx * step)
        with np.errstate(invalid="ignore"):
            share = log[here] - log[near]
        share *= share
        share *= np.float32(-0.5 / edge**2)
        np.exp(share, out=share)
        share *= np.float32(_SPLINE[abs(dy)] * _SPLINE[abs(dx)])
        if ids is not None:
            share *= ids[here] == ids[near]
        if not whole:
            share[~(there[here] & there[near])] = 0.0
        light = part[: share.shape[0], : share.shape[1]]
        total[here] += np.multiply(share, value[near], out=light)
        total[near] += np.multiply(share, value[here], out=light)
        weight[here] += share
        weight[near] += share
    with np.errstate(invalid="ignore"):
        return np.where(there, total / weight, _EMPTY)


def _shifted(shape: tuple[int, ...], dy: int, dx: int) -> tuple[tuple[slice, slice], tuple[slice, slice]]:
    """Index of the pixels that have a neighbour (dy, dx) away, and index of those neighbours."""
    h, w = shape[0], shape[1]
    dy, right, left = min(dy, h), min(max(dx, 0), w), min(max(-dx, 0), w)
    here = (slice(0, h - dy), slice(left, w - right))
    near = (slice(dy, h), slice(right, w - left))
    return here, near
