"""How the exchange of whole rings and bands is shared out over sectors.

By symmetry it depends only on the angle phi between two places. For every pair of rows the exchange per
angle, q(phi), has a closed form in height (and nearly one in radius), so only one integral is left, over
phi, against the triangle that two sectors of width w make: their exchange is
    X_m = w Integral q(phi) (1 - |phi - m w| / w) dphi.
It is taken by Gauss' rule over pieces that close in on phi = 0, where q has a kink, and is then scaled (by
parts in 1e8) so that the sectors make up the exact whole: that closes every row to rounding and keeps
reciprocity.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from renderer.enclosure.coaxial import double_difference
from renderer.enclosure.grid import Grid

Floats = NDArray[np.float64]
NODES = 8
"""Nodes of Gauss' rule in a piece: with pieces half as near to the kink as to their far end, its error is
below 1e-11 of what the piece holds (Trefethen, SIAM Review 50, 2008: rho^-2n, rho = 5.8)."""
HALVINGS = 10
WIDEST = math.radians(15.0)
RING_NODES = 6


def triangle_rule(sectors: int) -> tuple[Floats, Floats]:
    """Angles [rad] (n,) and weights (n, sectors) with X_m = sum of q(angle) weight[:, m].

    Angles lie in the first half of the turn, or up to the end of the sector that holds its middle.
    """
    wide = 2.0 * math.pi / sectors
    x, weight = np.polynomial.legendre.leggauss(NODES)
    unit, weight = 0.5 * (1.0 + x), 0.5 * weight
    nodes, rule = [], []
    for k in range((sectors + 1) // 2):
        for low, high in _pieces(k, wide):
            # The innermost piece holds the kink, and at the rim a logarithm: fourth powers flatten both.
            at = low + (high - low) * (unit if low > 0.0 else unit**4)
            stretch = weight if low > 0.0 else 4.0 * unit**3 * weight
            rising = at / wide - k
            ahead = (high - low) * stretch * wide
            row = np.zeros((NODES, sectors))
            mirrored = sectors - 1 - k  # the interval on the other side of the turn, run backwards
            for interval, up in {k: rising, mirrored: 1.0 - rising}.items():
                row[:, (interval + 1) % sectors] += ahead * up
                row[:, interval] += ahead * (1.0 - up)
            nodes.append(at)
            rule.append(row)
    return np.concatenate(nodes), np.concatenate(rule)


def _pieces(k: int, wide: float) -> list[tuple[float, float]]:
    """Sector interval k cut into pieces; the first one closing in on 0."""
    parts = max(1, math.ceil(wide / WIDEST - 1e-9))
    edges = [wide * (k + i / parts) for i in range(parts + 1)]
    if k == 0:
        edges = [0.0, *(edges[1] * 0.5**i for i in range(HALVINGS, 0, -1)), *edges[1:]]
    return list(pairwise(edges))


def bands_per_angle(heights: Floats, radius: float, phi: Floats) -> Floats:
    """q(phi) [m2/rad2] of all pairs of bands (bands, bands, n).

    Two points of the tube, a chord c = 2 R sin(phi / 2) and a height t apart, exchange c^4 / (4 pi R^2
    (c^2 + t^2)^2) per area; twice integrated over height that is c t atan(t / c) / (8 pi) per angle.
    """
    chord = 2.0 * radius * np.sin(phi / 2.0)
    apart, place = np.unique(np.abs(heights[:, None] - heights[None, :]), return_inverse=True)
    t = apart[:, None]
    table = chord * t * np.arctan2(t, chord) / (8.0 * math.pi)
    return -double_difference(table[place.reshape(len(heights), len(heights))])


def rings_per_angle_to_bands(radii: Floats, heights: Floats, radius: float, phi: Floats) -> Floats:
    """q(phi) [m2/rad2] of the rings of the end at height 0 and the bands of the tube (rings, bands, n).

    Points at r and (R, z) exchange z (R - r cos phi) / (pi (r^2 - 2 r R cos phi + R^2 + z^2)^2) per area.
    Over z that is integrated at sight; over r it leaves Integral r (R - r cos phi) / (...) dr.
    """
    r, z = radii[:, None, None], heights[None, :, None]
    cosine, sine = np.cos(phi), np.sin(phi)
    middle, depth_squared = radius * cosine, (radius * sine) ** 2 + z * z
    depth = np.sqrt(depth_squared)
    along = r - middle
    logs = 0.5 * np.log(along**2 + depth_squared)
    turn = cosine * (depth + (radius * sine) ** 2 / depth) * np.arctan2(along, depth)
    primitive = -r * cosine - radius * np.cos(2.0 * phi) * logs + turn
    return -double_difference(primitive) * (radius / (2.0 * math.pi))


def rings_per_angle(radii: Floats, apart: float, phi: Floats) -> Floats:
    """q(phi) [m2/rad2] of the rings of two like ends, `apart` [m] from each other (rings, rings, n).

    Points at r and s exchange h^2 / (pi (r^2 + s^2 - 2 r s cos phi + h^2)^2) per area; closed over s,
    Gauss' rule over r.
    """
    x, weight = np.polynomial.legendre.leggauss(RING_NODES)
    half = 0.5 * np.diff(radii)
    r = ((radii[:-1] + half)[:, None] + half[:, None] * x)[:, :, None, None]
    middle, depth_squared = r * np.cos(phi), (r * np.sin(phi)) ** 2 + apart**2
    depth = np.sqrt(depth_squared)
    along = radii[:, None] - middle
    reach = along**2 + depth_squared
    primitive = (middle * along / depth_squared - 1.0) / (2.0 * reach)
    primitive = primitive + middle * np.arctan2(along, depth) / (2.0 * depth_squared * depth)
    over_s = np.diff(primitive, axis=2) * (r * apart**2 / math.pi)
    return np.asarray(np.einsum("ikjn,k,i->ijn", over_s, weight, half, optimize=True))


def rows_per_angle(grid: Grid, phi: Floats) -> Floats:
    """q(phi) [m2/rad2] of all pairs of rows (rows, rows, n)."""
    heights, radii = np.array(grid.heights), np.array(grid.radii)
    side, bottom, top = (grid.rows_of(wall) for wall in ("side", "bottom", "top"))
    q = np.zeros((grid.rows, grid.rows, len(phi)))
    q[side, side] = bands_per_angle(heights, grid.radius, phi)
    q[bottom, side] = rings_per_angle_to_bands(radii, heights, grid.radius, phi)
    turned = heights[-1] - heights[::-1]
    q[top, side] = rings_per_angle_to_bands(radii, turned, grid.radius, phi)[:, ::-1]
    q[side, bottom], q[side, top] = q[bottom, side].swapaxes(0, 1), q[top, side].swapaxes(0, 1)
    q[bottom, top] = rings_per_angle(radii, heights[-1], phi)
    q[top, bottom] = q[bottom, top].swapaxes(0, 1)
    return q
