"""The readings to expect: every mark with all lights, then with each alone, and blanks for what was read."""

from __future__ import annotations

from typing import Any

from renderer.brief.material import Material
from renderer.brief.page import Block, Section, Table, Text
from renderer.brief.spot import Spot
from renderer.meter.expected import Setting, how_to_read, settings
from renderer.meter.numbers import MarkNumbers
from renderer.meter.word import amount
from renderer.units import signed, t_stop_in_thirds

MOST = 9
"""Marks side by side in a table."""
ROOMY = 8
"""Lights up to which a reading has a line of its own to write on."""
LINE = "......."


def settings_of(material: Material) -> list[Setting]:
    """All lights together, then each alone."""
    return settings(material.numbers, material.alone)


def readings_section(material: Material, with_marks: bool = True) -> Section:
    """The table of readings, and that of the marks unless it stands by the plan."""
    blocks: list[Block] = [Text(how_to_read(material.scene.camera))]
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
    for setting in settings_of(material):
        cells = [cell(setting.marks[spot.mark.name], close) for spot in several]
        rows.append((f"{setting.number or ''} {setting.on}".strip(), *cells))
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
                for key, value in material.numbers.marks[spot.mark.name].as_json().items()
                if key in _PLACE
            }
            for spot in material.spots
        },
        "settings": [
            {
                "on": setting.on,
                "unit": setting.number,
                "readings": {
                    name: {key: value for key, value in mark.as_json().items() if key in _LEVEL}
                    for name, mark in setting.marks.items()
                },
            }
            for setting in settings_of(material)
        ],
    }


_PLACE = ("meter", "where", "at_m", "axis")
_LEVEL = ("level", "ev100", "stops_from_exposure", "t_stop")
