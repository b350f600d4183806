"""Read the meters of a scene: levels, ratio and shares, each with its error, without a picture."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from renderer.cli import options
from renderer.cli.tracing import exit_code, traced_of

if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]

PICTURE = (16, 16)  # pixels: no picture is wanted, and the smallest costs nothing


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("meter", help=text.splitlines()[0], description=text)
    options.add_scene(parser)
    parser.add_argument("--json", action="store_true", help="print everything as JSON")
    options.add_tracing(parser, 0.02)
    options.add_mixing(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Trace the probes and print what they read. Raises InputError for anything that cannot be used."""
    args.size = PICTURE
    scene = options.scene_of(args)
    changes = options.mixing_of(args)
    numbers = traced_of(args, scene, changes, picture=False).numbers()
    if args.json:
        import json

        print(json.dumps(numbers.as_json(), indent=1, ensure_ascii=False))
    else:
        from renderer.cli.table import lines_of

        print("\n".join(lines_of(numbers)))
    return exit_code()
