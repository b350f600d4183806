"""A scene with everything that a crew meets, traced once and briefed once for all tests of the brief."""

from __future__ import annotations

import functools
import json
import tempfile
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from renderer.cli import main

SCENE = """
title = "A rigged scene"
note = "Two stands, two circuits, a window, a flag and a card."
[room]
width = 3.6
depth = 4.2
height = 2.6
back_wall = 1.5
[room.window.street]
wall = "camera_left"
centre = [1.2, 1.4]
width = 1.0
height = 1.2
lux = 400
[camera]
at = [0.0, 2.0, 1.2]
picture = [160, 200]
[target]
lighting_ratio = "4:1"
[light.key]
source = "cylinder"
around = { azimuth = 45, distance = 0.85, height = 2.0 }
diameter = 0.55
length = 0.35
lumens = 1500
watts = 60
circuit = "a"
[[light.key.skirt]]
covers = [90, 270]
drop = 0.1
[light.edge]
source = "panel"
purpose = "edge"
around = { azimuth = -150, distance = 1.05, height = 2.1 }
width = 0.15
height = 0.6
lumens = 750
dim = 0.8
gel = "quarter_warming"
crate = { cell = 0.05, depth = 0.05 }
watts = 150
circuit = "b"
[light.wall]
source = "head"
purpose = "background"
at = [-1.4, 0.6, 1.9]
aim = [0.2, -1.5, 1.4]
diameter = 0.06
beam = 20
lumens = 90
[flag.side]
at = [0.85, -0.3, 1.6]
width = 0.45
height = 0.6
[card.lap]
at = [0.0, 0.42, 0.72]
aim = [0.0, 0.05, 1.15]
width = 0.6
height = 0.6
[support.key]
legs_radius = 0.45
mass = 9
load = 3.5
height = 2.3
boom = { arm = 1.0, mass = 3, centre = 0.2, counterweight_arm = 0.5 }
bag = { mass = 12 }
[support.edge]
legs_radius = 0.4
mass = 4
load = 2
[circuit.a]
volts = 230
amps = 16
[circuit.b]
volts = 230
amps = 0.5
[mark.chest]
at = [0.0, 0.3, 0.95]
facing = "key"
"""


@functools.cache
def folder() -> Path:
    """The folder of `halfstop brief`, run once."""
    where = Path(tempfile.mkdtemp(prefix="brief"))
    (where / "scene.toml").write_text(SCENE)
    assert main(["brief", str(where / "scene.toml"), "--out", str(where / "out"), "--within", "0.5"]) == 0
    return where / "out"


@functools.cache
def numbers() -> dict[str, Any]:
    """What the preview beside the brief says."""
    return json.loads((folder() / "numbers.json").read_text())  # type: ignore[no-any-return]


@functools.cache
def data() -> dict[str, Any]:
    return json.loads((folder() / "brief.json").read_text())  # type: ignore[no-any-return]


class Tables(HTMLParser):
    """Tables of a page as rows of cells, lines of a cell with a line break between."""

    def __init__(self) -> None:
        super().__init__()
        self.tables: list[list[list[str]]] = []
        self._open = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self.tables[-1][-1].append("")
            self._open = True
        elif tag == "br" and self._open:
            self.tables[-1][-1][-1] += "\n"

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th"):
            self._open = False

    def handle_data(self, text: str) -> None:
        if self._open:
            self.tables[-1][-1][-1] += text


@functools.cache
def tables() -> list[list[list[str]]]:
    """All tables of the HTML."""
    reader = Tables()
    reader.feed((folder() / "brief.html").read_text(encoding="utf-8"))
    return reader.tables


def table(first: str) -> list[list[str]]:
    """The table whose first head is this, its head first."""
    return next(rows for rows in tables() if rows and rows[0][0] == first)
