"""How the luminance of a flat face depends on direction: what a head, a reflector or an egg crate does.

A table of factors, rows of whole degrees gamma from the normal, columns round the turn from the face's u
axis towards its v axis, straight lines between both ways: what the kernels read, so that every figure here is
that of the light that is traced. No numpy, since a scene is read without it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from renderer.scene.parts import Disc, Numbers, Part, Rectangle, Vec3
from renderer.scene.vector import dot, subtract, unit

ROWS, COLUMNS = 91, 24
"""The size of the kernels' tables: every degree, every 15 degrees of the turn."""


@dataclass(frozen=True)
class Beam:
    """factors  (ROWS, COLUMNS) of the luminance, none below 0"""

    factors: Numbers

    @classmethod
    def of(cls, factor: Callable[[float, float], float]) -> Beam:
        """From a function of gamma and turn [rad]."""
        turns = [2.0 * math.pi * k / COLUMNS for k in range(COLUMNS)]
        return cls(tuple(tuple(factor(math.radians(row), turn) for turn in turns) for row in range(ROWS)))

    def times(self, other: Beam | None) -> Beam:
        """Through one thing and then the other."""
        if other is None:
            return self
        pairs = zip(self.factors, other.factors, strict=True)
        return Beam(tuple(tuple(a * b for a, b in zip(*rows, strict=True)) for rows in pairs))

    def factor(self, gamma: float, turn: float) -> float:
        """At gamma, 0 to pi / 2, and turn [rad]."""
        row = math.degrees(gamma)
        r0 = min(int(row), ROWS - 2)
        column = (turn / (2.0 * math.pi)) % 1.0 * COLUMNS
        c0 = int(column) % COLUMNS
        c1, r, c = (c0 + 1) % COLUMNS, row - r0, column - math.floor(column)
        low, high = (
            (1.0 - c) * self.factors[k][c0] + c * self.factors[k][c1] for k in (r0, r0 + 1)
        )  # fmt: skip
        return (1.0 - r) * low + r * high

    def within(self, gamma: float = math.pi / 2) -> float:
        """Integral of factor cos(gamma) over solid angle [sr], out to a cone of half angle gamma [rad].

        Exact for the straight lines of the table; pi for an even face and the whole hemisphere. Times the
        luminance of factor 1 it is what leaves a unit of area within the cone [lm/m2], and also what a
        disc of half angle gamma gives a small receptor that faces it on its axis [lux].
        """
        means = [sum(row) / COLUMNS for row in self.factors]
        total = 0.0
        for row, (low, high) in enumerate(pairwise(means)):
            a, b = math.radians(row), min(math.radians(row + 1), gamma)
            if b <= a:
                break
            slope = (high - low) / math.radians(1.0)
            even = (math.sin(b) ** 2 - math.sin(a) ** 2) / 2.0
            bend = (math.sin(2.0 * b) - math.sin(2.0 * a)) / 8.0 - (b - a) * math.cos(2.0 * b) / 4.0
            total += low * even + slope * bend
        return 2.0 * math.pi * total


def factor_towards(part: Part, point: Vec3, eye: Vec3) -> float:
    """Factor of the luminance that a point of the front of a part sends to an eye; 1 without a beam.

    Of a curved part with a beam, which has no turn of its own here, the largest: that of its normal.
    """
    if part.beam is None:
        return 1.0
    shape, way = part.shape, unit(subtract(eye, point))
    if not isinstance(shape, (Disc, Rectangle)) or way is None:
        return max(max(row) for row in part.beam)
    if isinstance(shape, Disc):
        u, v = shape.u, shape.v
    else:
        u, v = unit(shape.half_u), unit(shape.half_v)
    turn = 0.0 if u is None or v is None else math.atan2(dot(way, v), dot(way, u))
    return Beam(part.beam).factor(math.acos(max(0.0, min(1.0, dot(way, shape.normal)))), turn)
