"""Options of the commands that solve: what is wanted, which lights stay, where the result goes."""

from __future__ import annotations

import argparse
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from renderer.errors import InputError

if TYPE_CHECKING:
    from renderer.scene.models import Scene


def add_wanted(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--want",
        action="append",
        default=[],
        metavar="TARGET=VALUE",
        help='a target, beside or instead of the scene\'s own: lighting_ratio=4:1, "background=[-3, -2]",'
        " level.face.t_stop=2.8 (may be given several times)",
    )


def wanted(scene: Scene, given: list[str]) -> Scene:
    """The scene with the targets of --want. Raises InputError."""
    from renderer.scene.change import changed
    from renderer.scene.level import UNITS

    values: dict[str, Any] = {}
    for text in given:
        key, equals, value = text.partition("=")
        if not equals or not key.strip():
            raise InputError(f"--want {text}: expected TARGET=VALUE, such as lighting_ratio=4:1")
        parts = [part.strip() for part in key.split(".")]
        read: Any = _value(value.strip())
        while len(parts) > 1 and parts[0] == "level" and len(parts) > 2:
            read = {parts.pop(): read}  # a level is one table
        if parts[0] == "level" and len(parts) == 2 and not isinstance(read, dict):
            ways = ", ".join(f"{'.'.join(parts)}.{way}" for way in UNITS)
            raise InputError(f"--want {text}: a level of what? expected one of {ways}")
        path = "target." + ".".join(parts)
        if path in values:
            raise InputError(f"--want {text}: {'.'.join(parts)} is given twice; expected each target once")
        values[path] = read
    levels = {path: value for path, value in values.items() if path.startswith("target.level.")}
    if levels:  # the table of levels may not be there yet
        own = {name: it.model_dump(mode="json", exclude_none=True) for name, it in _levels(scene).items()}
        own |= {path.split(".", 2)[2]: value for path, value in levels.items()}
        values = {path: value for path, value in values.items() if path not in levels}
        values["target.level"] = own
    return changed(scene, values) if values else scene


def _levels(scene: Scene) -> dict[str, Any]:
    return dict(scene.target.level) if scene.target is not None else {}


def _value(text: str) -> Any:
    """As TOML has it; anything else is text, so that 4:1 and loop need no quotes."""
    try:
        return tomllib.loads(f"x = {text}")["x"]
    except tomllib.TOMLDecodeError:
        return text


def scene_text(path: str) -> str:
    """The scene file as it stands, to be written again with other values."""
    return Path(path).read_bytes().decode("utf-8-sig")
