"""Scenes side by side, one parameter walked through a range, a room before and after: what a decision needs.

Loads nothing heavy until something is asked for: the words of `--vary` are read, and faults found, at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from renderer.compare.before import as_found, before_and_after
    from renderer.compare.comparison import Comparison, side_by_side
    from renderer.compare.stepping import Walk, walk

__all__ = ["Comparison", "Walk", "as_found", "before_and_after", "side_by_side", "walk"]


def __getattr__(name: str) -> Any:
    from importlib import import_module

    homes = {
        "Comparison": "comparison",
        "Walk": "stepping",
        "as_found": "before",
        "before_and_after": "before",
        "side_by_side": "comparison",
        "walk": "stepping",
    }
    if name not in homes:
        raise AttributeError(f"module 'renderer.compare' has no attribute {name!r}")
    return getattr(import_module(f"renderer.compare.{homes[name]}"), name)
