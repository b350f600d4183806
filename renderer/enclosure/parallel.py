"""Exchange areas of the cells of two parallel rectangular grids, in closed form."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def cells_to_cells(one: Sequence[Floats], other: Sequence[Floats], apart: float) -> Floats:
    """Exchange areas A_i F_ij [m2] between all cells of two grids in parallel planes (n, m).

    one, other  edges across and up [m], in the same axes; cells run across first
    apart       distance of the planes [m]

    The exchange is the fourth difference, over both edges of both cells in both directions, of
        B(u, v) = {u p atan(u / p) + v q atan(v / q) - h^2 / 2 ln(u^2 + v^2 + h^2)} / (2 pi),
        p^2 = v^2 + h^2, q^2 = u^2 + h^2
    at the offsets u, v of two corners.
    source  Ehlert & Smith, View factors for perpendicular and parallel rectangular plates, J. Thermophysics
            and Heat Transfer 7, 1993; Howell's catalogue, C-13 (from memory)
    """
    (x, y), (s, t) = one, other
    across, place_u = np.unique(x[:, None] - s[None, :], return_inverse=True)
    up, place_v = np.unique(y[:, None] - t[None, :], return_inverse=True)
    u, v = across[:, None], up[None, :]
    p, q = np.sqrt(v * v + apart**2), np.sqrt(u * u + apart**2)
    terms = u * p * np.arctan(u / p) + v * q * np.arctan(v / q)
    table = (terms - 0.5 * apart**2 * np.log(u * u + v * v + apart**2)) / (2.0 * math.pi)
    corners = table[place_u.reshape(len(x), len(s))][:, :, place_v.reshape(len(y), len(t))]
    for axis in range(4):
        corners = np.diff(corners, axis=axis)
    cells = corners.transpose(2, 0, 3, 1)  # up, across of one, then of the other
    return cells.reshape((len(x) - 1) * (len(y) - 1), -1)
