"""Trace a scene and write its picture, maps, layers and numbers.

Writes into one folder the picture, the eyes magnified, the key alone, maps of stops, of light and of patches
of the face, the layers and the numbers; the picture as soon as it is there, then the rest. Ctrl-C keeps what
was traced so far and writes it; the exit code is then 130.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from renderer.cli import options
from renderer.cli.tracing import exit_code, traced_of
from renderer.picture.atomic import as_before_on_failure

if TYPE_CHECKING:
    from renderer.cli.progress import Meter
    from renderer.preview import Preview

    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("preview", help=text.splitlines()[0], description=text)
    options.add_scene(parser)
    options.add_out(parser, "folder for the files", "out")
    options.add_exposure(parser)
    options.add_grain(parser)
    options.add_tracing(parser, 0.1)
    options.add_mixing(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Trace, write, and print the numbers. Raises InputError for anything that cannot be used."""
    scene = options.scene_of(args)
    changes = options.mixing_of(args)
    folder = Path(args.out)
    options.check_folder(folder)
    how = (args.exposure == "automatic", args.grain)

    def show(preview: Preview, meter: Meter) -> None:
        from renderer.record import write_picture

        path = write_picture(preview, folder, *how)
        meter.say(f"halfstop: {path} is there; eyes, face and maps follow")

    with as_before_on_failure(folder / options.PICTURE):
        preview = traced_of(args, scene, changes, picture=True, show=show)
        written = options.write(preview, folder, args)
    options.tell(preview, written)
    return exit_code()
