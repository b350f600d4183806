"""A comparison as lines for a terminal and as plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from renderer.compare.difference import RULE, Difference
from renderer.compare.name import TWICE, amount, order_of, short, words_of

if TYPE_CHECKING:
    from renderer.compare.comparison import Comparison

SHOWN = {"stops": 0.05, "deg": 0.5, "mm": 0.5, "%": 0.5, "h": 0.05, "1": 0.5}
"""The least change that does not round to nothing in print; a certain one below it stays in the file."""
MARK = "*"


def worth_saying(comparison: Comparison) -> list[str]:
    found = {
        name
        for others in comparison.differences.values()
        for name, difference in others.items()
        if difference.differs and name not in TWICE and _shows(difference)
    }
    first = comparison.entries[0].measured.findings
    for other in comparison.entries[1:]:  # there in one and not in the other
        found |= {name for name in first.keys() ^ other.measured.findings.keys() if name not in TWICE}
    return sorted(found, key=order_of)


def _shows(difference: Difference) -> bool:
    return difference.unit == "word" or not abs(difference.value) < SHOWN.get(difference.unit, 0.0)


def cells_of(comparison: Comparison, name: str) -> list[tuple[str, str, bool]]:
    """Of each scene: the measure, its change from the first, whether it is marked."""
    found = []
    first = comparison.entries[0].measured.findings
    for entry in comparison.entries:
        finding = entry.measured.findings.get(name)
        difference = comparison.differences.get(entry.letter, {}).get(name)
        value = "none" if finding is None else short(finding).replace("_", " ")
        if difference is None:
            change, marked = "", (finding is None) != (name not in first)
        elif difference.unit == "word":
            change, marked = "another" if difference.differs else "the same", difference.differs
        else:
            change = amount(difference.value, difference.error, difference.unit, change=True)
            marked = difference.differs
        found.append((value, change, marked))
    return found


def lines_of(comparison: Comparison) -> list[str]:
    first, *others = comparison.entries
    lines = [f"{entry.letter}  {entry.name} ({entry.how})" for entry in comparison.entries]
    lines += list(comparison.notes) + [""]
    names = comparison.differing()
    heads = ["in stops unless a unit is given", first.letter]
    for other in others:
        heads += [other.letter, f"{other.letter} less {first.letter}", ""]
    rows = [heads]
    for name in names:
        row = [words_of(name)]
        for i, (value, change, marked) in enumerate(cells_of(comparison, name)):
            row += [value, change, MARK if marked else ""] if i else [value]
        rows.append(row)
    widths = [max(len(row[i]) for row in rows) for i in range(len(heads))]
    lines += [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    ]
    shared = {name for found in comparison.differences.values() for name in found} - TWICE
    lines.append(f"{MARK} {RULE}")
    alike = len(shared - set(names))
    lines.append(f"{alike} further measure{'s do' if alike != 1 else ' does'} not differ.")
    return lines


def json_of(comparison: Comparison) -> dict[str, Any]:
    from renderer import __version__

    camera = comparison.entries[0].preview.scene.camera
    return {
        "format": 1,
        "program": f"halfstop {__version__}",
        "exposure": {"t_stop": camera.t_stop, "iso": camera.iso, "shutter_s": camera.shutter},
        "rule": RULE,
        "notes": list(comparison.notes),
        "scenes": {
            entry.letter: {
                "title": entry.name,
                "note": entry.preview.scene.note,
                "light": entry.how,
                "seed": entry.preview.layers.seed,
                "samples_per_pixel": entry.preview.layers.samples,
                "key": entry.preview.key(),
                "mix": {
                    it.name: {"dim": it.dim, "cct": it.cct, "colour": list(it.colour)}
                    for it in entry.preview.layers.mix.faders
                },
                "measures": {name: it.as_json() for name, it in entry.measured.findings.items()},
            }
            for entry in comparison.entries
        },
        "differences": {
            f"{letter} less {comparison.entries[0].letter}": {
                name: difference.as_json() for name, difference in found.items()
            }
            for letter, found in comparison.differences.items()
        },
    }
