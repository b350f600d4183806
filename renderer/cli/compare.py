"""Compare scenes side by side: pictures, stops maps, and what differs by more than chance.

Each SCENE is a scene file, which is traced, or the folder of an earlier preview, which is not. All are shown
at the exposure of the first. Scenes that differ only in dimmers, colour or how bright a light is are traced
once. Writes comparison.png and comparison.json.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from renderer.cli import options
from renderer.errors import InputError

if TYPE_CHECKING:
    from renderer.scene.models import Scene

    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]

MOST = 8


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("compare", help=text.splitlines()[0], description=text)
    parser.add_argument(
        "scenes", metavar="SCENE", nargs="+", help="scene files (TOML), or folders of earlier previews"
    )
    parser.add_argument(
        "--as-found",
        action="store_true",
        help="of one scene: the room as it was found, nothing rigged, beside the room as lit",
    )
    parser.add_argument(
        "--for-client",
        action="store_true",
        help="also write options.png: pictures with titles, notes and plain words for what one sees",
    )
    options.add_out(parser, "folder for the files", "compared")
    options.add_tracing(parser, 0.1)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Trace what has to be, write, and print what differs. Raises InputError for what cannot be used."""
    from renderer.scene.load import load

    most, least = (1, 1) if args.as_found else (MOST, 2)
    if not least <= len(args.scenes) <= most:
        wanted = "one scene file with --as-found" if args.as_found else f"{least} to {most} scenes"
        raise InputError(f"expected {wanted}; got {len(args.scenes)}")
    if args.as_found and Path(args.scenes[0]).is_dir():
        raise InputError(f"--as-found {args.scenes[0]}: is a folder; expected a scene file, to trace both")
    options.check_folder(Path(args.out))
    things: list[Scene | Path] = [
        Path(name) if Path(name).is_dir() else options.sized(load(name), args.size) for name in args.scenes
    ]
    if args.as_found:
        from renderer.compare.before import as_found

        assert not isinstance(things[0], Path)
        things.insert(0, as_found(things[0]))

    from renderer.cli.tracing import exit_code, tracer, written_whole
    from renderer.compare.comparison import side_by_side
    from renderer.compare.stock import Stock
    from renderer.compare.write import write_files

    names = [str(args.scenes[0]), *args.scenes] if args.as_found else args.scenes
    found = side_by_side(things, Stock(tracer(args)), [Path(name).stem for name in names])
    pictures = {"comparison.png": found.sheet()}
    if args.for_client:
        pictures["options.png"] = found.options_sheet()
    title = " | ".join(entry.name for entry in found.entries)
    with written_whole():
        paths = write_files(args.out, pictures, {"comparison.json": found.as_json()}, {}, title)
        print("\n".join(found.lines()))
        print("wrote " + ", ".join(map(str, paths)))
    return exit_code()
