"""Mix a traced preview anew: dimmers, solo, mute, colour, exactly and without tracing.

Reads the folder that a preview was written to and writes its files again, into another folder or the same
one.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from renderer.cli import options
from renderer.cli.tracing import exit_code

if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("mix", help=text.splitlines()[0], description=text)
    parser.add_argument("folder", metavar="FOLDER", help="folder of a traced preview")
    options.add_out(parser, "folder for the files (default: the same)")
    options.add_exposure(parser)
    options.add_grain(parser)
    options.add_mixing(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Read, mix, write, and print the numbers. Raises InputError for anything that cannot be used."""
    changes = options.mixing_of(args)
    folder = Path(args.out or args.folder)
    options.check_folder(folder)

    from renderer.record import read

    preview = read(Path(args.folder)).mixed(**changes)
    options.tell(preview, options.write(preview, folder, args))
    return exit_code()
