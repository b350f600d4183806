"""Lay meter readings beside the scene: the sheet to fill in, and what it says is off once it is filled in.

Without READINGS it prints what to expect at every mark, each light alone and all together, and --out writes
it with blanks: readings.csv and readings.txt. With READINGS, that CSV filled in, it says which assumption is
off and how surely: reflectances, outputs, heights, distances, cards, the meter; --out writes the scene put
right.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from renderer.cli import options, want
from renderer.errors import InputError

if TYPE_CHECKING:
    from renderer.scene.models import Scene
    from renderer.solve.readings.match import Match

    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]

REPEATS = 0.1
"""Stops that a reading repeats to, one standard deviation (`renderer.solve.readings.match`)."""
SHEET, PAGE = "readings.csv", "readings.txt"


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("match", help=text.splitlines()[0], description=text)
    options.add_scene(parser)
    parser.add_argument(
        "readings",
        metavar="READINGS",
        nargs="?",
        help='readings.csv with the column "read" filled in as far as was read: T2.8 +1/3, EV 7.3, 122 lux',
    )
    options.add_out(parser, "folder for the files")
    parser.add_argument("--json", action="store_true", help="print everything as JSON")
    parser.add_argument(
        "--free",
        default=None,
        metavar="'walls, key.output'",
        help="what may be off: walls (or back, front, camera_left, camera_right), floor, ceiling, room,"
        " LIGHT.output, LIGHT.height, LIGHT.distance, card.NAME, meter; outputs, heights, distances or cards"
        " for all of them (default: all of it, the walls by one factor)",
    )
    parser.add_argument(
        "--meter-error",
        type=options.number("stops", 0.01, 1.0),
        default=REPEATS,
        metavar="STOPS",
        help=f"what a reading repeats to, one standard deviation (default {REPEATS:g}); a third or the last"
        " digit is rounded besides",
    )
    options.add_metering(parser, 0.01)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print, and write with --out. Raises InputError for anything that cannot be used."""
    scene = options.scene_of(args)
    folder = Path(args.out) if args.out is not None else None
    if folder is not None:
        options.check_folder(folder)
    return _sheet(scene, args, folder) if args.readings is None else _match(scene, args, folder)


def _sheet(scene: Scene, args: argparse.Namespace, folder: Path | None) -> int:
    """The way out."""
    if args.free is not None:
        raise InputError(
            "--free: what may be off is estimated from readings; expected READINGS, a CSV filled in"
        )
    from renderer.meter.expected import readings_csv
    from renderer.meter.expected_sheet import sheet_text
    from renderer.solve.readings.metering import Metering

    found = Metering.traced(scene, args.within, args.seed, args.threads)
    several = found.settings()
    page = sheet_text(scene.title, several, found.marks, scene.camera)
    if args.json:
        import json

        data = {it.on: {name: mark.as_json() for name, mark in it.marks.items()} for it in several}
        print(json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print(page, end="")
        print("".join(f"not given: {line}\n" for line in found.missing), end="")
    if folder is not None:
        _write(folder, {SHEET: readings_csv(several), PAGE: page.encode()}, args.json)
    return 0


def _match(scene: Scene, args: argparse.Namespace, folder: Path | None) -> int:
    """The way back."""
    from renderer.scene.layer import layers
    from renderer.solve.readings.free import assumptions
    from renderer.solve.readings.given import given

    path = Path(args.scene)
    readings = given(args.readings, scene, [layer.name for layer in layers(scene)])
    free = assumptions(scene, args.free)
    if folder is not None:
        options.check_not_over(folder, path)

    from renderer.solve.readings.match import matched
    from renderer.solve.readings.report import match_csv, match_lines

    found = matched(
        scene, readings, free, meter_error=args.meter_error, within=args.within, seed=args.seed,
        threads=args.threads, watch=lambda text: print(f"halfstop: tracing {text}", file=sys.stderr),
    )  # fmt: skip
    import json

    data = json.dumps(found.as_json(), indent=1, ensure_ascii=False, allow_nan=False)
    print(data if args.json else "\n".join(match_lines(found)))
    if folder is not None:
        files = {path.name: _scene(found, path), "match.csv": match_csv(found)}
        _write(folder, {**files, "match.json": (data + "\n").encode()}, args.json)
    return 0


def _scene(found: Match, path: Path) -> bytes:
    from renderer.solve.scene_file import edited, with_tables

    text = want.scene_text(str(path))
    return edited(text, with_tables(text, found.keys), str(path)).encode()


def _write(folder: Path, files: dict[str, bytes], quiet: bool) -> None:
    from renderer.picture.atomic import write_all

    paths = write_all(folder, files)
    if not quiet:
        print("wrote " + ", ".join(map(str, paths)))
