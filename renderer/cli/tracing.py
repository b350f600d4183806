"""Tracing as the options say, with progress: one scene and its mix, or one scene after another."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from renderer.cli.progress import Meter
    from renderer.preview import Preview
    from renderer.scene.models import Scene
    from renderer.world.build import World

STOPPED = 130
"""Exit code after Ctrl-C, as shells have it: 128 and the number of the signal."""


def tracing_of(arguments: argparse.Namespace) -> dict[str, Any]:
    """The options of `add_tracing` as arguments of `Preview.trace`."""
    return {
        "within": arguments.within,
        "seconds": arguments.time,
        "seed": arguments.seed,
        "threads": arguments.threads,
        "follow_all": arguments.follow_all,
        "on": arguments.on,
    }


def traced_of(
    arguments: argparse.Namespace,
    scene: Scene,
    changes: dict[str, Any],
    picture: bool,
    eyes: bool = True,
    show: Callable[[Preview, Meter], None] | None = None,
) -> Preview:
    """The scene traced and mixed as the options say. Raises InputError, for the mix before tracing begins.

    eyes  also trace them magnified
    show  is given the preview in its mix as soon as it has its picture, and what tells the person
    """
    from renderer.film.change import check_changes
    from renderer.scene.layer import layers

    if changes:
        check_changes({layer.name: layer.white for layer in layers(scene)}, **changes)

    from renderer.cli.progress import Meter
    from renderer.live import ahead
    from renderer.preview import Preview

    if picture:
        ahead.begin()
    with Meter() as meter:
        preview = Preview.trace(
            scene,
            **tracing_of(arguments),
            picture=picture,
            magnify=eyes,
            grain=getattr(arguments, "grain", False),
            watch=meter,
            show=(lambda preview: show(preview.mixed(**changes), meter)) if show else None,
        )
    return preview.mixed(**changes)


@contextmanager
def written_whole() -> Iterator[None]:
    """Ctrl-C in the body only makes the exit code STOPPED: files that belong together stay together."""
    from renderer.film.pool import Pool, interrupts_to

    def count(number: int, frame: FrameType | None) -> None:
        Pool.interrupts += 1

    with interrupts_to(count):
        yield


def exit_code() -> int:
    """0, or STOPPED where Ctrl-C was pressed while this run traced or wrote."""
    from renderer.film.pool import Pool

    return STOPPED if Pool.interrupts else 0


def tracer(args: argparse.Namespace, named: bool = True) -> Callable[[World], Preview]:
    """What traces a world; says which before it does where they are to be `named`."""
    from renderer.cli.progress import Meter
    from renderer.live import ahead
    from renderer.preview import Preview

    ahead.begin()

    def trace(world: World) -> Preview:
        if named:
            print(f"halfstop: tracing {world.scene.title or 'a scene'}", file=sys.stderr)
        with Meter() as meter:
            return Preview.trace(world, **tracing_of(args), magnify=False, watch=meter)

    return trace
