"""What is said of a reflector head: its beam and lux in figures, and what to look at twice."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from renderer.photometry.check import flux_check
from renderer.scene.lights import throw

if TYPE_CHECKING:
    from renderer.scene.lights.head import HeadLight

LEFT_OUT = 0.03
"""Share of the lumens of a file from which it is said that they are not traced."""
OFF = 1.0 / 6.0
"""Stops that a reading may be off before it is said: what must not drift within a take (common practice)."""
HOT = 150.0
"""Watts from which a small head is said to get hot: common practice, no source."""
DISTANCES = (1.0, 2.0, 3.0, 5.0)


def figures(head: HeadLight) -> Iterator[tuple[str, str]]:
    """A label and a text each."""
    if head.file is not None:
        read = head.photometry()
        watts = f", {read.watts:g} W" if read.watts else ""
        opening = "" if head.diameter is not None else f", aperture {head.aperture():.3g} m"
        yield "file", f"{head.file}, {read.form}{watts}{opening}"
    lux = ", ".join(f"{head.lux(metres):,.0f} at {metres:g} m" for metres in DISTANCES)
    widths = throw.widths(head.thrown()[0])
    yield "beam", f"{widths}; {head.peak():,.0f} candela; lux on the axis: {lux}"


def remarks(head: HeadLight) -> Iterator[str]:
    """One line each."""
    watts = head.watts
    if head.file is not None:
        watts = watts or head.photometry().watts
        yield from _of_file(head)
    if head.readings is not None:
        yield from _of_readings(head, head.readings)
    if (watts or 0.0) >= HOT:
        yield (
            f"draws {watts:g} W: the front and the housing of so small a head get hot; keep fabric, flags and"
            " hands clear, and let it cool before it is struck"
        )


def _of_file(head: HeadLight) -> Iterator[str]:
    read, (table, beam) = head.photometry(), head.thrown()
    yield from read.cautions
    checked = flux_check(read, table)
    if checked.caution is not None:
        yield checked.caution
    lost, behind = throw.left_out(table, beam), throw.behind(table)
    if behind > LEFT_OUT:
        yield f"{read.name}: sends {behind:.0%} of its lumens behind its aperture, which are left out"
    if abs(lost - behind) > LEFT_OUT:
        change = "fewer" if lost > behind else "more"
        yield (
            f"{read.name}: is traced with {abs(lost - behind):.0%} {change} lumens ahead than it has: a flat"
            f" disc sends little past {throw.STEEPEST:g} degrees, and finer than whole degrees is lost"
        )
    if head.diameter is None and read.opening.along_c0 != read.opening.along_c90:
        yield f"{read.name}: its opening is no circle: traced as a disc of the same area"


def _of_readings(head: HeadLight, readings: tuple[tuple[float, float], ...]) -> Iterator[str]:
    off = [(math.log2(lux / head.lux(metres, crated=False)), metres) for metres, lux in readings]
    worst, metres = max(off, key=lambda item: abs(item[0]))
    if abs(worst) > OFF:
        side = "over" if worst > 0 else "under"
        yield (
            f"its reading at {metres:g} m is {abs(worst):.1f} stops {side} what is traced there: this"
            " aperture and beam do not fall off so; leave out the nearest, or look at the distances again"
        )
