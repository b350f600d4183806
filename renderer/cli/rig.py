"""Add up what a rig weighs, draws and leaves clear, without tracing anything.

Says what each stand's boom and base come to, what each circuit carries, how high everything hangs and what
the sitter looks into. It permits nothing: a competent rigger and a licensed electrician decide.
"""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from renderer.errors import InputError

if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("rig", help=text.splitlines()[0], description=text)
    parser.add_argument("scene", metavar="SCENE", help="scene file (TOML)")
    parser.add_argument(
        "--eye-lux", default=None, metavar="LUX", help="lux at the sitter's eye, as the meter gives it"
    )
    parser.add_argument("--json", action="store_true", help="print everything as JSON")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the figures and what to look at twice. Raises InputError where the scene is faulty."""
    from renderer.rigging.report import rig
    from renderer.scene.load import load

    lux = _number(args.eye_lux) if args.eye_lux is not None else None
    scene = load(args.scene)
    found = rig(scene, lux)
    if args.json:
        import json

        print(json.dumps(found.as_data(), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        print("\n".join(found.lines(scene)))
    return 0


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise InputError(f'--eye-lux: expected a number of lux, such as 300; got "{text}"') from None
