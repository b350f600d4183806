"""What was tried for a place, and what came of it, as a gaffer reads it."""

from __future__ import annotations

import math

from renderer.solve.dimmers.report import aligned, balance_lines
from renderer.solve.goal import words_of
from renderer.solve.places.place import Placing, Try
from renderer.units import signed

SHOWN = 6  # of the tries


def place_lines(found: Placing) -> list[str]:
    """The best places, how they were found, and the balance in the first of them."""
    spot, balance = found.best[0]
    finest = 0.2 * found.within
    lines = [
        f"Place of {found.box.thing.path}: {spot.words()}",
        f"it was at                {found.before.words()}",
        "",
        *_table(found),
        "",
        f"{len(found.tries)} places traced to ±{found.within:g} stop with the same random numbers, the best"
        f" {len(found.best)} again to ±{finest:g}; seed {found.seed}.",
    ]
    if found.refused:
        why = ", ".join(f"{times} {reason}" for reason, times in found.refused.items())
        lines.append(f"Not to be had: {why}.")
    return [*lines, "", *balance_lines(balance, "here, as written")]


def _table(found: Placing) -> list[str]:
    names = list(found.tries[0].values)
    head = ("azimuth", "distance", "height", *(words_of(name) for name in names), "misses")
    rows: list[tuple[str, ...]] = [head]
    for it in found.tries[:SHOWN]:
        spot = it.spot
        rows.append(
            (
                f"{spot.azimuth:.0f} deg",
                f"{spot.distance:.2f} m",
                f"{spot.height:.2f} m",
                *(_cell(it, name) for name in names),
                f"{len(it.missed)}" if it.missed else "none",
            )
        )
    return aligned(rows)


def _cell(it: Try, name: str) -> str:
    value = it.values[name]
    mark = "!" if name in it.missed else ""
    if isinstance(value, str):
        return value + mark
    if math.isinf(value):
        return "none" + mark
    return (f"{value:.1f}:1" if name in ("lighting_ratio", "key_to_fill") else signed(value)) + mark
