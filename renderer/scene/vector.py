"""Arithmetic on triples of floats.

Plain tuples, so that reading and checking a scene needs no numerical library. `cross` is the usual
formula; the world is left-handed (see `renderer.scene.place`), so say in words what a result points to.
"""

from __future__ import annotations

import math

from renderer.scene.parts import Vec3

TINY = 1e-9
"""Length [m] under which a vector has no direction."""


def add(a: Vec3, b: Vec3) -> Vec3:
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


def subtract(a: Vec3, b: Vec3) -> Vec3:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def scale(a: Vec3, factor: float) -> Vec3:
    return a[0] * factor, a[1] * factor, a[2] * factor


def dot(a: Vec3, b: Vec3) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vec3, b: Vec3) -> Vec3:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def length(a: Vec3) -> float:
    return math.hypot(*a)


def unit(a: Vec3) -> Vec3 | None:
    """`a` at length 1, or None where it is too short to have a direction."""
    size = length(a)
    return None if size < TINY else scale(a, 1.0 / size)


def across(a: Vec3, axis: Vec3) -> Vec3 | None:
    """Direction (unit) of the part of `a` square to the unit `axis`; None where `a` runs along it."""
    rest = subtract(a, scale(axis, dot(a, axis)))
    return None if length(rest) < 1e-6 * max(length(a), TINY) else unit(rest)


def blend(*terms: tuple[float, Vec3]) -> Vec3:
    """Sum of factor x vector over `terms`."""
    x = sum(factor * vector[0] for factor, vector in terms)
    y = sum(factor * vector[1] for factor, vector in terms)
    z = sum(factor * vector[2] for factor, vector in terms)
    return x, y, z
