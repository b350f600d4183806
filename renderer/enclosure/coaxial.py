"""Exchange areas between whole rings and bands of one axis, in closed form.

The exchange area of two surfaces is A_1 F_12 = A_2 F_21 [m2]: area times view factor, the same both ways.
Everything here follows from that of two discs by taking away: what a disc sends to a band of the tube is
what passes the disc-shaped opening before the band and not the one behind it.
source  Siegel & Howell, Thermal Radiation Heat Transfer, 4th ed., p. 845 (two coaxial discs); Howell, A
        Catalog of Radiation Heat Transfer Configuration Factors, section C, for the rings and bands
        (from memory)
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from renderer.enclosure.grid import Grid

Floats = NDArray[np.float64]


def disc_to_disc(r1: ArrayLike, r2: ArrayLike, h: ArrayLike) -> Floats:
    """Exchange area [m2] of two coaxial parallel discs, radii r1 and r2, h apart [m]; shapes broadcast.

    pi / 2 (X - sqrt(X^2 - 4 r1^2 r2^2)) with X = r1^2 + r2^2 + h^2, written without the difference.
    """
    a, b, apart = (np.asarray(x, float) for x in (r1, r2, h))
    x = a * a + b * b + apart * apart
    root = np.sqrt(((a - b) ** 2 + apart * apart) * ((a + b) ** 2 + apart * apart))
    return np.asarray(2.0 * math.pi * (a * b) ** 2 / (x + root))


def double_difference(values: Floats) -> Floats:
    """Of a function of two edges (m + 1, n + 1), over cells (m, n); further axes are kept."""
    return np.asarray(np.diff(np.diff(values, axis=0), axis=1))


def rings_to_rings(inner: Floats, outer: Floats, apart: float) -> Floats:
    """Exchange areas [m2] of the rings of two parallel ends, from their edges (m + 1,), (n + 1,): (m, n)."""
    return double_difference(disc_to_disc(inner[:, None], outer[None, :], apart))


def rings_to_bands(radii: Floats, heights: Floats, radius: float) -> Floats:
    """Exchange areas [m2] of the rings of the end at height 0 and the bands of the tube (rings, bands)."""
    return -double_difference(disc_to_disc(radii[:, None], radius, heights[None, :]))


def bands_to_bands(heights: Floats, radius: float) -> Floats:
    """Exchange areas [m2] of all bands of a tube seen from inside, themselves included (bands, bands)."""
    apart = np.abs(heights[:, None] - heights[None, :])
    exchange = -double_difference(disc_to_disc(radius, radius, apart))
    own = 2.0 * math.pi * radius * np.diff(heights)
    return exchange + np.diag(own)


def whole_rows(grid: Grid) -> Floats:
    """Exchange areas [m2] of all whole rows of a grid (rows, rows); symmetric."""
    heights, radii = np.array(grid.heights), np.array(grid.radii)
    side, bottom, top = (grid.rows_of(wall) for wall in ("side", "bottom", "top"))
    exchange = np.zeros((grid.rows, grid.rows))
    exchange[side, side] = bands_to_bands(heights, grid.radius)
    exchange[bottom, side] = rings_to_bands(radii, heights, grid.radius)
    exchange[top, side] = rings_to_bands(radii, heights[-1] - heights[::-1], grid.radius)[:, ::-1]
    exchange[side, bottom], exchange[side, top] = exchange[bottom, side].T, exchange[top, side].T
    exchange[bottom, top] = rings_to_rings(radii, radii, heights[-1])
    exchange[top, bottom] = exchange[bottom, top].T
    return exchange
