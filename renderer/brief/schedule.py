"""The unit schedule: each thing with its number, place, level and support."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from renderer.brief.material import Material
from renderer.brief.page import Section, Table, Text
from renderer.brief.plan import faces_camera
from renderer.brief.unit import Unit
from renderer.scene.parts import Vec3
from renderer.units import signed

HEAD = (
    "number", "name", "purpose", "what", "x_m", "y_m", "z_m", "azimuth_deg", "elevation_deg", "distance_m",
    "level_distance_m", "lowest_m", "highest_m", "aim_x_m", "aim_y_m", "aim_z_m", "tilt_deg", "dimmer",
    "cct_k", "cct_behind_gels_k", "colour", "watts_at_full", "circuit", "support",
)  # fmt: skip

AXES = {
    True: "x to camera right, y from the sitter to the camera",
    False: "x and y along the walls, as in the plan",
}


def schedule_section(material: Material) -> Section:
    """The table; blanks where the scene says nothing."""
    rows = tuple(_row(unit) for unit in material.units)
    head = (
        "no", "name, purpose", "what it is", "x, y, z; low, top, m", "azimuth, elevation", "far, m",
        "aim x, y, z; tilt", "dimmer, colour", "watts, circuit", "support",
    )  # fmt: skip
    text = (
        f"{AXES[faces_camera(material.scene)]}, z up from the floor, from the sitter's mark."
        " Azimuth from the lens axis; elevation and distance from the midpoint of the eyes to its middle,"
        " along the floor in brackets. Tilt over (+) or under the level."
    )
    widths = (0.55, 1.85, 3.3, 2.75, 2.5, 1.3, 2.6, 2.5, 1.1, 1.3)
    return Section(
        "Unit schedule",
        (Text(text, "note"), Table(head, rows, widths, bold=(0,), size=6.8)),
        least=55.0,
    )


def _row(unit: Unit) -> tuple[str, ...]:
    name = f"{unit.name}\n{unit.purpose or unit.family}"
    first = str(unit.number), name, unit.what
    if unit.centre is None:
        return (*first, "off the ceiling", "", "", "", level_of(unit), "", "")
    side = "camera right" if unit.azimuth >= 0.0 else "camera left"
    place = (
        f"{_point(unit.centre)}\nlow {unit.low:.2f}, top {unit.high:.2f}",
        f"{abs(unit.azimuth):.0f}° {side}\n{signed(unit.elevation, 0)}° at the eye",
        f"{unit.distance:.2f}\n({unit.level:.2f})",
    )
    aim = ""
    if unit.aim is not None and unit.tilt is not None:
        aim = f"{_point(unit.aim)}\ntilt {signed(unit.tilt, 0)}°"
    electric = ""
    if unit.family == "light":
        watts = f"{unit.watts:g} W" if unit.watts is not None else "..... W"
        electric = f"{watts}\n{unit.circuit or '.........'}"
    support = unit.support or ("" if unit.family == "window" else ".........")
    return (*first, *place, aim, level_of(unit), electric, support)


def level_of(unit: Unit) -> str:
    """Dimmer and colour; nothing of a board."""
    return "" if unit.fader is None else f"{100.0 * unit.fader.dim:.3g} %\n{unit.colour}"


def _point(point: Vec3) -> str:
    x, y, z = point
    return f"{signed(x, 2)}, {signed(y, 2)}, {z:.2f}"


def schedule_rows(material: Material) -> Iterator[tuple[Any, ...]]:
    """Rows of the CSV, under `HEAD`."""
    for unit in material.units:
        it = unit.as_data()
        at, aim = it["at_m"] or ["", "", ""], it["aim_m"] or ["", "", ""]
        row = {
            **it,
            **dict(zip(("x_m", "y_m", "z_m"), at, strict=True)),
            **dict(zip(("aim_x_m", "aim_y_m", "aim_z_m"), aim, strict=True)),
        }
        yield tuple("" if row[key] is None else row[key] for key in HEAD)
