"""Options and words that several commands share."""

from __future__ import annotations

import argparse
import math
import os
import re
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from renderer.errors import InputError

if TYPE_CHECKING:
    from renderer.preview import Preview
    from renderer.scene.models import Scene

PICTURE = "preview.png"  # that a viewer is open on


def add_scene(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "scene", metavar="SCENE", nargs="?", help="scene file (TOML); the potter's workshop if left out"
    )


def add_out(parser: argparse.ArgumentParser, what: str, default: str | None = None) -> None:
    """The folder for what a command writes; nothing is written without it where there is no `default`."""
    text = what if default is None else f"{what} (default: {default})"
    parser.add_argument("--out", type=folder, default=default, metavar="DIR", help=text)


def add_tracing(parser: argparse.ArgumentParser, within: float) -> None:
    """Options that say how long and how to trace."""
    text = "go on until the standard error of readings, and of the picture without grain, is this small"
    group = _sampling(parser, within, text)
    group.add_argument(
        "--time",
        type=number("seconds", 0.1, 1e6),
        default=math.inf,
        metavar="SECONDS",
        help="stop after this time in any case",
    )
    _add_place(group)
    group.add_argument(
        "--follow-all",
        action="store_true",
        help="follow the picture's paths past the walls, instead of ending them on walls metered beforehand",
    )
    _add_size(group)


def add_following(parser: argparse.ArgumentParser, within: float) -> None:
    """Options of a command that goes on until it is told to stop."""
    group = parser.add_argument_group("tracing")
    _add_within(group, within, "how good the picture becomes where nothing is changed: standard error")
    _add_threads(group)
    _add_place(group)
    _add_size(group)


def add_metering(parser: argparse.ArgumentParser, within: float) -> None:
    """Options of the commands that trace meters many times over."""
    _sampling(parser, within, "standard error of readings")


def _sampling(parser: argparse.ArgumentParser, within: float, text: str) -> argparse._ArgumentGroup:
    """Options that every command has that traces; `text` says what is `within`."""
    group = parser.add_argument_group("tracing")
    _add_within(group, within, text)
    group.add_argument("--seed", type=whole("a seed", 0, 2**31 - 1), default=0, help="of the random numbers")
    _add_threads(group)
    return group


def _add_within(group: argparse._ArgumentGroup, within: float, text: str) -> None:
    group.add_argument(
        "--within",
        type=number("stops", 0.002, 2.0),
        default=within,
        metavar="STOPS",
        help=f"{text} (default {within:g})",
    )


def _add_threads(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--threads", type=whole("threads", 1, 1024), default=None, help="default: all cores it may use"
    )


def _add_place(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--on",
        choices=("auto", "cpu", "gpu"),
        default="auto",
        help="trace on the processor or on a graphics card with CUDA (auto: on a card where there is one)",
    )


def _add_size(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--size", type=_size, default=None, metavar="WxH", help="pixels, instead of the scene's own"
    )


def add_mixing(parser: argparse.ArgumentParser) -> None:
    """Options that set lights anew."""
    group = parser.add_argument_group("mixing (each may be given several times)")
    group.add_argument("--dim", action="append", default=[], metavar="LIGHT=DIMMER", help="dimmer; 1 is full")
    group.add_argument("--solo", action="append", default=[], metavar="LIGHT", help="these lights alone")
    group.add_argument("--mute", action="append", default=[], metavar="LIGHT", help="without these lights")
    group.add_argument(
        "--cct", action="append", default=[], metavar="LIGHT=KELVIN", help="colour temperature"
    )
    group.add_argument(
        "--colour", action="append", default=[], metavar="LIGHT=R,G,B", help="factors of a gel"
    )
    group.add_argument(
        "--gel",
        action="append",
        default=[],
        metavar="LIGHT=GEL",
        help="in place of the scene's gels: a grade such as quarter_warming, a table such as"
        " '{ mired = 20, stops = 0.5 }', or none; given twice for one light, both",
    )


def scene_of(arguments: argparse.Namespace) -> Scene:
    """The scene that was named, or the default one, at the size asked for."""
    from renderer import assets
    from renderer.scene.load import load

    return sized(load(arguments.scene or assets.default_scene()), getattr(arguments, "size", None))


def sized(scene: Scene, size: tuple[int, int] | None) -> Scene:
    """The scene with a picture of `size` pixels, where one is asked for."""
    if size is None:
        return scene
    camera = scene.camera.model_copy(update={"picture": size})
    return scene.model_copy(update={"camera": camera})


def mixing_of(arguments: argparse.Namespace) -> dict[str, Any]:
    """The mixing options as arguments of `Preview.mixed`. Raises InputError."""
    return {
        "dim": {name: _float("--dim", name, text) for name, text in _pairs("--dim", arguments.dim)},
        "cct": {name: _float("--cct", name, text) for name, text in _pairs("--cct", arguments.cct)},
        "colour": {name: _rgb(name, text) for name, text in _pairs("--colour", arguments.colour)},
        "solo": arguments.solo,
        "mute": arguments.mute,
        "gel": _gels(arguments.gel),
    }


def add_exposure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--exposure",
        choices=("scene", "automatic"),
        default="scene",
        help="develop with the scene's ISO, T-stop and shutter, or set by the sitter",
    )


def add_grain(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--grain",
        action="store_true",
        help="leave the grain of the samples in the pictures (numbers and layers have it in any case)",
    )


def write(preview: Preview, folder: Path, arguments: argparse.Namespace) -> list[Path]:
    """Write the files; their paths. Raises InputError where one cannot be written."""
    from renderer.cli.tracing import written_whole
    from renderer.record import write as write_files

    with written_whole():
        return write_files(preview, folder, arguments.exposure == "automatic", arguments.grain)


def tell(preview: Preview, written: list[Path]) -> None:
    """Print the numbers and what was written."""
    from renderer.cli.table import lines_of
    from renderer.cli.tracing import written_whole

    with written_whole():
        print("\n".join(lines_of(preview.numbers())))
        print("wrote " + ", ".join(str(path) for path in written))


def _pairs(option: str, given: list[str]) -> list[tuple[str, str]]:
    pairs: list[tuple[str, str]] = []
    for text in given:
        name, equals, value = text.rpartition("=")
        if not equals or not name:
            raise InputError(f"{option} {text}: expected LIGHT=VALUE, such as key=0.5")
        if name in dict(pairs):
            raise InputError(f"{option} {text}: {name} is given twice; expected each light once")
        pairs.append((name, value))
    return pairs


def _float(option: str, name: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise InputError(f"{option} {name}={text}: expected a number after =") from None
    if not math.isfinite(value):
        raise InputError(f"{option} {name}={text}: expected a finite number")
    return value


def _gels(given: list[str]) -> dict[str, list[Any]]:
    """Gels by light, as a scene has them: a bare word is a grade, all else the value of a key."""
    gels: dict[str, list[Any]] = {}
    for text in given:
        name, equals, value = (part.strip() for part in text.partition("="))
        if not equals or not name:
            raise InputError(f"--gel {text}: expected LIGHT=GEL, such as key=quarter_warming")
        sheets = gels.setdefault(name, [])
        if value != "none":
            sheets += _sheets(text, value)
    return gels


def _sheets(text: str, value: str) -> list[Any]:
    if re.fullmatch(r"\w+", value) and not value.isdecimal():
        return [value]
    try:
        found = tomllib.loads(f"gel = {value}")["gel"]
    except (tomllib.TOMLDecodeError, ValueError, RecursionError):
        example = "key=quarter_warming or 'key={ mired = 20, stops = 0.5 }'"
        raise InputError(f"--gel {text}: expected a gel as in a scene, such as {example}") from None
    return found if isinstance(found, list) else [found]


def _rgb(name: str, text: str) -> tuple[float, ...]:
    parts = text.split(",")
    if len(parts) != 3:
        raise InputError(f"--colour {name}={text}: expected three factors, such as {name}=1,0.8,0.6")
    rgb = tuple(_float("--colour", name, part) for part in parts)
    if min(rgb) < 0.0:
        raise InputError(f"--colour {name}={text}: expected factors from 0 up")
    return rgb


def number(unit: str, low: float, high: float) -> Any:
    def check(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            raise argparse.ArgumentTypeError(f"expected {low:g} to {high:g} {unit}; got {text}")
        return value

    return check


def whole(what: str, low: int, high: int) -> Any:
    def check(text: str) -> int:
        if not re.fullmatch(r"\d+", text) or not low <= int(text) <= high:
            raise argparse.ArgumentTypeError(f"expected {what} from {low} to {high}; got {text}")
        return int(text)

    return check


def _size(text: str) -> tuple[int, int]:
    found = re.fullmatch(r"(\d{1,5})x(\d{1,5})", text)
    if not found or not all(16 <= int(side) <= 8192 for side in found.groups()):
        raise argparse.ArgumentTypeError(f"expected pixels such as 640x800, each 16 to 8192; got {text}")
    return int(found[1]), int(found[2])


def folder(text: str) -> str:
    """A folder's name as an option gives it; not the empty one, which would be wherever one is."""
    if not text.strip():
        raise argparse.ArgumentTypeError("expected the name of a folder; got nothing")
    return text


def check_not_over(folder: Path, scene: Path) -> None:
    """Say before the work begins that a scene written there would take its own place."""
    if (folder / scene.name).resolve() == scene.resolve():
        raise InputError(f"--out {folder}: the scene itself lies there and would be written over")


def check_folder(path: Path) -> None:
    """Say before the work begins that a folder cannot be written to."""
    there = path
    while not there.exists() and there != there.parent:
        there = there.parent
    if not there.is_dir():
        raise InputError(f"--out {path}: {there} is a file; expected a folder")
    if not os.access(there, os.W_OK):
        raise InputError(f"--out {path}: no permission to write in {there}")
