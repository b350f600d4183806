"""The readings to expect: every mark with all lights, then with each alone, and blanks for what was read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from renderer.brief.material import Material
from renderer.brief.page import Block, Section, Table, Text
from renderer.brief.spot import Spot
from renderer.meter.numbers import MarkNumbers, Numbers
from renderer.meter.word import amount
from renderer.units import shutter_in_words, signed, t_stop_in_thirds

ALL = "all together"
MOST = 9
"""Marks side by side in a table."""
ROOMY = 8
"""Lights up to which a reading has a line of its own to write on."""
LINE = "......."
HEAD = ("setting", "unit", "letter", "mark", "meter", "value", "error", "in", "t_stop", "in_thirds", "read")


def settings(material: Material) -> Iterator[tuple[str, str, Numbers]]:
    """Name of a setting, number of its unit and its numbers: all lights together, then each alone."""
    yield ALL, "", material.numbers
    for unit in material.lit:
        yield f"{unit.name} alone", str(unit.number), material.alone[unit.name]


def readings_section(material: Material, with_marks: bool = True) -> Section:
    """The table of readings, and that of the marks unless it stands by the plan."""
    camera = material.scene.camera
    blocks: list[Block] = [
        Text(
            "One light at a time, in the order of the rows, then all: a reading within a third of a stop of"
            " its figure is as planned; put one that is not right before it is mixed (common practice, no"
            " source)."
            f" T-stops in thirds at ISO {camera.iso:g}, {shutter_in_words(camera.shutter)}; ± is one standard"
            " error of the computation, not of the rig. Write what the meter says on the lines."
        )
    ]
    if not material.spots:
        blocks.append(Text("No marks: the scene has no sitter, no room and no [mark.NAME].", "caution"))
    for first in range(0, len(material.spots), MOST):
        blocks.append(_table(material, first))
    if material.spots and with_marks:
        blocks.append(marks_table(material))
    for spot in material.spots:
        judged = material.numbers.marks[spot.mark.name].verdict
        if judged is not None:
            reason = f": {judged.reason}" if judged.reason else ""
            text = f"{spot.letter} {spot.mark.name}: wanted {judged.wanted}, {judged.result}{reason}."
            blocks.append(Text(text, "note"))
    blocks += [Text(f"Not given: {text}.", "note") for text in material.numbers.missing]
    return Section("Readings to expect", tuple(blocks))


def _table(material: Material, first: int) -> Table:
    several = material.spots[first : first + MOST]
    head = ("on", *(_headed(material, spot) for spot in several))
    rows = []
    close = len(material.lit) > ROOMY
    for name, number, numbers in settings(material):
        cells = [cell(numbers.marks[spot.mark.name], close) for spot in several]
        rows.append((f"{number} {name}".strip(), *cells))
    return Table(head, tuple(rows), (1.05, *(1.0 for _ in several)), bold=(0,), size=6.8)


def _headed(material: Material, spot: Spot) -> str:
    unit = material.numbers.marks[spot.mark.name].level.unit
    return f"{spot.letter} {spot.mark.name.replace('_', ' ')}, {unit}"


def cell(found: MarkNumbers, close: bool = False) -> str:
    """Level with its error, T-stop in thirds, and a line to write on, which is beside it in `close` rows."""
    if not found.level.value > 0.0:
        return "no light\n" + LINE
    last = (" " if close else "\n") + LINE
    return f"{amount(found.level)}\n{t_stop_in_thirds(found.t_stop.value)}{last}"


def marks_table(material: Material) -> Table:
    """Where each meter is held and which way it faces."""
    rows = []
    for spot in material.spots:
        x, y, z = spot.at
        mark = spot.mark
        a, b, c = (float(value) for value in mark.axis)
        rows.append(
            (
                spot.letter,
                mark.name,
                {"flat": "flat disc", "dome": "dome", "spot": "spot, 1 degree"}[mark.meter],
                mark.what,
                f"{signed(x, 2)}, {signed(y, 2)}, {z:.2f}",
                ", ".join(signed(value, 2) for value in (a, b, c)),
            )
        )
    return Table(
        ("", "mark", "meter", "where", "x, y, z of the meter, m", "it faces (x, y, z)"),
        tuple(rows),
        (0.3, 1.3, 0.9, 3.4, 1.4, 1.3),
        size=6.8,
    )


def readings_data(material: Material) -> dict[str, Any]:
    """Plain data: setting, mark, level and T-stop as in the numbers of a preview."""
    return {
        "marks": {
            spot.mark.name: {"letter": spot.letter}
            | {
                key: value
                for key, value in _as_json(material.numbers, spot.mark.name).items()
                if key in _PLACE
            }
            for spot in material.spots
        },
        "settings": [
            {
                "on": name,
                "unit": int(number) if number else None,
                "readings": {
                    mark: {key: value for key, value in _as_json(numbers, mark).items() if key in _LEVEL}
                    for mark in numbers.marks
                },
            }
            for name, number, numbers in settings(material)
        ],
    }


_PLACE = ("meter", "where", "at_m", "axis")
_LEVEL = ("level", "ev100", "stops_from_exposure", "t_stop")


def _as_json(numbers: Numbers, mark: str) -> dict[str, Any]:
    return numbers.marks[mark].as_json()


def readings_rows(material: Material) -> Iterator[tuple[Any, ...]]:
    """Rows of the CSV, under `HEAD`."""
    for name, number, numbers in settings(material):
        for spot in material.spots:
            it = _as_json(numbers, spot.mark.name)
            yield (
                name, number, spot.letter, spot.mark.name, it["meter"], it["level"]["value"],
                it["level"]["error"], it["level"]["unit"], it["t_stop"]["value"], it["t_stop"]["in_thirds"],
                "",
            )  # fmt: skip
