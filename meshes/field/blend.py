"""Blends and small shapes shared by all parts: smooth unions, cuts, folds, tubes along splines."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline, PchipInterpolator

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


def union(a: Array, b: Array, k: float | Array) -> Array:
    """Smooth minimum with a cubic blend of support `k` [mm]; exact minimum where |a - b| >= k."""
    h = np.maximum(k - np.abs(a - b), 0.0) / k
    return np.minimum(a, b) - h * h * h * k / 6.0


def cut(a: Array, b: Array, k: float | Array) -> Array:
    """`a` without the solid `b`, edge rounded over `k` [mm]."""
    return -union(-a, b, k)


def meet(a: Array, b: Array, k: float | Array) -> Array:
    """Smooth maximum: the part of `a` inside `b`."""
    return -union(-a, -b, k)


def bell(distance: Array, width: float | Array) -> Array:
    """Gaussian of `distance`, 1 at 0, e^-1 at `width`."""
    return np.exp(-((distance / width) ** 2))


def step(low: float, high: float, x: Array) -> Array:
    """Smooth step from 0 at `low` to 1 at `high` (the order may be reversed); C2 at both ends."""
    t = np.clip((x - low) / (high - low), 0.0, 1.0)
    return t * t * t * (t * (t * 6.0 - 15.0) + 10.0)


def curve(points: Sequence[tuple[float, float]]) -> PchipInterpolator:
    """Monotone cubic through (abscissa, value) pairs given in any order; constant beyond both ends."""
    ordered = sorted(points)
    lo, hi = ordered[0], ordered[-1]
    padded = [
        (lo[0] - 1e3, lo[1]),
        (lo[0] - 1e-3, lo[1]),
        *ordered,
        (hi[0] + 1e-3, hi[1]),
        (hi[0] + 1e3, hi[1]),
    ]
    return PchipInterpolator([p[0] for p in padded], [p[1] for p in padded])


def ellipsoid(
    x: Array, y: Array, z: Array, centre: Sequence[float], radii: Sequence[float], turn: Array | None = None
) -> Array:
    """Distance estimate (value over gradient) of an ellipsoid; rows of `turn` are its axes."""
    d = np.stack([x - centre[0], y - centre[1], z - centre[2]])
    if turn is not None:
        d = turn @ d
    r = np.asarray(radii, dtype=np.float64)[:, None]
    k0 = np.sqrt(((d / r) ** 2).sum(axis=0))
    k1 = np.sqrt(((d / r**2) ** 2).sum(axis=0))
    return np.asarray(k0 * (k0 - 1.0) / np.maximum(k1, 1e-9))


def sphere(x: Array, y: Array, z: Array, centre: Sequence[float], radius: float) -> Array:
    """Exact signed distance of a sphere."""
    return np.sqrt((x - centre[0]) ** 2 + (y - centre[1]) ** 2 + (z - centre[2]) ** 2) - radius


def spline(knots: Sequence[Sequence[float]], count: int) -> Array:
    """`count` points evenly spread over the parameter of a cubic spline through `knots` (n, columns)."""
    k = np.asarray(knots, dtype=np.float64)
    chord = np.concatenate(
        [[0.0], np.cumsum(np.maximum(np.linalg.norm(np.diff(k[:, :3], axis=0), axis=1), 1e-6))]
    )
    return np.asarray(CubicSpline(chord, k)(np.linspace(0.0, chord[-1], count)), dtype=np.float64)


def tube(x: Array, y: Array, z: Array, knots: Sequence[Sequence[float]], count: int = 28) -> Array:
    """Round tube along a spline; each knot is (x, y, z, radius)."""
    points = spline(knots, count)
    best = np.full(x.shape, 1e9)
    for a, b in pairwise(points):
        d = b[:3] - a[:3]
        t = ((x - a[0]) * d[0] + (y - a[1]) * d[1] + (z - a[2]) * d[2]) / float(d @ d)
        t = np.clip(t, 0.0, 1.0)
        gap = np.sqrt((x - a[0] - t * d[0]) ** 2 + (y - a[1] - t * d[1]) ** 2 + (z - a[2] - t * d[2]) ** 2)
        best = np.minimum(best, gap - (a[3] + t * (b[3] - a[3])))
    return best


def stroke(
    x: Array, y: Array, knots: Sequence[Sequence[float]], count: int = 28
) -> tuple[Array, Array, Array]:
    """Distance to a plane spline, its parameter 0..1 at the foot, and the side (+1 left of travel)."""
    points = spline([[k[0], k[1], 0.0] for k in knots], count)
    best = np.full(x.shape, 1e9)
    where = np.zeros(x.shape)
    side = np.zeros(x.shape)
    for i, (a, b) in enumerate(pairwise(points)):
        d = b[:2] - a[:2]
        t = np.clip(((x - a[0]) * d[0] + (y - a[1]) * d[1]) / float(d @ d), 0.0, 1.0)
        gx, gy = x - a[0] - t * d[0], y - a[1] - t * d[1]
        gap = np.sqrt(gx * gx + gy * gy)
        closer = gap < best
        best = np.where(closer, gap, best)
        where = np.where(closer, (i + t) / (count - 1), where)
        side = np.where(closer, np.sign(d[0] * gy - d[1] * gx), side)
    return best, where, side
