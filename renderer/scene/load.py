"""From a scene file to a `Scene`, or to every fault of the file in one go."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from renderer.errors import InputError
from renderer.regular_file import read_bytes
from renderer.scene.message import dotted
from renderer.scene.models import Scene
from renderer.scene.source_line import SourceLines
from renderer.scene.validate import Fault, checked

LARGEST = 4_000_000
"""Bytes; a scene is some hundred lines, so a larger file is something else."""


DEEPEST = 12
"""Keys and places in lists, one in the other; a scene has at most six."""
TOO_DEEP = f"tables or lists are nested too deep; expected at most {DEEPEST} levels"


def load(path: str | Path) -> Scene:
    """The scene in a TOML file. Raises InputError with a line for each fault."""
    path = Path(path)
    return loads(_read(path), str(path), path.parent)


def loads(text: str, name: str = "scene", folder: Path | None = None) -> Scene:
    """The scene in a TOML text.

    name    what error lines call it
    folder  where relative paths of meshes and photometric files start
    Raises InputError with a line for each fault, in the order of the file.
    """
    lines = SourceLines(text)
    data = _parsed(text, name, lines)
    deep = _too_deep(data)
    if deep is not None:
        raise InputError(*_in_order([(deep, TOO_DEEP)], name, lines))
    scene, faults = checked(data, folder)
    if not data.get("light") and not _lit_room(data):
        faults.append(
            (
                ("light",),
                "nothing lights this scene; expected a [light.NAME], a [room.window.NAME] or [room.found]",
            )
        )
    if faults or scene is None:
        raise InputError(*_in_order(faults, name, lines))
    return scene


def _read(path: Path) -> str:
    too_large = f"is too large for a scene; expected at most {LARGEST:,} bytes of TOML text"
    raw = read_bytes(path, "a scene file", LARGEST, too_large, _nearest, _held)
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError(f"{path}: is UTF-16 text; expected UTF-8: save it so in the editor")
    if b"\0" in raw:
        raise InputError(f"{path}: is not text; expected a scene file, which is TOML text in UTF-8")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = raw[: wrong.start].count(b"\n") + 1
        found = f"the byte 0x{raw[wrong.start]:02x}"
        raise InputError(f"{path}:{line}: is not UTF-8 text ({found}); save the file as UTF-8") from None


def _held(folder: Path) -> str:
    scenes = sorted(file.name for file in folder.glob("*.toml"))
    return f"; it holds {', '.join(scenes[:12])}" if scenes else ""


def _nearest(path: Path) -> str:
    if not path.parent.is_dir():
        return f' (there is no folder "{path.parent}")'
    scenes = sorted(file.name for file in path.parent.glob("*.toml"))
    near = get_close_matches(path.name, scenes, 1, 0.5) or get_close_matches(
        f"{path.name}.toml", scenes, 1, 0.5
    )
    if near:
        return f'; did you mean "{path.parent / near[0]}"?'
    return (
        f"; scenes there: {', '.join(scenes[:12])}" if scenes else "; there is no scene file in that folder"
    )


def _parsed(text: str, name: str, lines: SourceLines) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise InputError(f"{name}: lists are nested too deeply; a scene needs two levels") from None
    except ValueError as wrong:
        if not isinstance(wrong, tomllib.TOMLDecodeError):  # the conversion of a whole number gave up
            raise InputError(f"{name}: not valid TOML: a number in it has thousands of digits") from None
        raise InputError(*_syntax(str(wrong), text, name, lines)) from None


def _too_deep(data: dict[str, Any]) -> tuple[str | int, ...] | None:
    """Path of the first thing that lies deeper than a scene can; None where there is none."""
    left: list[tuple[tuple[str | int, ...], Any]] = [((), data)]
    while left:
        path, value = left.pop()
        if len(path) > DEEPEST:
            return path
        pairs = value.items() if isinstance(value, dict) else enumerate(value)
        left += [((*path, key), inner) for key, inner in pairs if isinstance(inner, (dict, list))]
    return None


def _syntax(reason: str, text: str, name: str, lines: SourceLines) -> Iterable[str]:
    twice = (
        "Cannot overwrite" in reason or "twice" in reason or "uplicate" in reason or "Cannot mutate" in reason
    )
    if twice and lines.repeated:
        for path, first, second in lines.repeated:
            yield f"{name}:{second}: {dotted(path)}: given twice; it is on line {first} already"
        return
    found = re.search(r" \(at line (\d+), column (\d+)\)$", reason)
    if found is None:
        end = " (at end of document)"
        line = f":{text.count(chr(10)) + 1}" if reason.endswith(end) else ""
        yield f"{name}{line}: not valid TOML: {_lower(reason.removesuffix(end))}" + (
            " at the end" * bool(line)
        )
        return
    row, column = int(found[1]), int(found[2])
    source = text.splitlines()[row - 1] if row <= text.count("\n") + 1 and text else ""
    what = re.sub(r"cannot declare \((.*)\) twice", _again, _lower(reason[: found.start()]))
    yield f"{name}:{row}: not valid TOML: {what} at column {column}{_hint(source, column)}"


def _again(found: re.Match[str]) -> str:
    names = re.findall(r"'([^']*)'", found[1])
    return f"the table {dotted(names)} is opened here, but exists already,"


def _lower(reason: str) -> str:
    return reason[:1].lower() + reason[1:]


def _hint(source: str, column: int) -> str:
    """The likely slip in a line that `tomllib` could not read."""
    rest = source[column - 1 :].strip()
    bare = re.match(r"[A-Za-z_][\w-]*", rest)
    if re.match(r"[-+]?\.\d", rest):
        return "; a number needs a digit before its point: 0.8, not .8"
    if re.search(r"=\s*-?\d+,\d+\s*(#.*)?$", source):
        return "; a number has a point, not a comma: 1.2, not 1,2"
    if re.search(r"=\s*[-+]?[\d.]+\s*[a-zA-Z%]+", source):
        return "; write the number alone, without its unit"
    if bare and bare[0].lower() in ("true", "false"):
        return f"; did you mean {bare[0].lower()}?"
    if bare and "=" in source[: column - 1]:
        return f'; text needs quotes: "{bare[0]}"'
    return ""


def _lit_room(data: dict[str, Any]) -> bool:
    room = data.get("room")
    return isinstance(room, dict) and bool(room.get("window") or room.get("found"))


def _in_order(faults: list[Fault], name: str, lines: SourceLines) -> list[str]:
    """Lines for a person, by their place in the file; those about the whole file come last."""
    placed = []
    for path, text in faults:
        line = lines.line(path)
        where = f"{name}:{line}" if line else name
        placed.append((line or 10**9, f"{where}: {dotted(path)}: {text}" if path else f"{where}: {text}"))
    return list(dict.fromkeys(text for _, text in sorted(placed, key=lambda item: item[0])))
