"""Solving: dimmers for targets, places for lights, how exactly to rig, and what the readings say is off."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__all__ = ["Balance", "Match", "Placing", "Tolerance", "balanced", "matched", "placed", "toleranced"]

if TYPE_CHECKING:
    from renderer.solve.dimmers.balance import Balance, balanced
    from renderer.solve.exactness.tolerance import Tolerance, toleranced
    from renderer.solve.places.place import Placing, placed
    from renderer.solve.readings.match import Match, matched

HOMES = {
    "Balance": "dimmers.balance",
    "balanced": "dimmers.balance",
    "Match": "readings.match",
    "matched": "readings.match",
    "Placing": "places.place",
    "placed": "places.place",
    "Tolerance": "exactness.tolerance",
    "toleranced": "exactness.tolerance",
}


def __getattr__(name: str) -> Any:
    """Import on first use: what may be asked is checked before any numerical library is loaded."""
    from importlib import import_module

    if name not in HOMES:
        raise AttributeError(f"module 'renderer.solve' has no attribute {name!r}")
    return getattr(import_module(f"renderer.solve.{HOMES[name]}"), name)
