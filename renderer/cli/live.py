"""Keep a picture up to date while the scene file is edited: a first look at once, then better ones.

Open DIR/preview.png in a viewer that reads a file again when it has changed. Each time the scene is saved
the picture is made anew: of lights that were moved, dimmed or recoloured in a moment, of a sitter, camera or
room after one pass. A fault in the file is told in a line and the last picture stays. Ctrl-C ends.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from renderer.cli import options
from renderer.errors import InputError

if TYPE_CHECKING:
    from renderer.live import Live, Shown
    from renderer.scene.models import Scene

    Subparsers = argparse._SubParsersAction[argparse.ArgumentParser]

PAUSE = 0.05  # s between two looks at the file
SETTLING = 0.2  # s in which an editor has written a file whole
LOOKS = 10  # at a file that is not there, after which no editor is about to put another in its place


def add(subparsers: Subparsers) -> None:
    """Add the command to the command line."""
    text = __doc__ or ""
    parser = subparsers.add_parser("live", help=text.splitlines()[0], description=text)
    parser.add_argument("scene", metavar="SCENE", help="scene file (TOML) that is being edited")
    options.add_out(parser, "folder for the picture", "out")
    options.add_following(parser, 0.1)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Show and refine until an interrupt. Raises InputError for a file that is not there, a folder that
    cannot be written, or a card that cannot be used."""
    from renderer.live import Live
    from renderer.picture.atomic import made_folder

    path, folder = Path(args.scene), Path(args.out)
    options.check_folder(folder)
    if not path.is_file():
        options.scene_of(args)  # says what is wrong, with the nearest choice
    made_folder(folder)
    print(f"{folder / options.PICTURE} follows {path}; Ctrl-C ends", file=sys.stderr)
    with suppress(KeyboardInterrupt), Live(on=args.on, threads=args.threads) as live:
        _follow(live, File(path), lambda: options.scene_of(args), folder / options.PICTURE, args.within)
    return 0


class File:
    """A file that is being edited; `changed` is true once for each time it was saved."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._last: tuple[int, int] | None = None
        self._missed = 0

    def _stamp(self) -> tuple[int, int] | None:
        try:
            found = self._path.stat()
        except OSError:  # an editor puts another in its place
            return self._last
        return found.st_mtime_ns, found.st_size

    def waits(self) -> bool:
        """Whether it was saved since `take`."""
        return self._stamp() != self._last

    def take(self) -> None:
        self._last = self._stamp()

    def lost(self) -> bool:
        """Whether it is not there any more; true once, at the last of LOOKS."""
        self._missed = 0 if os.path.exists(self._path) else self._missed + 1
        return self._missed == LOOKS

    def __str__(self) -> str:
        return str(self._path)


def _follow(live: Live, file: File, read: Callable[[], Scene], picture: Path, within: float) -> None:
    while not live.halted:
        if not file.waits():
            if file.lost():
                _tell(
                    InputError(f"{file}: is not there any more; save it again, until then the picture stays")
                )
            time.sleep(PAUSE)
            continue
        file.take()
        scene = _read(file, read)
        if scene is None:
            continue
        try:
            _write(live.show(scene), picture)
            live.refine(within, lambda shown: _write(shown, picture), lambda: live.halted or file.waits())
        except InputError as error:
            _tell(error)


def _read(file: File, read: Callable[[], Scene]) -> Scene | None:
    """The scene; None where it has faults, which are told unless it was read while it was written."""
    try:
        return read()
    except InputError as error:
        time.sleep(SETTLING)
        if not file.waits():
            _tell(error)
        return None


def _tell(error: InputError) -> None:
    print("\n".join(error.lines), file=sys.stderr)


def _write(shown: Shown, picture: Path) -> None:
    from renderer.picture.png import write_png

    write_png(picture, shown.picture)
    state = "first look" if shown.error is None else f"within {shown.error:.2f} stop"
    print(f"{shown.seconds:7.2f} s  {state}", flush=True)
