"""What is in a brief and in which order. A new section is one function here and its place in `brief_of`."""

from __future__ import annotations

from renderer import __version__
from renderer.brief.drawing import Drawing
from renderer.brief.intent import intent_section
from renderer.brief.key import key_drawing
from renderer.brief.kit import kit_section
from renderer.brief.material import Material
from renderer.brief.page import HIGH, WIDE, Block, Brief, Figure, Section, Text
from renderer.brief.pictures import pictures_section
from renderer.brief.plan import plan
from renderer.brief.power import power_section
from renderer.brief.readings import marks_table, readings_section
from renderer.brief.risk import risk_section
from renderer.brief.schedule import schedule_section
from renderer.brief.section import NEAR, along_lens, reaches, through_key, words_of
from renderer.brief.source import source_section
from renderer.brief.support import support_section

FOOT = "Figures for planning: local codes, makers' manuals and competent people decide."
TITLE, LEAD, KEY = 9.0, 6.0, 20.0
"""Millimetres that the title of a section, a line under it and the key to the symbols take."""
PLAN_HIGH = HIGH - TITLE - 2 * LEAD - KEY
MARKS_HEAD, ROW = 9.0, 4.5
"""Millimetres that a table of marks takes: its head with some air, and a row."""


def brief_of(material: Material) -> Brief:
    """The whole brief: intent and camera, drawings, schedule and readings, pictures, kit, power, risks."""
    drawing = plan(material.scene, material.units, material.masts, material.spots, (WIDE, PLAN_HIGH))
    left = HIGH - TITLE - 2 * LEAD - KEY - drawing.size[1]
    marks_by_plan = bool(material.spots) and left > MARKS_HEAD + ROW * len(material.spots)
    sections = (
        intent_section(material, WIDE),
        plan_section(material, drawing, marks_by_plan),
        sections_section(material),
        schedule_section(material),
        readings_section(material, not marks_by_plan),
        pictures_section(material, WIDE),
        kit_section(material),
        power_section(material),
        support_section(material),
        risk_section(material),
        source_section(material),
    )
    foot = f"halfstop {__version__}. {FOOT}"
    return Brief(material.scene.title or "A scene without a title", sections, foot)


def plan_section(material: Material, drawing: Drawing, marks: bool) -> Section:
    """The plan on a page of its own, with the key to all symbols; the marks where there is room."""
    room = material.scene.room
    size = (
        f"Room {room.width:g} m wide (x), {room.depth:g} m deep (y), {room.height:g} m high; back wall above."
        if room is not None
        else "No room in the scene: open black space; walls are not known."
    )
    blocks: list[Block] = [Text(f"{size} Places in metres from the sitter's mark."), Figure(drawing)]
    if not material.scene.support:
        text = "No [support.NAME] in the scene: no stands are drawn. Draw in where they go."
        blocks.append(Text(text, "caution"))
    elif any(mast.proposed for mast in material.masts):
        text = "Masts that stand out from their light are put where they fit: the scene leaves the side open."
        blocks.append(Text(text, "note"))
    blocks.append(Figure(key_drawing()))
    if marks:
        blocks.append(marks_table(material))
    return Section(f"Plan 1:{drawing.scale}", tuple(blocks), True)


def sections_section(material: Material) -> Section:
    """Both sections on one page, the second first: what it leaves of the page is for the other."""
    scene, units, masts, spots = material.scene, material.units, material.masts, material.spots
    high, key = HIGH - TITLE - 3 * LEAD, material.key
    second = None
    if key.centre is not None:
        second = through_key(scene, units, masts, spots, key, (WIDE, high / 2.0))
        high -= second.size[1]
    first = along_lens(scene, units, masts, spots, (WIDE, high))
    blocks: list[Block] = [Text(f"{first.name}, 1:{first.scale}", "lead"), Figure(first)]
    if second is not None:
        blocks += [
            Text(f"{second.name}, 1:{second.scale}; other things within {NEAR:g} m of its plane", "lead"),
            Figure(second),
        ]
        if scene.room is not None:
            blocks.append(Text(words_of(reaches(scene, units, key), key)))
    else:
        blocks.append(
            Text("The key is the room's own light, which hangs nowhere: no section through it.", "note")
        )
    return Section("Sections", tuple(blocks), True)
