"""Chi-square and its normal score."""

from __future__ import annotations

import math

import numpy as np


def normal_score(chi2: float, freedom: int) -> float:
    """How many standard deviations a chi-square value lies from what luck gives.

    source  Wilson & Hilferty, The distribution of chi-square, PNAS 17, 1931
    """
    spread = 2.0 / (9.0 * freedom)
    return ((chi2 / freedom) ** (1.0 / 3.0) - (1.0 - spread)) / math.sqrt(spread)


def chi_square(seen: np.ndarray, expected: np.ndarray) -> tuple[float, int]:
    """Statistic and degrees of freedom of counts `seen` against `expected` counts of the same total.

    Cells that expect fewer than 10 are put together.
    """
    small = expected < 10.0
    cells = [np.append(x[~small], x[small].sum()) for x in (seen.astype(float), expected)]
    if cells[1][-1] < 10.0:  # still too few to count, but nothing may be seen where nothing can be
        assert cells[0][-1] <= cells[1][-1] + 10.0 * math.sqrt(cells[1][-1] + 1.0)
        cells = [x[:-1] for x in cells]
    value = float(((cells[0] - cells[1]) ** 2 / cells[1]).sum())
    return value, len(cells[0]) - 1
