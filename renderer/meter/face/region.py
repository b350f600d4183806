"""Connected regions of a mask on a grid."""

from __future__ import annotations

import numpy as np


def label(mask: np.ndarray) -> np.ndarray:
    """(nz, ny) int: number of the region each True node belongs to, 0 elsewhere. Nodes touch by a side.

    Every node takes the largest number about it until nothing changes.
    """
    numbers = np.where(mask, np.arange(1, mask.size + 1).reshape(mask.shape), 0)
    while True:
        wide = np.pad(numbers, 1)
        largest = np.max([numbers, wide[:-2, 1:-1], wide[2:, 1:-1], wide[1:-1, :-2], wide[1:-1, 2:]], axis=0)
        largest = np.where(mask, largest, 0)
        largest = _along_lines(largest, mask)
        if (largest == numbers).all():
            return np.asarray(numbers)
        numbers = largest


def _along_lines(numbers: np.ndarray, mask: np.ndarray) -> np.ndarray:
    """Carry the largest number along every unbroken run of a row, so that few rounds are needed."""
    for turn in (numbers, numbers[:, ::-1]):
        open_ = mask if turn is numbers else mask[:, ::-1]
        best = turn[:, 0]
        for j in range(1, turn.shape[1]):
            best = np.where(open_[:, j], np.maximum(best, turn[:, j]), 0)
            turn[:, j] = best
    return numbers


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
