"""The angles of an LM-63 table: which part of space they cover, and with which symmetry.

source  ANSI/IESNA LM-63-2002: vertical angles of type C from 0 or 90 to 90 or 180; horizontal angles
        from 0 to 0, 90, 180 or 360; LM-63-1995 has 90 to 270 too (from memory)
"""

from __future__ import annotations

from itertools import pairwise

from renderer.errors import InputError
from renderer.photometry.number import Numbers
from renderer.photometry.record import Symmetry
from renderer.photometry.text import plain

SAME = 1e-3
"""Degrees: angles this close to a limit are meant to be the limit, as in 89.9999."""
SPANS: dict[tuple[float, float], Symmetry] = {
    (0.0, 90.0): "quadrant",
    (0.0, 180.0): "bilateral",
    (90.0, 270.0): "lateral",
    (0.0, 360.0): "none",
}


def _snap(angles: tuple[float, ...], limits: tuple[float, ...]) -> tuple[float, ...]:
    """First and last angle put on a limit that they nearly are."""
    ends = list(angles)
    for i in (0, -1):
        ends[i] = next((limit for limit in limits if abs(limit - ends[i]) <= SAME), ends[i])
    return tuple(ends)


def vertical(numbers: Numbers, count: int, cautions: list[str]) -> tuple[float, ...]:
    """The gamma angles [degrees]. Raises InputError for those that start elsewhere than at 0 or 90."""
    what = "vertical angles"
    start = numbers.line
    angles = _snap(numbers.ascending(what, count, 0.0, 180.0 + SAME), (0.0, 90.0, 180.0))
    if angles[0] not in (0.0, 90.0):
        raise _fault(
            numbers, start, f"{what}: expected the first to be 0 or 90 (type C); got {plain(angles[0])}"
        )
    if angles[-1] not in (90.0, 180.0):
        cautions.append(
            f"{what} end at {plain(angles[-1])} degrees, not at 90 or 180: taken as dark from there on"
        )
    return angles


def horizontal(numbers: Numbers, count: int, cautions: list[str]) -> tuple[tuple[float, ...], Symmetry]:
    """The C angles [degrees] and the symmetry that they stand for. Raises InputError for an unknown span."""
    what = "horizontal angles"
    start = numbers.line
    angles = _snap(numbers.ascending(what, count, 0.0, 360.0 + SAME), (0.0, 90.0, 180.0, 270.0, 360.0))
    if count == 1:
        return angles, "axial"
    first, last = angles[0], angles[-1]
    if (first, last) in SPANS:
        return angles, SPANS[first, last]
    widest = max(after - before for before, after in pairwise(angles))
    if first == 0.0 and last > 180.0 and 360.0 - last <= widest + SAME:
        cautions.append(
            f"{what} end at {plain(last)} degrees, not at 360: the turn is closed with the plane at 0"
        )
        return angles, "none"
    raise _fault(
        numbers,
        start,
        f"{what}: expected 0 alone, 0 to 90, 0 to 180, 0 to 360 or 90 to 270 degrees;"
        f" got {plain(first)} to {plain(last)}",
    )


def _fault(numbers: Numbers, before: int, text: str) -> InputError:
    """Told on the line where the angles end: they have been taken by now."""
    return numbers.text.fault(max(before, numbers.line), text)
