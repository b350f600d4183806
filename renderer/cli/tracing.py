"""Tracing one scene after another as the options say, with progress."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from renderer.preview import Preview
    from renderer.world.build import World


def tracer(args: argparse.Namespace, named: bool = True) -> Callable[[World], Preview]:
    """What traces a world; says which before it does where they are to be `named`."""
    from renderer.cli.progress import Meter
    from renderer.preview import Preview

    def trace(world: World) -> Preview:
        if named:
            print(f"halfstop: tracing {world.scene.title or 'a scene'}", file=sys.stderr)
        with Meter() as meter:
            return Preview.trace(
                world,
                within=args.within,
                seconds=args.time,
                seed=args.seed,
                threads=args.threads,
                follow_all=args.follow_all,
                magnify=False,
                on=args.on,
                watch=meter,
            )

    return trace
