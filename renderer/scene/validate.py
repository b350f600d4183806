"""All faults of the values of a scene in one go.

pydantic leaves out the checks between the keys of a table that has a wrong key. So wrong keys are taken
out and the rest is checked again until it passes. What then only follows from the taking out is kept
quiet; anything else is a fault as well. Last, what fits where is checked among the faultless tables.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from renderer.scene import fit, message
from renderer.scene.board import Card, Flag
from renderer.scene.breakup import Breakup
from renderer.scene.lights import LIGHTS
from renderer.scene.lights.base import Lamp
from renderer.scene.models import Scene

Keys = tuple[str | int, ...]
Fault = tuple[Keys, str]

PASSES = 12
NAMED_FAMILIES = ("light", "card", "flag", "breakup", "mark")
FOUNDATIONS = ("room", "sitter", "camera")


def checked(data: dict[str, Any], folder: Path | None) -> tuple[Scene | None, list[Fault]]:
    """The scene, and its faults; it is the scene that was written only where there are none."""
    faults = list(_key_faults(data))
    rest, taken = deepcopy(data), set[Keys]()
    for _ in range(PASSES):
        try:
            scene = Scene.model_validate(rest)
            break
        except ValidationError as wrong:
            errors = wrong.errors(include_url=False)
        before = set(taken)
        for error in errors:
            faults += [
                fault for fault in message.problems(error) if not _follows(error, fault[0], before, data)
            ]
            for path in _culprits(error):
                _take_out(rest, path)
                taken.add(path)
    else:
        return None, _without_echoes(faults)
    camera = data.get("camera")
    scene.settle(folder, [key for key in ("at", "aim") if isinstance(camera, dict) and key not in camera])
    for name, light in scene.light.items():
        faults += [(("light", name, *path), text) for path, text in light.file_problems()]
    faulty = {path[:2] for path, _ in faults}
    if not any(path[0] in FOUNDATIONS and path[1:] != ("window",) for path in faulty):
        kept = {
            family: {
                name: thing for name, thing in getattr(scene, family).items() if (family, name) not in faulty
            }
            for family in NAMED_FAMILIES
        }
        faults += fit.misfits(scene.model_copy(update=kept))
    return scene, _without_echoes(faults)


def _key_faults(data: dict[str, Any]) -> Iterator[Fault]:
    """Two levels, no place and the like: faults that show whatever the values are."""
    for family, kind in (("light", Lamp), ("card", Card), ("flag", Flag), ("breakup", Breakup)):
        named = data.get(family)
        for name, table in named.items() if isinstance(named, dict) else ():
            if isinstance(table, dict):
                keys = LIGHTS.get(str(table.get("source")), kind) if family == "light" else kind
                given = {message.meant(key, keys) or key for key in table}
                yield from (((family, name, *path), text) for path, text in keys.key_problems(given))


def _without_echoes(faults: list[Fault]) -> list[Fault]:
    """Each once, and without the missing keys that a misspelt key beside them stands for, or that are there
    with a fault of their own."""
    faults = list(dict.fromkeys(faults))
    meant = {
        (*path[:-1], found[1])
        for path, text in faults
        if text.startswith("unknown key") and (found := re.search(r'did you mean "(\w+)"', text))
    }
    meant |= {path for path, text in faults if not text.startswith("missing key")}
    return [(path, text) for path, text in faults if not (text.startswith("missing key") and path in meant)]


def _follows(error: ErrorDetails, path: Keys, taken: set[Keys], data: dict[str, Any]) -> bool:
    """Whether a fault only comes from keys that were taken out before this pass."""
    table = message.written(error["loc"])
    if error["type"] == "missing":
        return table in taken
    if error["type"] != "table":
        return False
    if path == table:  # it misses something
        return any(gone[: len(table)] == table for gone in taken)
    return _names_what_was_taken(path, data, taken)


def _names_what_was_taken(path: Keys, data: dict[str, Any], taken: set[Keys]) -> bool:
    """Whether a fault is about a name, and what it names stands in the file, but was taken out as faulty."""
    match path:
        case ("mark", name, "facing"):
            word, families = data["mark"][name]["facing"], [("light",), ("room", "window")]
        case ("light", name, "circuit"):
            word, families = data["light"][name]["circuit"], [("circuit",)]
        case ("support", name) | ("support", name, "light"):
            word, families = data["support"][name].get("light", name), [("light",)]
        case _:
            return False
    meant: list[Keys] = [(*family, word) for family in families]
    return any(
        gone[: len(named)] == named or (gone and named[: len(gone)] == gone)
        for named in meant
        for gone in taken
        if _is_there(named, data)
    )


def _is_there(path: Keys, data: Any) -> bool:
    for key in path:
        if not isinstance(data, dict) or key not in data:
            return False
        data = data[key]
    return True


def _culprits(error: ErrorDetails) -> Iterator[Keys]:
    """What has to go so that the rest can be checked: a key, or a whole table that misses something."""
    path = message.written(error["loc"])
    if error["type"] == "missing":
        yield path  # noted, though not there
        yield _whole(path[:-1])
    elif error["type"] == "table":
        for below, _ in error["ctx"]["problems"]:
            one_of_several = path == () or below[:1] == ("window",)
            yield (*path, *below[:2]) if one_of_several else _whole(path)
    else:
        yield _whole(path)


def _whole(path: Keys) -> Keys:
    """A list goes as a whole, so that the places of its other members stay true."""
    return path[:-1] if path and isinstance(path[-1], int) else path


def _take_out(data: dict[str, Any], path: Keys) -> None:
    inner: Any = data
    for key in path[:-1]:
        if isinstance(inner, dict):
            inner = inner.get(str(key), {})
        elif isinstance(inner, list) and isinstance(key, int) and key < len(inner):
            inner = inner[key]
    if path and isinstance(inner, dict):
        inner.pop(str(path[-1]), None)
