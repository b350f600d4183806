"""How far the skin stands out along one axis, on a grid across the other two."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

CELL = 0.001  # m
SPACING = 0.002  # m between points that a triangle is laid out with
MOST_STEPS = 24  # that an edge is divided into
HALF = 0.16  # m: the grid reaches so far about the eyes
NOWHERE = -1.0  # m: where there is no skin


@dataclass(frozen=True)
class Relief:
    """highest (n, n): greatest distance [m] along the axis, of skin within a millimetre or two of a cell."""

    highest: np.ndarray

    @classmethod
    def of(cls, points: np.ndarray, axis: int) -> Relief:
        """Of points (n, 3), seen against `axis`."""
        others = [k for k in range(3) if k != axis]
        count = round(2.0 * HALF / CELL)
        cells = np.floor((points[:, others] + HALF) / CELL).astype(int)
        inside = ((cells >= 0) & (cells < count)).all(axis=1)
        grid = np.full((count, count), NOWHERE)
        np.maximum.at(grid, tuple(cells[inside].T), points[inside, axis])
        for side in (0, 1):  # a cell knows its neighbours' skin too
            before, after = np.roll(grid, 1, side), np.roll(grid, -1, side)
            grid = np.maximum(grid, np.maximum(before, after))
        return cls(grid)

    def at(self, first: np.ndarray, second: np.ndarray) -> np.ndarray:
        """Of places across the axis [m], in the order of the axes left; NOWHERE beyond the grid."""
        count = len(self.highest)
        i, j = (np.floor((np.asarray(it) + HALF) / CELL).astype(int) for it in (first, second))
        inside = (i >= 0) & (i < count) & (j >= 0) & (j < count)
        return np.where(inside, self.highest[np.clip(i, 0, count - 1), np.clip(j, 0, count - 1)], NOWHERE)


def laid_out(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Points (n, 3) on triangles, none further than SPACING from the next; large ones only so far divided."""
    corners = vertices[faces]
    edges = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1, initial=0.0)
    steps = np.clip(np.ceil(edges / SPACING).astype(int), 1, MOST_STEPS)
    points = [vertices]
    for count in np.unique(steps[steps > 1]):
        own = corners[steps == count]
        for i in range(count + 1):
            for j in range(count + 1 - i):
                a, b = i / count, j / count
                points.append((1.0 - a - b) * own[:, 0] + a * own[:, 1] + b * own[:, 2])
    return np.concatenate(points)
