"""Power by circuit, with the sums and the words of the rigging figures."""

from __future__ import annotations

from collections.abc import Iterable

from renderer.brief.material import Material
from renderer.brief.page import Block, Section, Table, Text
from renderer.rigging import words


def power_section(material: Material) -> Section:
    """A row a circuit; what is not known is said and left blank."""
    rig, scene = material.rig, material.scene
    numbers = {unit.name: unit.number for unit in material.units if unit.family == "light"}
    rows = []
    for name, draw in rig.circuits.items():
        on = (
            ", ".join(f"{numbers[lamp]} {lamp} {watts:g} W" for lamp, watts in draw.lights.items())
            or "nothing"
        )
        other = scene.circuit[name].other_watts
        rows.append(
            (
                name,
                on + (f", other {other:g} W" if other else ""),
                f"{draw.watts:g} W",
                f"{draw.amps:.2f} A",
                f"{draw.allowed:.2f} A of {draw.breaker:g} A",
                f"{100.0 * draw.share:.0f} %",
                "",
                "",
            )
        )
    if not rows:
        rows = [("", "", "", "", "", "", "", "")] * 2
    head = (
        "circuit",
        "on it",
        "at full",
        "draws",
        "may be drawn",
        "of breaker",
        "socket tested, RCD",
        "isolated by",
    )
    blocks: list[Block] = [Table(head, tuple(rows), (0.9, 2.2, 0.7, 0.75, 1.1, 0.8, 1.1, 1.0), blank=6.5)]
    for name, draw in rig.circuits.items():
        blocks.append(Text(joined(words.circuit_told(name, scene.circuit[name], draw)), "note"))
    if not rig.circuits:
        blocks.append(Text("The scene has no [circuit.NAME]; nothing is said of current.", "caution"))
    elif rig.uncounted:
        blocks.append(Text(f"In no circuit's sum: {'; '.join(rig.uncounted)}.", "caution"))
    blocks.append(
        Text(
            "Inrush, earth leakage of several lamps on one residual-current device, cable route and ramps"
            " are not in"
            " the scene: ................................................................................",
            "note",
        )
    )
    return Section("Power by circuit", tuple(blocks))


def joined(told: Iterable[words.Told]) -> str:
    """What is said of a stand or circuit as one paragraph."""
    parts = [f"{label}: {text}" if label else text for label, text in told]
    return "; ".join(parts) + "."
