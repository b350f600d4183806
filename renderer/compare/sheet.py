"""A comparison on one sheet: pictures, stops maps, the map of the difference, and what differs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from renderer.colour import luminance
from renderer.compare.difference import RULE
from renderer.compare.name import words_of
from renderer.compare.table import cells_of
from renderer.picture.bands import Pixels
from renderer.picture.difference_map import Change, change, difference_map
from renderer.picture.legend import join
from renderer.picture.sheet import Cell, sheet
from renderer.picture.table import Field, draw_table, headline, paragraph, stacked
from renderer.preview import Preview

if TYPE_CHECKING:
    from renderer.compare.comparison import Comparison

FRAMED = ("at", "aim", "lens_mm", "sensor_width_mm")
"""Keys of the camera that a view depends on."""
READ_AT = 400.0
"""Pixels of a picture's width at which letters have their common size."""
ONE_COLUMN = 14
"""Rows of a table from which it is set in two columns, if there is room."""
ROWS = 40
"""Measures that a sheet has room for; the file has them all."""


def scale_of_letters(width: int) -> float:
    """How much larger letters are drawn, so that they can be read on a sheet of large pictures."""
    return min(2.0, max(1.0, width / READ_AT))


def change_between(first: Preview, second: Preview) -> tuple[Change, np.ndarray]:
    """How the second picture's luminance differs from the first's, and what both show in each pixel."""
    ids = _shown(first) * 1_000_003 + _shown(second)
    halves = None
    if first.layers.difference is not None and second.layers.difference is not None:
        halves = (_half(first), _half(second))
    planes = [luminance(it.layers.picture().astype(float)) for it in (first, second)]
    return change(planes[0], planes[1], halves, ids, first.grey()), ids


def same_frame(first: Preview, second: Preview) -> bool:
    """Whether two pictures show the same view, pixel for pixel."""
    a, b = first.scene.camera, second.scene.camera
    return all(getattr(a, key) == getattr(b, key) for key in (*FRAMED, "picture"))


def _shown(preview: Preview) -> np.ndarray:
    seen = preview.layers.seen
    return np.asarray(seen["family"].astype(np.int64) * 1000 + seen["number"])


def _half(preview: Preview) -> np.ndarray:
    return luminance(preview.layers.half_difference().astype(float))


def comparison_sheet(comparison: Comparison) -> Pixels:
    """The sheet, (h, w, 3) uint8 sRGB."""
    entries = comparison.entries
    high, wide = entries[0].preview.layers.seen.shape
    scale = scale_of_letters(wide)
    pictures, maps = [], []
    for entry in entries:
        note = entry.preview.scene.note
        pictures.append(Cell(entry.preview.picture(), [note] if note else []))
        full = entry.preview.stops_map()
        maps.append((full[:high, :wide], full[:, wide:]))
    rows = [pictures, [Cell(picture) for picture, _ in maps]]
    legends = [max((panel for _, panel in maps), key=lambda panel: panel.shape[0])]
    columns = [f"{entry.letter}: {entry.name}" for entry in entries]
    if len(entries) == 2 and same_frame(entries[0].preview, entries[1].preview):
        found, ids = change_between(entries[0].preview, entries[1].preview)
        letters = (entries[0].letter, entries[1].letter)
        drawn = difference_map(found, ids, letters)
        pictures.append(Cell(drawn[:high, :wide]))
        columns.append(f"Difference, {letters[1]} less {letters[0]}")
        legends.insert(0, drawn[:, wide:])
    top = sheet(rows, "Side by side, at one exposure", columns, ("", "Stops maps"), scale)
    top = join(top, stacked(legends), "side")
    across = top.shape[1]
    exposure = entries[0].preview.exposure().in_words()
    said = [f"All at {exposure}.", *(f"{entry.letter}: {entry.how}." for entry in entries)]
    said += [text if text.endswith(".") else f"{text}." for text in comparison.notes]
    return stacked([top, *_table(comparison, across, scale), paragraph(said, across, scale)])


def _table(comparison: Comparison, across: int, scale: float) -> list[Pixels]:
    names = comparison.differing()
    title = headline("What differs" if names else "No measure differs by more than chance", across, scale)
    if not names:
        return [title, paragraph([f"{RULE[0].upper()}{RULE[1:]}."], across, scale)]
    first, *others = comparison.entries
    heads = ["in stops unless a unit is given", first.letter]
    for other in others:
        heads += [other.letter, f"{other.letter} less {first.letter}"]
    rows = []
    for name in names[:ROWS]:
        row = [Field(words_of(name))]
        for i, (value, difference, marked) in enumerate(cells_of(comparison, name)):
            row += [Field(value), Field(difference, marked)] if i else [Field(value)]
        rows.append(row)
    words = [f"Dot: {RULE}."]
    if len(names) > ROWS:
        words.append(f"{len(names) - ROWS} more are in comparison.json.")
    half = -(-len(rows) // 2)
    table = draw_table(heads, rows, scale)
    if len(rows) > ONE_COLUMN:
        beside = join(draw_table(heads, rows[:half], scale), draw_table(heads, rows[half:], scale), "side")
        table = beside if beside.shape[1] <= across else table
    return [title, table, paragraph(words, across, scale)]
