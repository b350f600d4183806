"""Check a scene file and describe it, without tracing anything.

Says what is wrong (file, line, key, what is valid), or else where everything is, what the exposure asks
for, and what to look at twice.
"""

from __future__ import annotations

import argparse
import textwrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("check", help=text.splitlines()[0], description=text)
    parser.add_argument("scene", metavar="SCENE", help="scene file (TOML)")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the description and the warnings. Raises InputError where the scene is faulty."""
    from renderer.scene.caution import cautions
    from renderer.scene.load import load
    from renderer.scene.summary import summary

    scene = load(args.scene)
    for line in summary(scene):
        print(line)
    found = list(cautions(scene))
    print()
    if not found:
        print("Nothing to warn about. Noise, spill and ratios need a preview or the meter.")
    for text in found:
        print("\n".join(textwrap.wrap(text, 108, initial_indent="Warning: ", subsequent_indent="         ")))
    return 0
