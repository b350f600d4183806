"""Readings to expect: all lights together, then each alone, and blanks for what was read.

The brief and `match` print the same numbers in the same words; the way back from the blanks is
`renderer.solve.readings.given`.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from renderer.film.layers import Layers
from renderer.meter.mark import Mark
from renderer.meter.numbers import MarkNumbers, Numbers, numbers
from renderer.scene.camera import Camera
from renderer.scene.expected import ALL, HEAD, on_alone
from renderer.units import shutter_in_words

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True)
class Setting:
    """What is on. light: the one that is alone, None for all; number: that of its unit, from 1; marks: what
    each meter then reads."""

    on: str
    light: str | None
    number: int | None
    marks: dict[str, MarkNumbers]


def settings(together: Numbers, alone: dict[str, Numbers]) -> list[Setting]:
    """All together, then each light in the order of the layers, which is that of the units."""
    each = [
        Setting(on_alone(name), name, i + 1, found.marks) for i, (name, found) in enumerate(alone.items())
    ]
    return [Setting(ALL, None, None, together.marks), *each]


def alone_of(layers: Layers, marks: list[Mark], camera: Camera) -> dict[str, Numbers]:
    """The meters' numbers of each light alone at its level, by its name."""
    return {
        name: numbers(layers.with_mix(layers.mix.changed(solo=[name])), marks, [], camera)
        for name in layers.mix.names()
    }


def letter(i: int) -> str:
    """A for 0, Z for 25, AA for 26: a mark's letter, by its place among the readings."""
    return (LETTERS[i // 26 - 1] if i >= 26 else "") + LETTERS[i % 26]


def how_to_read(camera: Camera) -> str:
    """What stands over the table."""
    return (
        "One light at a time, in the order of the rows, then all: a reading within a third of a stop of"
        " its figure is as planned; put one that is not right before it is mixed (common practice, no"
        " source)."
        f" T-stops in thirds at ISO {camera.iso:g}, {shutter_in_words(camera.shutter)}; ± is one standard"
        " error of the computation, not of the rig. Write what the meter says on the lines."
    )


def rows(several: Iterable[Setting]) -> Iterator[tuple[Any, ...]]:
    """Rows of the CSV, under `HEAD`; the last cell is blank."""
    for setting in several:
        for i, (name, mark) in enumerate(setting.marks.items()):
            it = mark.as_json()
            yield (
                setting.on, setting.number or "", letter(i), name, it["meter"], it["level"]["value"],
                it["level"]["error"], it["level"]["unit"], it["t_stop"]["value"], it["t_stop"]["in_thirds"],
                "",
            )  # fmt: skip


def csv_bytes(head: Sequence[str], lines: Iterable[tuple[Any, ...]]) -> bytes:
    """Comma separated, UTF-8 with a mark at its start, which spreadsheets look for."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(head)
    writer.writerows(lines)
    return out.getvalue().encode("utf-8-sig")


def readings_csv(several: Iterable[Setting]) -> bytes:
    """The whole file `readings.csv`."""
    return csv_bytes(HEAD, rows(several))
