"""The exchange areas of all patches of a cylinder, as one block for every step between sectors."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from renderer.enclosure.coaxial import whole_rows
from renderer.enclosure.grid import Grid
from renderer.enclosure.split import rows_per_angle, triangle_rule

Floats = NDArray[np.float64]


def raw_exchange(grid: Grid) -> Floats:
    """As `exchange_areas`, by quadrature alone, not yet scaled to the exact whole."""
    phi, rule = triangle_rule(grid.sectors)
    return np.asarray(rows_per_angle(grid, phi) @ rule)


@lru_cache(maxsize=16)
def exchange_areas(grid: Grid) -> Floats:
    """Exchange areas A_i F_ij [m2] from row i, sector 0 to row j, sector m (rows, rows, sectors).

    From sector s to sector s + m it is the same. Symmetric in the rows and under m -> -m (reciprocity);
    summed over j and m it is the area of a patch of row i (closure). Read only: it is kept by grid.
    """
    whole = whole_rows(grid) / grid.sectors
    if grid.sectors == 1:
        exchange = whole[:, :, None]
    else:
        exchange = raw_exchange(grid)
        total = exchange.sum(axis=2)
        seen = total > 0.0
        exchange *= np.where(seen, whole / np.where(seen, total, 1.0), 0.0)[:, :, None]
    exchange.setflags(write=False)
    return exchange
