"""Trace a scene and write its picture, maps, layers and numbers.

Writes preview.png, stops.png, incident.png, layers.exr and numbers.json into one folder. Ctrl-C keeps what
was traced so far and writes it.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from renderer.cli import options

if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("preview", help=text.splitlines()[0], description=text)
    options.add_scene(parser)
    parser.add_argument("--out", default="out", metavar="DIR", help="folder for the files (default: out)")
    parser.add_argument(
        "--exposure",
        choices=("scene", "automatic"),
        default="scene",
        help="develop with the scene's ISO, T-stop and shutter, or set by the sitter",
    )
    options.add_tracing(parser, 0.1)
    options.add_mixing(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Trace, write, and print the numbers. Raises InputError for anything that cannot be used."""
    scene = options.scene_of(args)
    changes = options.mixing_of(args)
    options.check_names(scene, changes)
    folder = Path(args.out)
    options.check_folder(folder)

    from renderer.cli.progress import Meter
    from renderer.cli.table import lines_of
    from renderer.preview import Preview
    from renderer.record import write

    with Meter() as meter:
        preview = Preview.trace(
            scene,
            within=args.within,
            seconds=args.time,
            seed=args.seed,
            threads=args.threads,
            follow_all=args.follow_all,
            watch=meter,
        )
    preview = preview.mixed(**changes)
    written = write(preview, folder, args.exposure == "automatic")
    print("\n".join(lines_of(preview.numbers())))
    print("wrote " + ", ".join(str(path) for path in written))
    return 0
