"""Options for a client, in words that need no explaining: what one sees of one picture beside the first.

Every word stands for a measured difference that is more than chance and large enough to be seen. How large
that is, is common practice (no source): a third of a stop where the eye goes, half a stop under the chin.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from renderer.compare.difference import CERTAIN, Difference
from renderer.meter.face import Finding
from renderer.picture.bands import Pixels
from renderer.picture.sheet import Cell, sheet
from renderer.picture.table import paragraph, stacked
from renderer.preview import Preview

if TYPE_CHECKING:
    from renderer.compare.comparison import Comparison, Entry


@dataclass(frozen=True)
class Word:
    """What is said of a measure when it rises or falls by `least` (in its unit) or more."""

    measure: str
    least: float
    more: str
    less: str


WORDS = (
    Word("level.face", 1.0 / 3.0, "a {}brighter face", "a {}darker face"),
    Word("lighting_ratio_stops", 1.0 / 3.0, "{}more contrast between the two sides of the face",
         "{}less contrast between the two sides of the face"),
    Word("background", 1.0 / 3.0, "a {}lighter background", "a {}darker background"),
    Word("eye_shade", 1.0 / 3.0, "eyes {}brighter against the cheeks", "eyes {}darker against the cheeks"),
    Word("under_chin", 0.5, "{}less shadow under the chin", "{}more shadow under the chin"),
    Word("separation", 20.0, "the head stands out more clearly", "the head merges more with what is behind"),
)  # fmt: skip
WARMER = 0.25
"""Stops of red over blue: 5600 K to about 5100 K."""
SLIGHTLY, MUCH = 2.0, 4.0
"""Times its least, up to which a difference is called slight and from which it is called large."""
TOO_DARK = -2.0  # stops from the exposure: nothing else is worth saying then
SOFTER = 1.5  # times as wide an edge of a shadow: that is seen side by side
EDGES = ("edge.nose", "edge.jaw")
PATTERNS = {
    "rim": "lit from behind, the face itself in shade",
    "split": "one half of the face lit, the other dark",
    "triangle": "a small triangle of light on the darker cheek",
    "butterfly": "lit straight from the front and above: both sides alike",
    "loop": "a small shadow beside the nose",
    "flat": "hardly a shadow anywhere on the face",
    "under": "lit from below",
}
EMPTY, TAKEN = "nobody sits here", "somebody sits here"
ALIKE = "looks much the same as {first}"


def plain_words(first: Entry, other: Entry, found: Mapping[str, Difference]) -> list[str]:
    """What is seen to differ, the most telling first; one line that says so where nothing is."""
    a, b = first.measured.findings, other.measured.findings
    empty = [it.preview.scene.sitter.mesh == "none" for it in (first, other)]
    if empty[0] != empty[1]:  # nothing to hold a face against
        return [EMPTY if empty[1] else TAKEN]
    said = []
    for word in WORDS:
        difference = _seen(word.measure, found)
        if difference is not None and difference.differs and abs(difference.value) >= word.least:
            times = abs(difference.value) / word.least
            how = "slightly " if times < SLIGHTLY else "much " if times >= MUCH else ""
            said.append((times, (word.more if difference.value > 0 else word.less).format(how)))
    said += _edges(a, b, found)
    said += _colour(first.preview, other.preview)
    said += _eyes_and_rim(a, b)
    lines = [text for _, text in sorted(said, key=lambda it: -it[0])]
    pattern = found.get("pattern")
    if pattern is not None and pattern.differs:
        lines.insert(0, PATTERNS.get(str(b["pattern"].value), "no one clear shape of shadow"))
    return lines or [ALIKE.format(first=first.letter)]


def first_words(entry: Entry) -> list[str]:
    """What the first option looks like, for the others to be held against."""
    findings = entry.measured.findings
    pattern = findings.get("pattern")
    lines = [PATTERNS[str(pattern.value)]] if pattern is not None and pattern.value in PATTERNS else []
    ratio, face = findings.get("lighting_ratio_stops"), findings.get("level.face")
    if face is not None and face.number <= TOO_DARK:
        lines = ["too dark for the camera at these settings"]
    elif ratio is not None:
        lines.append(_mood(ratio.number))
    if entry.preview.scene.sitter.mesh == "none":
        lines = [EMPTY]
    return [*lines, "the others are described against this one"]


def _mood(stops: float) -> str:
    """Contrast in words, by the bands of `lighting_ratio` in renderer/meter/MEASURES.md."""
    for most, words in ((0.8, "both sides of the face equally bright"), (1.7, "open and friendly"),
                        (2.5, "shaped, with a clear shadow side"), (3.5, "strong contrast")):  # fmt: skip
        if stops < most:
            return words
    return "one side very dark"


def _seen(measure: str, found: Mapping[str, Difference]) -> Difference | None:
    """What a word stands for. Of a measure that each eye has, the one that changes less, so that what is
    said is true of both. The background as it is in the picture, though it is measured against the face: the
    sum of both changes."""
    under = [name for name in found if name.startswith(f"{measure}.")]
    if under:
        return found[min(under, key=lambda name: abs(found[name].value))]
    cheek = found.get("level.key_cheek_spot")
    if measure != "background" or measure not in found or cheek is None:
        return found.get(measure)
    behind = found[measure]
    value, error = behind.value + cheek.value, math.hypot(behind.error, cheek.error)
    return Difference(value, error, behind.unit, abs(value) > CERTAIN * error)


def _edges(
    a: Mapping[str, Finding], b: Mapping[str, Finding], found: Mapping[str, Difference]
) -> list[tuple[float, str]]:
    for name in EDGES:
        if name in found and found[name].differs and a[name].number > 0.0 and b[name].number > 0.0:
            times = b[name].number / a[name].number
            if times >= SOFTER:
                return [(times / SOFTER, "softer shadows")]
            if times <= 1.0 / SOFTER:
                return [(1.0 / times / SOFTER, "harder shadows")]
            return []
    return []


def _colour(first: Preview, other: Preview) -> list[tuple[float, str]]:
    """Warmer or cooler light on the sitter, by red over blue of the same skin, hair and cloth; nothing where
    the sitters are not the same."""
    if first.scene.sitter != other.scene.sitter or not (first.layers.sitter() & other.layers.sitter()).any():
        return []
    (a, a_error), (b, b_error) = (_red_over_blue(it) for it in (first, other))
    times = abs(b - a) / WARMER
    if times < 1.0 or abs(b - a) <= CERTAIN * math.hypot(a_error, b_error):
        return []
    how = "slightly " if times < SLIGHTLY else "much " if times >= MUCH else ""
    return [(times, f"{how}{'warmer' if b > a else 'cooler'} colour")]


def _red_over_blue(preview: Preview) -> tuple[float, float]:
    """Of the mean over the sitter, in stops, and its standard error from the halves of the samples."""
    where = preview.layers.sitter()
    mean = preview.layers.picture()[where].mean(axis=0)
    if not (mean > 0.0).all():
        return 0.0, math.inf
    half = np.zeros(3)
    if preview.layers.difference is not None:
        half = np.sqrt((preview.layers.half_difference()[where] ** 2).sum(axis=0)) / where.sum()
    error = float(np.hypot(half[0] / mean[0], half[2] / mean[2])) / math.log(2.0)
    return float(np.log2(mean[0] / mean[2])), error


def _eyes_and_rim(a: Mapping[str, Finding], b: Mapping[str, Finding]) -> list[tuple[float, str]]:
    said = []
    if "catchlights" in a and "catchlights" in b:
        before, after = a["catchlights"].number, b["catchlights"].number
        if before == 0.0 < after:
            said.append((1.5, "a sparkle in the eyes"))
        elif after == 0.0 < before:
            said.append((1.5, "no sparkle in the eyes"))
    if "rim" in b and "rim" not in a:
        said.append((1.5, "a line of light along hair and shoulder"))
    elif "rim" in a and "rim" not in b:
        said.append((1.5, "no line of light along hair and shoulder"))
    return said


def options_sheet(comparison: Comparison) -> Pixels:
    """Pictures side by side, each with its title, its note and plain words: (h, w, 3) uint8 sRGB."""
    from renderer.compare.sheet import scale_of_letters

    first, *others = comparison.entries
    cells = [_cell(first, first_words(first))]
    cells += [_cell(it, plain_words(first, it, comparison.differences[it.letter])) for it in others]
    scale = 1.25 * scale_of_letters(cells[0].picture.shape[1])
    columns = [f"{entry.letter}: {entry.name}" for entry in comparison.entries]
    top = sheet([cells], "Options", columns, scale=scale)
    foot = "Computed pictures, all at the same camera settings, so that brighter here is brighter on the day."
    return stacked([top, paragraph([foot], top.shape[1], scale)])


def _cell(entry: Entry, words: list[str]) -> Cell:
    note = entry.preview.scene.note
    return Cell(entry.preview.picture(), [note or entry.name, *(f"\u00b7 {text}" for text in words)])
