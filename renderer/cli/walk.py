"""Walk one key of a scene, or two, through a range: a contact sheet, curves, and where things change.

Any key of the scene can be stepped, as its file has it: light.key.around.height, card.lap.at.z,
sitter.eye_height. Steps of dimmers, colour temperature, colour, lumens and exposure trace nothing anew.
Writes walk.png, curves.png, walk.csv and walk.json. Ctrl-C keeps the steps that are finished.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from renderer.cli import options
from renderer.errors import InputError

if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]

WIDEST = 320
"""Pixels of a step's picture, unless --size says otherwise."""


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("walk", help=text.splitlines()[0], description=text)
    options.add_scene(parser)
    parser.add_argument(
        "--vary",
        action="append",
        default=[],
        metavar="KEY=VALUES",
        help='"KEY=LOW..HIGH in STEPS" or "KEY=VALUE, VALUE, ..."; given twice, a grid',
    )
    parser.add_argument(
        "--measure",
        action="append",
        default=[],
        metavar="NAME",
        help="what curves are drawn of, such as eye_shade or level.face (may be given several times)",
    )
    options.add_out(parser, "folder for the files", "walked")
    options.add_tracing(parser, 0.1)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Trace the steps, write, and print the table. Raises InputError for what cannot be used."""
    from renderer.compare.name import chosen
    from renderer.compare.vary import scenes_of, vary
    from renderer.scene.measure import measure_names

    if not 1 <= len(args.vary) <= 2:
        example = '--vary "light.key.around.height=1.4..2.6 in 5"'
        raise InputError(f"expected one --vary or two; got {len(args.vary)}: give for example {example}")
    varied = [vary(text) for text in args.vary]
    for it in varied:
        if it.path in ("title", "note"):
            raise InputError(f"--vary {it.path}: is only words; expected a key that changes the light")
    scene = options.scene_of(args)
    if args.size is None and scene.camera.picture[0] > WIDEST:
        width, height = scene.camera.picture
        scene = options.sized(scene, (WIDEST, max(16, round(height * WIDEST / width))))
    chosen(args.measure, measure_names(scene))
    scenes_of(scene, varied)
    options.check_folder(Path(args.out))

    from renderer.cli.tracing import STOPPED, exit_code, tracer, written_whole
    from renderer.compare.stepping import walk
    from renderer.compare.stock import Stock
    from renderer.compare.write import write_files

    def watch(text: str) -> None:
        print(f"halfstop: {text}", file=sys.stderr)

    found = walk(scene, varied, args.measure, stock=Stock(tracer(args, named=False)), watch=watch)
    pictures = {"walk.png": found.sheet(), "curves.png": found.curves()}
    title = f"{scene.title}: {' and '.join(it.path for it in varied)}"
    texts = {"walk.csv": found.csv()}
    with written_whole():
        paths = write_files(args.out, pictures, {"walk.json": found.as_json()}, texts, title)
        print("\n".join(found.lines()))
        print("wrote " + ", ".join(map(str, paths)))
    return STOPPED if len(found.steps) < found.planned else exit_code()
