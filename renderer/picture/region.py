"""Connected regions of equal code in a picture, and how deep inside its region a pixel lies. Plain numpy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from renderer.picture.bands import CLIPPED, EMPTY, Codes

Index = NDArray[np.int64]


@dataclass(frozen=True)
class Regions:
    """Regions joined by the sides of pixels, numbered from 0."""

    of_pixel: Index
    """(h, w): number of the region that the pixel is in."""
    area: Index
    """(n,) [pixels]"""
    code: Index
    """(n,): the code of the region's pixels."""

    def box(self, number: int, step: int = 1) -> tuple[slice, slice]:
        """Rows and columns that a region lies in, from whole multiples of `step` on."""
        region = self.of_pixel == number
        rows, columns = np.flatnonzero(region.any(axis=1)), np.flatnonzero(region.any(axis=0))
        top, left = rows[0] // step * step, columns[0] // step * step
        return slice(top, rows[-1] + 1), slice(left, columns[-1] + 1)


def find_regions(codes: Codes) -> Regions:
    """Regions of equal code. Works on the runs of each row, thousands, and not on the pixels."""
    h, w = codes.shape
    begins = np.ones((h, w), dtype=bool)
    begins[:, 1:] = codes[:, 1:] != codes[:, :-1]
    run = np.cumsum(begins.ravel()).reshape(h, w) - 1
    # Two runs that touch do so first where one of them begins.
    joined = (codes[:-1] == codes[1:]) & (begins[:-1] | begins[1:])
    root = _join(int(run[-1, -1]) + 1, run[:-1][joined], run[1:][joined])
    _, number = np.unique(root, return_inverse=True)
    of_pixel = number[run]
    area = np.bincount(of_pixel.ravel())
    code = np.zeros(len(area), dtype=np.int64)
    code[number] = codes[begins]
    return Regions(of_pixel, area, code)


def without_specks(codes: Codes, smallest: int) -> Codes:
    """Codes with every region of fewer than `smallest` pixels given over to what lies round it.

    Clipped specks stay from a fifth of that (a catchlight in an eye is a few pixels), emptiness stays always.
    """
    regions = find_regions(codes)
    least = np.where(regions.code == CLIPPED, smallest / 5, np.where(regions.code == EMPTY, 0, smallest))
    speck = regions.area < least
    open_ = speck[regions.of_pixel]
    if not open_.any() or open_.all():
        return codes
    result = codes.copy()
    while open_.any():
        before, closed = result.copy(), ~open_
        for here, near in (
            (np.s_[1:, :], np.s_[:-1, :]), (np.s_[:-1, :], np.s_[1:, :]),
            (np.s_[:, 1:], np.s_[:, :-1]), (np.s_[:, :-1], np.s_[:, 1:]),
        ):  # fmt: skip
            take = open_[here] & closed[near] & (before[near] != EMPTY)
            result[here][take] = before[near][take]
            open_[here][take] = False
        if not (closed ^ ~open_).any():
            break  # enclosed by emptiness: nothing to take over
    return result


def depth(codes: Codes, reach: int) -> NDArray[np.float32]:
    """Distance of every pixel to the nearest one of another code or to the edge of the picture [pixels].

    Exact Euclidean up to `reach` (127 at most), where it levels off. Along rows first, then over the rows
    within reach; in squares, whole numbers of 16 bits.
    """
    h, w = codes.shape
    column = np.arange(w, dtype=np.int32)
    begins = np.ones((h, w), dtype=bool)
    begins[:, 1:] = codes[:, 1:] != codes[:, :-1]
    ends = np.ones((h, w), dtype=bool)
    ends[:, :-1] = begins[:, 1:]
    since = column - np.maximum.accumulate(np.where(begins, column, 0), axis=1)
    until = np.minimum.accumulate(np.where(ends, column, w)[:, ::-1], axis=1)[:, ::-1] - column
    row = (np.minimum(np.minimum(since, until) + 1, reach) ** 2).astype(np.int16)
    square = row.copy()
    for dy in range(1, reach):
        for here, near in ((np.s_[dy:], np.s_[: h - dy]), (np.s_[: h - dy], np.s_[dy:])):
            if dy < h:
                other = row[near] * (codes[near] == codes[here]) + np.int16(dy * dy)
                np.minimum(square[here], other, out=square[here])
    y = np.minimum(np.arange(h), np.arange(h)[::-1]) + 1
    np.minimum(square, (np.minimum(y, reach) ** 2).astype(np.int16)[:, np.newaxis], out=square)
    result: NDArray[np.float32] = np.sqrt(square.astype(np.float32))
    return result


def boxes(numbers: NDArray[np.integer]) -> dict[int, tuple[slice, slice]]:
    """Rows and columns that every number lies in, but for 0; in their order."""
    rows, columns = np.nonzero(numbers)
    found, which = np.unique(numbers[rows, columns], return_inverse=True)
    low, high = np.full((2, len(found)), max(numbers.shape)), np.full((2, len(found)), -1)
    for axis, at in enumerate((rows, columns)):
        np.minimum.at(low[axis], which, at)
        np.maximum.at(high[axis], which, at)
    (top, left), (bottom, right) = low.tolist(), (high + 1).tolist()
    sides = zip(top, bottom, left, right, strict=True)
    return {int(n): (slice(a, b), slice(c, d)) for n, (a, b, c, d) in zip(found, sides, strict=True)}


def _join(count: int, a: Index, b: Index) -> Index:
    """The least member of every set of runs that the pairs a, b join (hooking and pointer jumping)."""
    root = np.arange(count)
    while True:
        low, high = np.minimum(root[a], root[b]), np.maximum(root[a], root[b])
        if not (low != high).any():
            return root
        np.minimum.at(root, high, low)
        while (root != root[root]).any():
            root = root[root]
