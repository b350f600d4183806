"""Risk rows: what can hurt, which units it is about, what is usually done, and who answers for it."""

from __future__ import annotations

from collections.abc import Iterator

from renderer.brief.material import Material
from renderer.brief.page import Section, Table, Text

MOST_NITS = 1e4
"""cd/m2 from which a source in view is named; common practice, no source (as in `halfstop check`)."""

BLANK = "..................."
Row = tuple[str, str, str, str, str]


def risk_section(material: Material) -> Section:
    """The table; names and decisions are blanks for the competent person."""
    text = (
        "These rows are a start made from the scene, by common practice (no source). They permit nothing:"
        " a competent"
        " person on the day completes them, by local codes and the makers' manuals, and signs."
    )
    head = ("hazard", "here", "usual control", "who", "done")
    sign = Table(
        ("competent person, name", "signature", "date, time"), (("", "", ""),), (2.0, 2.0, 1.0), blank=8.0
    )
    return Section(
        "Risks", (Text(text), Table(head, tuple(rows(material)), (1.2, 1.7, 4.0, 0.8, 0.45), size=6.9), sign)
    )


def rows(material: Material) -> Iterator[Row]:
    """In the order of a rig: overhead, stands, ceiling, floor, power, heat, eyes, people."""
    rig, units = material.rig, material.units
    names = {unit.path: f"{unit.number} {unit.name}" for unit in units}
    over = [names[path] for path, it in rig.clearances.items() if it.over_head is not None]
    low = [
        names[path] for path, it in rig.clearances.items() if it.over_head is not None and it.under_headroom
    ]
    near = [
        names[path]
        for path, it in rig.clearances.items()
        if it.to_ceiling is not None and it.to_ceiling < 0.5
    ]
    booms = [
        f"{mast.unit.number} {mast.unit.name}" for mast in material.masts if mast.support.boom is not None
    ]
    tips = [text for text in rig.notices if " goes over " in text]
    bright = [name for name, it in rig.seen.items() if it.luminance > MOST_NITS and it.angle < 30.0]
    lamps = [unit for unit in units if unit.family == "light"]
    unheld = [f"{unit.number} {unit.name}" for unit in lamps if unit.support is None]

    yield _row(
        "load over a person",
        ", ".join(over) or "nothing by the scene",
        "secondary attachment of its own, rated, as short as it can be; nobody under it while it is rigged"
        " or lowered",
    )
    stands = f"see Support: {len(tips)} to look at twice" if tips else "see Support"
    yield _row(
        "a stand goes over",
        stands + (f"; not said what holds {', '.join(unheld)}" if unheld else ""),
        "bag on every stand; a leg under the load; the arm turned so that its weight tightens it; push test"
        " by hand",
    )
    yield _row(
        "counterweight falls",
        ", ".join(booms) or "no boom in the scene",
        "fixed, with a secondary attachment of its own; light on last, off first, or as the maker's manual"
        " says",
    )
    yield _row(
        "walking into it",
        ", ".join(low) or "nothing under 2.1 m by the sitter",
        "mark it, pad it, raise it, or keep people out",
    )
    yield _row(
        "sprinkler, detector, ceiling",
        ", ".join(near) or "nothing within 0.5 m of it",
        "keep off heat and heads of sprinklers; a ceiling bears no load unless its owner says so in writing",
    )
    yield _row(
        "ladder, lifting",
        BLANK,
        "one on it, one at its foot; no reaching out; power off at the lamp; two persons from 20 kg",
    )
    yield _row(
        "cables on the floor",
        f"route: {BLANK}",
        "along walls, taped or under ramps; none across the door",
    )
    yield _row(
        "current",
        "see Power",
        "socket tested first; residual-current device; tested appliances; know who isolates",
    )
    yield _row(
        "heat, fabric, gels",
        ", ".join(f"{u.number} {u.name}" for u in lamps) or "none",
        "distance by the maker's manual; flame-retardant fabric; hot lamps cool before the strike",
    )
    yield _row(
        "glare, flicker",
        ", ".join(bright) or "no source over 10 000 cd/m2 within 30 degrees of the gaze",
        "ask the sitter about light and migraine or seizures beforehand; bring levels up slowly",
    )
    yield _row("way out", BLANK, "0.9 m wide all the time, door not blocked, known to all")


def _row(hazard: str, here: str, control: str) -> Row:
    return hazard, here, control, "", ""
