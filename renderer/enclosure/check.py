"""Numbers that a person gives, looked at once: each fault is one clear line."""

from __future__ import annotations

import math
from collections.abc import Sequence

from renderer.errors import InputError

SAME = 1e-9
"""Edges [m, or degrees] closer than this are one edge: far below any fabric, far above rounding."""


def number(
    name: str, value: float, low: float, high: float = math.inf, unit: str = "", above: bool = False
) -> float:
    """`value` as a float if it lies from `low` to `high`, or above `low`.

    Raises InputError, which says what was expected and what was found.
    """
    right = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
    if right and (value > low if above else value >= low) and value <= high:
        return float(value)
    if math.isfinite(high):
        span = f"{'more than ' if above else ''}{low:g} to {high:g}"
    else:
        span = f"a number above {low:g}" if above else f"a number from {low:g} up"
    found = f"{value:g}" if isinstance(value, (int, float)) and not isinstance(value, bool) else repr(value)
    raise InputError(f"{name}: expected {span}{' ' + unit if unit else ''}; got {found}")


def count(name: str, value: int, low: int, high: int) -> int:
    """`value` if it is a whole number from `low` to `high`. Raises InputError."""
    if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
        return value
    raise InputError(f"{name}: expected a whole number from {low} to {high}; got {value!r}")


def choice(name: str, value: str, valid: Sequence[str]) -> str:
    """`value` if it is one of `valid`. Raises InputError."""
    if value in valid:
        return value
    raise InputError(f"{name}: expected one of {', '.join(valid)}; got {value!r}")


def shares(name: str, transmittance: float, reflectance: float) -> None:
    """Raises InputError unless both are 0 to 1 and together no more than 1."""
    number(f"{name}: transmittance", transmittance, 0.0, 1.0)
    number(f"{name}: reflectance", reflectance, 0.0, 1.0)
    both = transmittance + reflectance
    if both > 1.0 + SAME:
        raise InputError(
            f"{name}: transmittance {transmittance:g} and reflectance {reflectance:g} make {both:g}:"
            f" expected at most 1 together; reflectance can be {1.0 - transmittance:g} at most"
        )
