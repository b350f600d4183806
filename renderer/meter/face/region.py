"""Connected regions of a mask on a grid."""

from __future__ import annotations

import numpy as np


def label(mask: np.ndarray) -> np.ndarray:
    """(nz, ny) int: number of the region each True node belongs to, 0 elsewhere. Nodes touch by a side.

    Unbroken runs of a row are joined with the runs that they touch in the row before (union and find:
    Tarjan, Journal of the ACM 22, 1975).
    """
    rows, columns = mask.shape
    edges = np.diff(np.pad(mask, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    row, first = np.nonzero(edges == 1)
    _, last = np.nonzero(edges == -1)  # of a run, one past it
    root = list(range(len(row)))

    def root_of(run: int) -> int:
        while root[run] != run:
            root[run] = root[root[run]]
            run = root[run]
        return run

    starts = np.searchsorted(row, np.arange(rows + 1)).tolist()
    begins, ends = first.tolist(), last.tolist()
    for j in range(1, rows):
        above, here = starts[j - 1], starts[j]
        while above < starts[j] and here < starts[j + 1]:
            if begins[here] < ends[above] and begins[above] < ends[here]:
                root[root_of(here)] = root_of(above)
            if ends[above] < ends[here]:
                above += 1
            else:
                here += 1
    numbers = np.zeros(rows * columns, np.int64)
    run_of = np.repeat(np.arange(len(row)), last - first)
    of_run = np.array([root_of(run) for run in root], np.int64) + 1
    numbers[np.flatnonzero(mask)] = of_run[run_of]
    return numbers.reshape(mask.shape)


def region_of(numbers: np.ndarray, seeds: np.ndarray) -> np.ndarray:
    """(nz, ny) bool: all regions that hold a True node of `seeds`."""
    chosen = np.unique(numbers[seeds & (numbers > 0)])
    return np.asarray(np.isin(numbers, chosen) & (numbers > 0))


def median3(values: np.ndarray) -> np.ndarray:
    """Median over the 3 x 3 nodes about each, edges repeated: takes single noisy nodes out, keeps edges."""
    wide = np.pad(values, 1, mode="edge")
    rows, columns = values.shape
    about = [wide[i : i + rows, j : j + columns] for i in range(3) for j in range(3)]
    return np.asarray(np.median(about, axis=0))
