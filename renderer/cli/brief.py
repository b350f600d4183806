"""Write the brief for the crew: plan, section, schedule, readings, pictures, kit, power, risks.

Traces the scene, or reads the folder of an earlier preview, and writes brief.pdf, brief.html, brief.json,
schedule.csv and readings.csv; of a scene also the files of its preview, which hold the same numbers. The room
from the door is a small second trace. The figures permit nothing: competent people decide.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from renderer.cli import options
from renderer.cli.tracing import exit_code, traced_of, written_whole

if TYPE_CHECKING:
    from renderer.preview import Preview

    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]

ROOM_COARSER = 3.0
"""The room from the door is a small picture: its pixels may be so many times less sure."""


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("brief", help=text.splitlines()[0], description=text)
    parser.add_argument(
        "scene",
        metavar="SCENE",
        nargs="?",
        help="scene file (TOML) or folder of a preview; the potter's workshop if left out",
    )
    options.add_out(parser, "folder for the files (default: out, or the preview's own)")
    options.add_tracing(parser, 0.1)
    options.add_mixing(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Trace or read, then write. Raises InputError for anything that cannot be used."""
    read_back = args.scene is not None and Path(args.scene).is_dir()
    folder = Path(args.out or (args.scene if read_back else "out"))
    changes = options.mixing_of(args)
    options.check_folder(folder)
    written: list[Path] = []
    if read_back:
        from renderer.record import read

        preview = read(Path(args.scene)).mixed(**changes)
    else:
        scene = options.scene_of(args)
        preview = traced_of(args, scene, changes, picture=True)

        from renderer.record import write

        with written_whole():
            written += write(preview, folder)
        if exit_code():  # a brief is rigged from: none is made of half a tracing unasked
            print("wrote " + ", ".join(str(path) for path in written))
            again = f"halfstop brief {folder} makes one of this preview"
            print(f"halfstop: stopped; no brief was written ({again})", file=sys.stderr)
            return exit_code()
    written += _brief(preview, folder, args)
    print("wrote " + ", ".join(str(path) for path in written))
    return exit_code()


def _brief(preview: Preview, folder: Path, args: argparse.Namespace) -> list[Path]:
    from renderer.brief import Material, room_view, write_brief
    from renderer.cli.progress import Meter

    with Meter() as meter:
        room = room_view(preview, ROOM_COARSER * args.within, args.seed, args.threads, meter)
    with written_whole():
        return write_brief(Material(preview, room), folder)
