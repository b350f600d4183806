"""Solve the dimmers for the scene's targets: ratio, levels at marks, background, edge light, eyes.

Says which dimmers bring every target of [target] (and --want), or the nearest that they come, why no more is
to be had, and what in the room would buy it. With --place it also looks for the place of one light or card.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from renderer.cli import options, want
from renderer.cli.tracing import traced_of
from renderer.errors import InputError

if TYPE_CHECKING:
    from renderer.scene.models import Scene
    from renderer.solve.dimmers.balance import Balance

    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]


SEARCH = 0.1  # stop: the error of a reading while places are sought
PIXELS = 10.0  # times the error of a reading that a pixel may have


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("balance", help=text.splitlines()[0], description=text)
    options.add_scene(parser)
    options.add_out(parser, "folder for balance.json and the scene")
    parser.add_argument("--json", action="store_true", help="print everything as JSON")
    want.add_wanted(parser)
    group = parser.add_argument_group("lights (each may be given several times)")
    group.add_argument("--hold", action="append", default=[], metavar="LIGHT", help="leave this dimmer")
    group.add_argument(
        "--limit", action="append", default=[], metavar="LIGHT=LOW..HIGH", help="dimmer from LOW to HIGH"
    )
    group.add_argument(
        "--free", action="append", default=[], metavar="WINDOW", help="a window that can be dimmed after all"
    )
    parser.add_argument(
        "--place",
        default=None,
        metavar="'THING in RANGES'",
        help="look for the place of a light or card too: 'key in azimuth 20..70, height 1.5..2.2'"
        " (azimuth, distance and height as in around; what is not named stays)",
    )
    parser.add_argument(
        "--ceiling", action="store_true", help="tell what would raise the ratio, also where it is met"
    )
    options.add_tracing(parser, 0.02)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Trace once, solve, print and write. Raises InputError for anything that cannot be used."""
    from renderer import assets

    path = str(args.scene or assets.default_scene())
    scene = want.wanted(options.scene_of(args), args.want)
    limits = dict(_limit(text) for text in args.limit)
    _check(scene, args, limits)
    if args.place is not None:
        from renderer.solve.places.box import box_of

        box_of(scene, args.place)
    if args.out is not None:
        options.check_folder(Path(args.out))
        options.check_not_over(Path(args.out), Path(path))
    keys: dict[str, Any] = {}
    if args.place is not None:
        data, lines, found, keys = _placed(scene, args, limits)
    else:
        from renderer.solve.dimmers.report import balance_lines

        found = balanced(scene, args, limits)
        data, lines = found.as_json(), balance_lines(found)
    if found.missing and not found.outcomes:
        raise InputError(*found.missing)  # nothing was solved, and nothing is to be written
    if args.json:
        import json

        print(json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print("\n".join(lines))
    if args.out is not None:
        dims = {
            _key(scene, it.light): round(it.after, 4) for it in found.faders if not _same(it.after, it.before)
        }
        print("wrote " + ", ".join(map(str, _write(data, {**keys, **dims}, path, Path(args.out)))))
    return 0


def _same(one: float, other: float) -> bool:
    return round(one - other, 4) == 0.0


def _placed(
    scene: Scene, args: argparse.Namespace, limits: dict[str, tuple[float, float]]
) -> tuple[dict[str, Any], list[str], Balance, dict[str, Any]]:
    """Data, lines, the balance in the best place, and the keys that put it there."""
    from renderer.solve.places.box import box_of

    box = box_of(scene, args.place)

    from renderer.solve.places.place import placed
    from renderer.solve.places.report import place_lines

    found = placed(
        scene,
        box,
        args.hold,
        limits,
        args.free,
        within=max(args.within, SEARCH),
        seed=args.seed,
        threads=args.threads,
        watch=lambda text: print(f"halfstop: {text}", file=sys.stderr),
    )
    return found.as_json(), place_lines(found), found.best[0][1], found.keys


def _check(scene: Scene, args: argparse.Namespace, limits: dict[str, tuple[float, float]]) -> None:
    from renderer.scene.layer import layers
    from renderer.solve.check import check

    names = [layer.name for layer in layers(scene)]
    check(names, scene.target is not None, args.hold, limits, args.free)
    fixed = ", ".join(name for name in names if name not in scene.light) or "none"
    for name in args.free:
        if name in scene.light:
            raise InputError(f"--free {name}: is no window and dimmed in any case (windows: {fixed})")


def balanced(scene: Scene, args: argparse.Namespace, limits: dict[str, tuple[float, float]]) -> Balance:
    """The scene traced and solved; with its ceiling where a ratio is missed."""
    from renderer.solve.dimmers.balance import balanced as solved
    from renderer.solve.dimmers.balance import with_ceiling
    from renderer.solve.size import needs_picture, sized

    picture = needs_picture(scene)
    if picture:  # its pixels are read by the hundred
        args.within *= PIXELS
    preview = traced_of(args, sized(scene), {}, picture=picture, eyes=False)
    found = solved(preview, args.hold, limits, args.free)
    return with_ceiling(found, args.seed, args.threads, args.ceiling)


def _write(data: dict[str, Any], keys: dict[str, Any], path: str, folder: Path) -> list[Path]:
    import json

    from renderer.picture.atomic import write_all
    from renderer.solve.scene_file import edited

    text = edited(want.scene_text(path), keys, path)
    found = json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False)
    return write_all(folder, {"balance.json": (found + "\n").encode(), Path(path).name: text.encode()})


def _key(scene: Scene, light: str) -> str:
    """Where the dimmer of a light is written."""
    if light in scene.light:
        return f"light.{light}.dim"
    return f"room.window.{light}.dim" if light in scene.windows else "room.found.dim"


def _limit(text: str) -> tuple[str, tuple[float, float]]:
    name, equals, span = text.rpartition("=")
    low, dots, high = span.partition("..")
    try:
        if not equals or not dots or not name:
            raise ValueError
        return name, (float(low), float(high))
    except ValueError:
        raise InputError(f"--limit {text}: expected LIGHT=LOW..HIGH, such as key=0.2..0.8") from None
