"""The kit list: what the scene needs, counted, and blanks for what it does not say."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from renderer.brief.material import Material
from renderer.brief.page import WIDE, Beside, Block, Section, Table, Text
from renderer.brief.unit import gel_words
from renderer.brief.what import kind_of, sheet_of, skirt_size, what_of
from renderer.scene.lights.base import Lamp

TO_FILL = (
    "extension leads: number, lengths",
    "distribution with a residual-current device",
    "cable ramps, floor tape",
    "clamps, arms, knuckles",
    "spare lamps, fuses, fabric",
    "gloves, ladder, tape measure, meter",
)
"""Lines of every list that no scene says; common practice, no source."""

Item = tuple[str, str, int | None]
"""What, of which unit, how many; None is left blank."""


def items(material: Material) -> Iterator[tuple[str, str]]:
    """Each thing with the number of the unit that it is for."""
    scene = material.scene
    for unit in material.units:
        number = str(unit.number)
        if unit.family == "light":
            light = scene.light[unit.name]
            yield kind_of(light), number
            yield from ((text, number) for text in _on(light))
        elif unit.family in ("card", "flag", "breakup"):
            yield what_of(scene.boards()[unit.family][unit.name]), number
        elif unit.family == "window":
            window = scene.windows[unit.name]
            yield from (
                (f"gel {gel_words((gel,))} over a window {window.width:.2f} x {window.height:.2f} m", number)
                for gel in window.gel
            )
    for unit in material.units:
        if unit.family != "light" or unit.support is None:
            continue
        support, number = scene.support[unit.support], str(unit.number)
        yield f"stand, {support.legs} legs of {support.legs_radius:g} m, {support.mass:g} kg", number
        if support.boom is not None:
            yield (
                f"boom, light {support.boom.arm:g} m and counterweight {support.boom.counterweight_arm:g}"
                " m from the mast",
                number,
            )
            heavy = material.rig.stands[unit.support].counterweight
            if heavy is not None:
                yield f"counterweight {heavy:.1f} kg, with a secondary attachment", number
        if support.bag is not None:
            yield f"bag of sand {support.bag.mass:g} kg", number
        if support.secondary is not None:
            yield "secondary attachment, rated by its maker", number


def _on(light: Lamp) -> Iterator[str]:
    lamp, head = getattr(light, "lamp", None), getattr(light, "head", None)
    if lamp is not None:
        yield f"lamp of {lamp.lumens:g} lm for the inside of the cylinder, beam {lamp.beam:g}°"
    if head is not None:
        yield f"head of {head.lumens:g} lm, beam {head.beam:g}°"
    yield from (sheet_of(sheet) for sheet in getattr(light, "sheet", None) or ())
    for skirt in getattr(light, "skirt", None) or ():
        wide, high = skirt_size(skirt, light.diameter, light.length)  # type: ignore[attr-defined]
        lined = ", silver inside" if max(skirt.inside_reflectance) > 0.5 else ""
        yield f"skirt, opaque fabric {wide:.2f} x {high:.2f} m{lined}"
    crate = getattr(light, "crate", None)
    if crate is not None:
        yield f"egg crate, cells {crate.cell:g} m wide, {crate.depth:g} m deep"
    yield from (f"gel {gel_words((gel,))}" for gel in light.gel)


def counted(material: Material) -> list[Item]:
    """Like things together, in the order in which they first come."""
    of: dict[str, list[str]] = {}
    for what, number in items(material):
        of.setdefault(what, []).append(number)
    return [(what, ", ".join(dict.fromkeys(numbers)), len(numbers)) for what, numbers in of.items()]


def kilograms(material: Material) -> float | None:
    """Of all stands with what is on them; None without one."""
    scene = material.scene
    if not scene.support:
        return None
    total = 0.0
    for name, support in scene.support.items():
        total += support.mass + support.load + (support.bag.mass if support.bag else 0.0)
        total += (support.boom.mass if support.boom else 0.0) + (
            material.rig.stands[name].counterweight or 0.0
        )
    return total


def kit_section(material: Material) -> Section:
    """Counted, with columns to tick out and back."""
    rows: list[tuple[str, ...]] = [
        (str(count), what, units, "", "") for what, units, count in counted(material)
    ]
    rows += [("....", what, "", "", "") for what in TO_FILL]
    lamps = [unit for unit in material.units if unit.family == "light"]
    held = [unit for unit in lamps if unit.support is None]
    half = -(-len(rows) // 2)
    wide = (WIDE - 4.0) / 2.0
    halves = tuple((_table(rows[k : k + half]),) for k in (0, half))
    blocks: list[Block] = [Beside(halves[0], halves[1], wide, wide)]
    mass = kilograms(material)
    if mass is not None:
        blocks.append(Text(f"The stands with all that is on them: {mass:.1f} kg."))
    if held:
        names = ", ".join(f"{unit.number} {unit.name}" for unit in held)
        blocks.append(Text(f"No support in the scene for {names}: add what holds them.", "caution"))
    boards = [unit for unit in material.units if unit.family in ("card", "flag", "breakup")]
    if boards:
        names = ", ".join(f"{unit.number} {unit.name}" for unit in boards)
        blocks.append(Text(f"Cards, flags and breakups need a stand and an arm each: {names}.", "note"))
    return Section("Kit list", tuple(blocks))


def _table(rows: list[tuple[str, ...]]) -> Table:
    return Table(("no.", "what", "for", "out", "back"), tuple(rows), (0.6, 4.4, 1.6, 0.6, 0.75), size=7.0)


def kit_data(material: Material) -> dict[str, Any]:
    """Plain data."""
    listed = [{"count": count, "what": what, "for_units": units} for what, units, count in counted(material)]
    return {"items": listed, "to_fill_in": list(TO_FILL), "stands_kg": kilograms(material)}
