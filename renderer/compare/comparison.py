"""Scenes side by side, at one exposure: what each measure is, by how much it differs, whether that is chance.

>>> side_by_side(["scenes/potter-2-one-skirt.toml", "scenes/potter-3-two-skirts.toml"], within=0.1)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from renderer.compare.difference import Difference, Measured, differences
from renderer.compare.sheet import FRAMED, comparison_sheet
from renderer.compare.stock import Stock
from renderer.errors import InputError
from renderer.picture.bands import Pixels
from renderer.picture.png import png_bytes
from renderer.preview import Preview
from renderer.record import read
from renderer.scene.camera import Camera
from renderer.scene.load import load
from renderer.scene.models import Scene

LETTERS = "ABCDEFGH"
EXPOSED = ("t_stop", "iso", "shutter", "white_balance")
Comparable = Scene | Preview | str | Path


@dataclass(frozen=True)
class Entry:
    """One of the scenes.

    letter  A, B, C; name  its title, or the name of its file; how  where its light comes from, in words
    """

    letter: str
    name: str
    preview: Preview
    how: str

    @cached_property
    def measured(self) -> Measured:
        return Measured.of(self.preview)


@dataclass(frozen=True)
class Comparison:
    """Two to eight scenes; the others are held against the first. notes  what was made alike, in words."""

    entries: tuple[Entry, ...]
    notes: tuple[str, ...] = ()
    traced: int = 0

    @cached_property
    def differences(self) -> dict[str, dict[str, Difference]]:
        """Of each scene but the first, by its letter: every measure that it shares with the first."""
        first, *others = self.entries
        return {other.letter: differences(first.measured, other.measured) for other in others}

    def differing(self) -> list[str]:
        """Names of the measures that differ in at least one scene, in the order in which a light is set."""
        from renderer.compare.table import worth_saying

        return worth_saying(self)

    def sheet(self) -> Pixels:
        """Pictures, stops maps, the map of the difference of two, and what differs: (h, w, 3) uint8 sRGB."""
        return comparison_sheet(self)

    def options_sheet(self) -> Pixels:
        """Pictures with plain words under each, for a client: (h, w, 3) uint8 sRGB."""
        from renderer.compare.client import options_sheet

        return options_sheet(self)

    def lines(self) -> list[str]:
        """What differs, as lines for a terminal."""
        from renderer.compare.table import lines_of

        return lines_of(self)

    def as_json(self) -> dict[str, Any]:
        """Everything, as plain data."""
        from renderer.compare.table import json_of

        return json_of(self)

    def _repr_png_(self) -> bytes:
        return png_bytes(self.sheet())


def side_by_side(
    scenes: Sequence[Comparable], stock: Stock | None = None, names: Sequence[str] = (), **options: Any
) -> Comparison:
    """Compare scenes, previews, paths of scene files and folders that previews were written to.

    names    of scenes that have no title; else their files' names
    options  as of `Preview.trace`, for what has to be traced: a scene whose light is there already is mixed
             from it, and a preview or its folder is taken as it is
    The exposure is that of the first, and so is the number of pixels of what is traced.
    Raises InputError for fewer than two or more than eight, for a path that cannot be read, and for a preview
    of another size.
    """
    if not 2 <= len(scenes) <= len(LETTERS):
        raise InputError(f"expected 2 to {len(LETTERS)} scenes to compare; got {len(scenes)}")
    things = [(it, _opened(it)) for it in scenes]
    stock = stock or Stock(**options)
    notes: list[str] = []
    camera = _camera(things[0][1])
    entries: list[Entry] = []
    for letter, (given, thing) in zip(LETTERS, things, strict=False):
        if isinstance(thing, Preview) and thing.scene.camera.picture != camera.picture:
            raise InputError(
                f"{_path(given, letter)}: its picture has {_size(thing.scene.camera)} pixels, the first"
                f" {_size(camera)}; expected one size: trace it again with --size {_size(camera)}"
            )
        notes += [f"{letter}: {text}" for text in _unlike(camera, _camera(thing))]
        name = names[len(entries)] if names else _path(given, f"scene {letter}")
        entries.append(_entry(letter, name, thing, camera, stock))
    keys = {entry.preview.key() for entry in entries}
    if len(keys) > 1:
        said = ", ".join(f"{entry.letter} against {entry.preview.key()}" for entry in entries)
        notes.append(f"The key is not the same light: ratios are read {said}.")
    return Comparison(tuple(entries), tuple(notes), stock.traced)


def _opened(thing: Comparable) -> Scene | Preview:
    if isinstance(thing, (Scene, Preview)):
        return thing
    path = Path(thing)
    return read(path) if path.is_dir() else load(path)


def _camera(thing: Scene | Preview) -> Camera:
    return thing.camera if isinstance(thing, Scene) else thing.scene.camera


def _path(given: Comparable, letter: str) -> str:
    return str(given) if isinstance(given, (str, Path)) else letter


def _entry(letter: str, name: str, thing: Scene | Preview, camera: Camera, stock: Stock) -> Entry:
    shared = {key: getattr(camera, key) for key in EXPOSED}
    scene = thing if isinstance(thing, Scene) else thing.scene
    exposed = scene.camera.model_copy(update=shared | {"picture": camera.picture})
    scene = scene.model_copy(update={"camera": exposed})
    if isinstance(thing, Scene):
        taken = stock.take(scene, letter)
        preview = taken.preview
        how = f"the light of {taken.of}, mixed anew" if taken.of else "traced"
    else:
        preview = replace(thing, scene=scene)
        how = "traced before"
    return Entry(
        letter,
        scene.title or Path(name).stem,
        preview,
        f"{how}; the sitter's pixels ±{preview.layers.picture_error:.2f} stop as shown",
    )


def _unlike(first: Camera, other: Camera) -> list[str]:
    """What of a camera is made like the first's, and what cannot be."""
    found = []
    if any(getattr(first, key) != getattr(other, key) for key in EXPOSED):
        found.append("shown and metered at the exposure and white balance of A, not at its own")
    if first.picture != other.picture:
        found.append(f"traced at {_size(first)} pixels as A, not at its own {_size(other)}")
    if any(getattr(first, key) != getattr(other, key) for key in FRAMED):
        found.append("its camera stands or looks elsewhere than that of A; no map of the difference")
    return found


def _size(camera: Camera) -> str:
    return "x".join(map(str, camera.picture))
