"""Skirts: opaque fabric on the side of a cylinder, over part of the turn and part of the height.

Skirts lie ON the side, at its radius. So the side is cut into patches that never overlap: each is
either open or belongs to one skirt, and a kernel never meets two surfaces in one place.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Annotated, Any

from pydantic import Field

from renderer.enclosure.fabric import BLACK, SILVER, WHITE
from renderer.scene.field import (
    COORDINATE,
    RED_GREEN_BLUE,
    SHARE,
    Length,
    Problem,
    Quantity,
    Reflectance,
    Several,
    Table,
    fault,
    near,
    plain,
    show,
)
from renderer.scene.parts import RGB

FULL_TURN = 360.0
SAME = 1e-9

LININGS = {"silver": SILVER, "white": WHITE, "black": BLACK}
"""Reflectance of a skirt's inside by what it is called; common practice, no source."""


class Lined(Several):
    """As a reflectance, or one of the words of `LININGS`."""

    def check(self, value: Any) -> tuple[float, ...]:
        if not isinstance(value, str):
            return super().check(value)
        if value not in LININGS:
            valid = ", ".join(f'"{word}"' for word in LININGS) + f", or {self.of.valid()}"
            raise fault(f"expected {valid}; got {show(value)}{near(value, list(LININGS))}")
        return (LININGS[value],) * 3

    def schema(self) -> dict[str, Any]:
        return {"anyOf": [{"type": "string", "enum": list(LININGS)}, *super().schema()["anyOf"]]}


Lining = Annotated[RGB, Lined(SHARE, RED_GREEN_BLUE, one=True)]
Span = Annotated[tuple[float, float], Several(Quantity("degrees", -720.0, 720.0), ("from", "to"))]
Band = Annotated[tuple[float, float], Several(COORDINATE, ("low", "high"))]


class Skirt(Table):
    """One skirt. Where skirts overlap, the later in the file is the outer one.

    Angles: 0 is the side that faces the aim; positive turns clockwise as seen from the tip of the
    cylinder's axis (from above, when upright): from the sitter's side towards camera right, for a
    light between camera and sitter (`LightPlace.turn_axes`).
    """

    covers: Span = Field(
        description="[from, to], degrees round the axis; 0 faces the aim, positive is clockwise from above"
    )
    height: Band | None = Field(
        default=None, description="[low, high], metres above the lower edge; the whole side unless given"
    )
    drop: Length = Field(default=0.0, description="metres that it hangs below the lower edge")
    reflectance: Reflectance = Field(
        default=(0.04, 0.04, 0.04), description="of the outside, 0 to 1, or [r, g, b]"
    )
    inside_reflectance: Lining = Field(
        default=(BLACK,) * 3,
        description='of the inside, "silver", "white", "black", 0 to 1, or [r, g, b]; with a lamp inside the'
        " cylinder it sends light back in",
    )

    def problems(self) -> Iterator[Problem]:
        start, end = self.covers
        if end <= start:
            text = f"covers nothing: to must be more than from; got [{plain(start)}, {plain(end)}]"
            hint = (
                f"; did you mean [{plain(start)}, {plain(end + FULL_TURN)}]?"
                if start - end < FULL_TURN
                else ""
            )
            yield ("covers",), text + hint
        elif end - start > FULL_TURN + SAME:
            yield (
                ("covers",),
                (
                    f"covers {plain(end - start)} degrees: expected at most 360;"
                    f" got [{plain(start)}, {plain(end)}]"
                ),
            )
        if self.height is not None and self.height[0] >= self.height[1]:
            low, high = (plain(edge) for edge in self.height)
            yield ("height",), f"is empty: low must be less than high; got [{low}, {high}]"
        if self.drop > 0 and self.height is not None and self.height[0] > SAME:
            yield (
                ("drop",),
                (
                    "a drop hangs from the lower edge, but the skirt starts above it:"
                    f" expected height = [0, {plain(self.height[1])}] or no drop"
                ),
            )

    def height_problems(self, length: float) -> Iterator[Problem]:
        """Whether it lies on a side of this length [m]."""
        if self.height is None or self.height[0] >= self.height[1]:
            return
        if self.height[0] < -SAME or self.height[1] > length + SAME:
            low, high = (plain(edge) for edge in self.height)
            yield ("height",), f"leaves the side: expected 0 to {plain(length)} metres; got [{low}, {high}]"

    def arcs(self) -> list[tuple[float, float]]:
        """The turn it covers as one or two spans inside 0..360."""
        start, end = self.covers
        if end - start >= FULL_TURN - SAME:
            return [(0.0, FULL_TURN)]
        first = start % FULL_TURN
        last = first + end - start
        return [(first, last)] if last <= FULL_TURN else [(first, FULL_TURN), (0.0, last - FULL_TURN)]


@dataclass(frozen=True)
class Patch:
    """A cell of the unrolled side.

    turn    from, to [deg]; to is above 360 where it crosses the seam
    height  low, high [m] above the lower edge
    skirts  indices of those that lie on it, inner first; none: open
    """

    turn: tuple[float, float]
    height: tuple[float, float]
    skirts: tuple[int, ...]


def side_patches(skirts: Sequence[Skirt], length: float) -> list[Patch]:
    """The side, 0 to `length`, cut into disjoint patches; those without skirts are open."""
    covered = [(skirt.arcs(), skirt.height or (0.0, length)) for skirt in skirts]
    return _patches(covered, (0.0, length))


def drop_patches(skirts: Sequence[Skirt]) -> list[Patch]:
    """What hangs below the lower edge (heights below 0), as disjoint patches, all of them skirt."""
    covered = [(skirt.arcs(), (-skirt.drop, 0.0)) for skirt in skirts]
    deepest = max((skirt.drop for skirt in skirts), default=0.0)
    return [patch for patch in _patches(covered, (-deepest, 0.0)) if patch.skirts]


def _patches(
    covered: list[tuple[list[tuple[float, float]], tuple[float, float]]], side: tuple[float, float]
) -> list[Patch]:
    turns = _edges([edge for arcs, _ in covered for arc in arcs for edge in arc], 0.0, FULL_TURN)
    heights = _edges([edge for _, band in covered for edge in band], *side)
    rows: list[list[Patch]] = []
    for low, high in pairwise(heights):
        cells = []
        for start, end in pairwise(turns):
            turn, height = (start + end) / 2, (low + high) / 2
            here = tuple(
                i
                for i, (arcs, band) in enumerate(covered)
                if band[0] < height < band[1] and any(arc[0] < turn < arc[1] for arc in arcs)
            )
            cells.append(Patch((start, end), (low, high), here))
        rows.append(_joined_round(cells))
    return _joined_up(rows)


def _edges(cuts: list[float], low: float, high: float) -> list[float]:
    """Sorted cuts from `low` to `high`, those closer than `SAME` taken as one."""
    edges = [low]
    for cut in sorted(cuts):
        if edges[-1] + SAME < cut < high - SAME:
            edges.append(cut)
    return [*edges, high] if high > low + SAME else []


def _joined_round(cells: list[Patch]) -> list[Patch]:
    """One row with neighbours of like cover joined, also over the seam at 0."""
    row = [cells[0]]
    for cell in cells[1:]:
        if cell.skirts == row[-1].skirts:
            row[-1] = replace(row[-1], turn=(row[-1].turn[0], cell.turn[1]))
        else:
            row.append(cell)
    if len(row) > 1 and row[0].skirts == row[-1].skirts:
        last = row.pop()
        row[0] = replace(last, turn=(last.turn[0], row[0].turn[1] + FULL_TURN))
    return row


def _joined_up(rows: list[list[Patch]]) -> list[Patch]:
    """Rows with patches of like cover and turn joined to those below."""
    done: list[Patch] = []
    growing: list[Patch] = []
    for row in rows:
        below = {(patch.turn, patch.skirts): patch for patch in growing}
        growing = []
        for patch in row:
            under = below.pop((patch.turn, patch.skirts), None)
            growing.append(
                patch if under is None else replace(patch, height=(under.height[0], patch.height[1]))
            )
        done.extend(below.values())
    return done + growing


def radians(turn: tuple[float, float]) -> tuple[float, float]:
    """A turn [deg] as the phi_from, phi_to [rad] of a tube; never more than a full turn."""
    start = math.radians(turn[0])
    return start, min(math.radians(turn[1]), start + 2 * math.pi)
