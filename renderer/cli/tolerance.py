"""Say how exactly a scene has to be rigged: stops per 10 cm and 5 degrees, and for which sitters it holds.

Moves every light and card a little either way, and the sitter up and down; says what to measure first, how
probably all targets hold for a crew's accuracy, and what other heights, heads and skins make of the rig.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from renderer.cli import options, want

if TYPE_CHECKING:
    from renderer.solve.exactness.tolerance import Tolerance

    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]

RIGGING = "5 cm, 3 deg"


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("tolerance", help=text.splitlines()[0], description=text)
    options.add_scene(parser)
    options.add_out(parser, "folder for tolerance.json and tolerance.csv")
    parser.add_argument("--json", action="store_true", help="print everything as JSON")
    want.add_wanted(parser)
    parser.add_argument(
        "--rigging",
        default=RIGGING,
        metavar="'5 cm, 3 deg'",
        help="how exactly the crew rigs, one standard deviation each; also '5 %%' for dimmers and"
        f" 'sitter 3 cm' (default {RIGGING})",
    )
    parser.add_argument("--no-swap", action="store_true", help="leave out the other sitters")
    options.add_metering(parser, 0.02)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Trace, print, write. Raises InputError for anything that cannot be used."""
    from renderer.solve.exactness.accuracy import accuracy_of

    scene = want.wanted(options.scene_of(args), args.want)
    accuracy = accuracy_of(args.rigging)
    if args.out is not None:
        options.check_folder(Path(args.out))

    from renderer.solve.exactness.tolerance import toleranced

    found = toleranced(
        scene,
        accuracy,
        within=args.within,
        seed=args.seed,
        threads=args.threads,
        swap=not args.no_swap,
        watch=lambda text: print(f"halfstop: {text}", file=sys.stderr),
    )
    import json

    data = json.dumps(found.as_json(), indent=1, ensure_ascii=False, allow_nan=False)
    if args.json:
        print(data)
    else:
        from renderer.solve.exactness.report import tolerance_lines

        print("\n".join(tolerance_lines(found)))
    if args.out is not None:
        print("wrote " + ", ".join(map(str, _write(found, data, Path(args.out)))))
    return 0


def _write(found: Tolerance, data: str, folder: Path) -> list[Path]:
    from renderer.picture.atomic import write_all
    from renderer.solve.exactness.report import tolerance_csv

    files = {"tolerance.json": data + "\n", "tolerance.csv": tolerance_csv(found)}
    return write_all(folder, {name: text.encode() for name, text in files.items()})
