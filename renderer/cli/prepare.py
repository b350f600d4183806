"""Compile the kernels ahead, so that the first picture does not wait for it.

Takes half a minute to a minute, once for each version and processor. Kernels lie in the user's cache folder,
or in the one that HALFSTOP_CACHE names.
"""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("prepare", help=text.splitlines()[0], description=text)
    parser.add_argument(
        "--on",
        choices=("auto", "cpu", "gpu"),
        default="auto",
        help="what to compile for: the processor, or a graphics card with CUDA and what the processor does"
        " beside it (auto: both where there is a card)",
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Compile and say so in one line. Raises InputError where kernels cannot be kept."""
    from renderer.film.device import CPU, GPU, card_lacks, pool_on
    from renderer.live.prepare import prepare

    if args.on == GPU:
        pool_on(GPU, 1).__exit__(None, None, None)  # a card that is not there is said before anything else
    places = [CPU] if args.on == CPU else [GPU] if args.on == GPU else [CPU] + [GPU] * (not card_lacks())
    if sys.stderr.isatty():
        print("halfstop: compiling what is not there yet, up to a minute", file=sys.stderr)
    done = [prepare(place) for place in places]
    made, found = [name for it in done for name in it.made], [name for it in done for name in it.found]
    count, seconds, folder = len(made + found), sum(it.seconds for it in done), done[0].folder
    card = " for the processor and the graphics card" if len(done) > 1 else ""
    if made:
        what = f"compiled {len(made)} of {count} kernels{card} in {seconds:.0f} s; they lie in {folder}"
    else:
        what = f"all {count} kernels{card} were compiled already; they lie in {folder} ({seconds:.1f} s)"
    print(f"halfstop: {what}")
    return 0
