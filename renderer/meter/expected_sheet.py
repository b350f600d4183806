"""The readings to expect as plain text that prints on one page, with a line to write on beside each."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from itertools import zip_longest

from renderer.meter.expected import Setting, how_to_read, letter
from renderer.meter.mark import Mark
from renderer.meter.word import level
from renderer.scene.camera import Camera
from renderer.units import signed, t_stop_in_thirds

LINE = "." * 12
ROWS = 62
"""Lines of an upright A4 page at ten points; longer tables stand in two columns, for a page on its side at
eight."""
GAP = "   | "
METER = {"flat": "flat disc", "dome": "dome", "spot": "spot"}
WIDE = 92


def sheet_text(title: str, settings: Sequence[Setting], marks: Sequence[Mark], camera: Camera) -> str:
    """The whole page."""
    lines = [title or "A scene without a title", *textwrap.wrap(how_to_read(camera), WIDE), ""]
    if not marks:
        return "\n".join([*lines, "No marks: the scene has no sitter, no room and no [mark.NAME]."]) + "\n"
    where = ["where the meter is held: x, y, z in metres", *_where(marks)]
    blocks = [_block(setting) for setting in settings]
    if len(lines) + sum(map(len, blocks)) + len(where) <= ROWS:
        table = [line for block in blocks for line in block]
    else:
        table = _beside(blocks)
    return "\n".join(line.rstrip() for line in (*lines, *table, "", *where)) + "\n"


def _block(setting: Setting) -> list[str]:
    """A setting and a line for each mark."""
    number = f"{setting.number} " if setting.number else ""
    rows = []
    for i, (name, mark) in enumerate(setting.marks.items()):
        lit = mark.level.value > 0.0
        cells = (level(mark.level), t_stop_in_thirds(mark.t_stop.value)) if lit else ("no light", "")
        rows.append(f"  {letter(i):2} {name[:20]:20} {cells[0]:>20}  {cells[1]:12} {LINE}")
    return [f"{number}{setting.on}", *rows]


def _beside(blocks: list[list[str]]) -> list[str]:
    """Blocks in two columns of about the same length, none of them broken."""
    half = sum(map(len, blocks)) / 2.0
    left: list[str] = []
    right: list[str] = []
    for block in blocks:
        (left if len(left) + len(block) / 2.0 <= half else right).extend(block)
    width = max(map(len, left), default=0)
    return [
        f"{one.ljust(width)}{GAP}{other}" if other else one
        for one, other in zip_longest(left, right, fillvalue="")
    ]


def _where(marks: Sequence[Mark]) -> list[str]:
    lines = []
    for i, mark in enumerate(marks):
        x, y, z = (float(value) for value in mark.at)
        place = f"{signed(x, 2)}, {signed(y, 2)}, {z:.2f}"
        head = f"  {letter(i):2} {mark.name[:20]:20} {METER[mark.meter]:9}  {place:19}  "
        several = textwrap.wrap(mark.what, WIDE - len(head)) or [""]
        lines += [head + several[0], *(" " * len(head) + line for line in several[1:])]
    return lines
