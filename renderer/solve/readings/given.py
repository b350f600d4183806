"""The sheet of readings filled in: a CSV as `match` and `brief` write it, or light, mark and value alone."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from renderer.errors import InputError
from renderer.regular_file import read_bytes
from renderer.scene.expected import ALL, on_alone
from renderer.scene.level import STANDING, STANDING_SPOTS
from renderer.scene.models import Scene
from renderer.solve.readings.said import Unreadable, said

COLUMNS = {
    "setting": ("setting", "on", "light"),
    "mark": ("mark",),
    "read": ("read", "reading"),
    "in": ("in", "unit of the reading"),
}
"""Words that a head may have for a column, the first of them our own."""
BARE = ("setting", "mark", "read")
EVERYTHING = ("all", ALL, "all lights", "together")
MOST_BYTES = 1 << 20


@dataclass(frozen=True)
class Given:
    """One reading. light: the one that was alone, None for all; level: lux or cd/m2; rounding [stops]; line:
    of the file, from 1; text: as written"""

    light: str | None
    mark: str
    level: float
    rounding: float
    line: int
    text: str

    @property
    def on(self) -> str:
        return ALL if self.light is None else on_alone(self.light)


def given(path: str | Path, scene: Scene, lights: Sequence[str]) -> tuple[Given, ...]:
    """All readings of a file. lights: names of all layers. Raises InputError with a line for each fault."""
    return given_in(_text(Path(path)), str(path), scene, lights)


def given_in(text: str, name: str, scene: Scene, lights: Sequence[str]) -> tuple[Given, ...]:
    """The same of a text. Semicolons and tabs, which spreadsheets write too, part cells as commas do."""
    lines = text.splitlines()
    first = next((line for line in lines if line.strip() and not line.startswith("#")), "")
    part = max(";\t,", key=first.count)
    rows = [
        (i + 1, [cell.strip() for cell in row])
        for i, row in enumerate(next(csv.reader([line], delimiter=part), []) for line in lines)
        if any(cell.strip() for cell in row) and not row[0].startswith("#")
    ]
    place, rows = _placed(rows, name)
    reader = _Reader(name, scene, lights, place)
    found = [it for line, cells in rows for it in reader.read(line, cells)]
    if reader.faults:
        raise InputError(*reader.faults)
    if not found:
        raise InputError(
            f'{name}: no reading in it: write what the meter said into the column "read", such as T2.8 +1/3'
        )
    return tuple(found)


def _text(path: Path) -> str:
    expected = "readings as `halfstop match SCENE --out DIR` writes them (readings.csv)"
    too_large = f"larger than {MOST_BYTES >> 20} MiB; expected {expected}"
    hint = "; `halfstop match SCENE --out DIR` writes a blank one"
    data = read_bytes(path, expected, MOST_BYTES, too_large, lambda _: hint)
    if b"\0" in data:
        raise InputError(f"{path}: is no text; expected {expected}, saved as CSV")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")  # what older spreadsheets write


def _placed(
    rows: list[tuple[int, list[str]]], name: str
) -> tuple[dict[str, int], list[tuple[int, list[str]]]]:
    """Where each column is, and the rows under the head; without a head they are light, mark, value."""
    head = [cell.lower() for cell in rows[0][1]] if rows else []
    place = {
        key: head.index(word)
        for key, words in COLUMNS.items()
        for word in reversed(words)
        if head.count(word) == 1
    }
    if set(BARE) <= place.keys():
        return place, rows[1:]
    if "mark" in place or "setting" in place:
        missing = next(key for key in BARE if key not in place)
        raise InputError(
            f'{name}:{rows[0][0]}: there is no column "{missing}"; expected setting, mark and read (or no'
            " head: light, mark, value)"
        )
    return dict(zip(BARE, range(len(BARE)), strict=True)), rows


class _Reader:
    """Reads rows, and keeps what is wrong with them."""

    def __init__(self, name: str, scene: Scene, lights: Sequence[str], place: dict[str, int]) -> None:
        self.name, self.scene, self.lights, self.place = name, scene, lights, place
        self.marks = list(dict.fromkeys((*STANDING, *scene.mark)))
        self.faults: list[str] = []

    def read(self, line: int, cells: list[str]) -> list[Given]:
        """The reading of a row; none where it is blank or wrong."""
        setting, mark, text = (self._cell(cells, key) for key in BARE)
        if not text:
            return []
        light, fault = self._light(setting)
        if fault is None and mark not in self.marks:
            fault = f'there is no mark "{mark}"{_nearest(mark, self.marks)}'
        if fault is None:
            camera = self.scene.camera
            unit = self._cell(cells, "in") if "in" in self.place else ""
            try:
                it = said(text, self._meter(mark), camera.iso, camera.shutter, unit)
                return [Given(light, mark, it.level, it.rounding, line, text)]
            except Unreadable as wrong:
                fault = f'{setting}, {mark}: cannot read "{text[:40]}"; {wrong}'
        self.faults.append(f"{self.name}:{line}: {fault}")
        return []

    def _cell(self, cells: list[str], key: str) -> str:
        i = self.place[key]
        return cells[i] if i < len(cells) else ""

    def _light(self, setting: str) -> tuple[str | None, str | None]:
        """The light that is alone, None for all; and what is wrong."""
        if setting.lower() in EVERYTHING:
            return None, None
        bare = setting.removesuffix(" alone").strip()
        for light in self.lights:
            if light in (setting, bare):
                return light, None
        names = [*self.lights, "all"]
        return None, f'no light is called "{bare}"{_nearest(bare, names)}'

    def _meter(self, mark: str) -> str:
        if mark in self.scene.mark:
            return self.scene.mark[mark].meter
        return "spot" if mark in STANDING_SPOTS else "dome" if mark == "face" else "flat"


def _nearest(word: str, names: Sequence[str]) -> str:
    near = get_close_matches(word, names, 1)
    return f'; did you mean "{near[0]}"?' if near else f" (there are: {', '.join(names)})"
