"""The outline of a flat diffuser and the cells it is cut into, all square to the axis of the head.

Either kind of cells answers the same questions: areas, what a head on the axis throws on them, which of
them lie behind something nearer to the head, and what they exchange with cells of a parallel diffuser.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from renderer.enclosure.beam import Head
from renderer.enclosure.check import SAME, number
from renderer.enclosure.coaxial import rings_to_rings
from renderer.enclosure.parallel import cells_to_cells
from renderer.errors import InputError

Floats = NDArray[np.float64]
CLOSE, POOR = 1e-9, 1e-4
"""Change on doubling the nodes, relative to the brightest cell: enough, and too much."""
MOST_NODES = 64


@dataclass(frozen=True)
class Round:
    """A round diffuser [m]. Raises InputError."""

    diameter: float

    def __post_init__(self) -> None:
        number("diffuser: diameter", self.diameter, 0.0, 100.0, "metres", above=True)


@dataclass(frozen=True)
class Rectangular:
    """A rectangular diffuser [m]. Raises InputError."""

    width: float
    height: float

    def __post_init__(self) -> None:
        for name in ("width", "height"):
            number(f"diffuser: {name}", getattr(self, name), 0.0, 100.0, "metres", above=True)


Outline = Round | Rectangular


def _edges(half: float, cuts: Iterable[float], cells: int) -> Floats:
    """From 0 to `half`, in about `cells` equal steps, with an edge at every cut between."""
    marks = [0.0, *sorted(cut for cut in set(cuts) if SAME < cut < half - SAME), half]
    pieces = [np.linspace(a, b, 1 + max(1, round(cells * (b - a) / half))) for a, b in pairwise(marks)]
    return np.concatenate([pieces[0], *(piece[1:] for piece in pieces[1:])])


class RoundCells:
    """Rings. `shadows`: outlines that are thrown on it, with their scale; their edges are edges here."""

    def __init__(self, outline: Round, shadows: list[tuple[Round, float]], cells: int) -> None:
        cuts = [shadow.diameter / 2.0 * scale for shadow, scale in shadows]
        self.radii = _edges(outline.diameter / 2.0, cuts, max(1, round(cells / 2)))
        self.areas: Floats = math.pi * np.diff(np.square(self.radii))

    def from_head(self, head: Head, distance: float) -> Floats:
        """Mean illuminance [lx] of every cell, from a head on the axis, `distance` [m] before (n,)."""
        cone = head.beam.within(np.arctan2(self.radii, distance))
        return np.asarray(head.lumens * np.diff(cone) / self.areas)

    def behind(self, outline: Round, scale: float) -> NDArray[np.bool_]:
        """Which cells lie inside the scaled outline (n,)."""
        return np.asarray((self.radii[1:] + self.radii[:-1]) / 2.0 < outline.diameter / 2.0 * scale)

    def exchange(self, other: RoundCells, apart: float) -> Floats:
        """Exchange areas [m2] with cells `apart` [m] away (n, m)."""
        return rings_to_rings(self.radii, other.radii, apart)

    def picture(self, values: Floats) -> Floats:
        """Values of cells (n,) as they lie: here outward (rings,)."""
        return values


class RectangleCells:
    """As `RoundCells`; a cell is an oblong of one quarter with its three mirror images."""

    def __init__(self, outline: Rectangular, shadows: list[tuple[Rectangular, float]], cells: int) -> None:
        longer = max(outline.width, outline.height)
        self.edges: list[Floats] = []  # of one quarter, outward: across, up
        for name in ("width", "height"):
            size = getattr(outline, name)
            cuts = [getattr(shadow, name) / 2.0 * scale for shadow, scale in shadows]
            self.edges.append(_edges(size / 2.0, cuts, max(1, round(cells * size / longer / 2.0))))
        x, y = self.edges
        self.shape = (len(y) - 1, len(x) - 1)
        self.areas: Floats = 4.0 * np.outer(np.diff(y), np.diff(x)).ravel()

    def from_head(self, head: Head, distance: float) -> Floats:
        """As for rings; Gauss' rule in every cell, nodes doubled until the cells hold still.

        E = I cos(theta) / d^2, by definition. Raises InputError for a head too near for its cells.
        """
        before, nodes, change = self._mean(head, distance, 4), 8, math.inf
        while nodes <= MOST_NODES and change > CLOSE:
            now = self._mean(head, distance, nodes)
            change = float(np.max(np.abs(now - before)) / max(float(np.max(now)), 1e-300))
            before, nodes = now, 2 * nodes
        if change > POOR:
            raise InputError(
                f"diffuser: {distance:g} metres from the head is too near, or the beam too narrow, for"
                f" {2 * self.shape[1]} x {2 * self.shape[0]} cells: expected more cells or more distance"
            )
        return before

    def _mean(self, head: Head, distance: float, nodes: int) -> Floats:
        """Mean illuminance [lx] of every cell (n,), by nodes^2 points."""
        x, weight = np.polynomial.legendre.leggauss(nodes)
        places = [e[:-1, None] + np.diff(e)[:, None] * (0.5 * (1.0 + x)) for e in self.edges]
        across, up = places[0][None, :, None, :], places[1][:, None, :, None]
        away = np.sqrt(across**2 + up**2 + distance**2)
        light = head.beam.intensity(np.arccos(distance / away)) * (distance / away**3)
        means = np.einsum("jikl,k,l->ji", light, weight, weight, optimize=True) / 4.0
        return np.asarray(head.lumens * means.ravel())

    def behind(self, outline: Rectangular, scale: float) -> NDArray[np.bool_]:
        """Which cells lie inside the scaled outline (n,)."""
        halves = (outline.width / 2.0 * scale, outline.height / 2.0 * scale)
        across, up = ((e[1:] + e[:-1]) / 2.0 < half for e, half in zip(self.edges, halves, strict=True))
        return np.asarray(np.outer(up, across).ravel())

    def exchange(self, other: RectangleCells, apart: float) -> Floats:
        """Exchange areas [m2] with cells `apart` [m] away (n, m), mirror images and all."""
        whole = [np.concatenate([-e[:0:-1], e]) for e in other.edges]
        up, across = other.shape
        four = cells_to_cells(self.edges, whole, apart).reshape(-1, 2 * up, 2 * across)
        two = four[:, up:] + four[:, up - 1 :: -1]
        one = two[:, :, across:] + two[:, :, across - 1 :: -1]
        return np.asarray(4.0 * one.reshape(-1, up * across))

    def picture(self, values: Floats) -> Floats:
        """Values of cells (n,) as they lie, all four quarters (up, across)."""
        quarter = values.reshape(self.shape)
        half = np.concatenate([quarter[::-1], quarter], axis=0)
        return np.concatenate([half[:, ::-1], half], axis=1)


Cells = RoundCells | RectangleCells
