"""Reading a file that a person named: a regular one, to a bounded length, with one line for what is wrong."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from renderer.errors import InputError


def read_bytes(
    path: Path,
    expected: str,
    largest: int,
    too_large: str,
    missing: Callable[[Path], str],
    inside: Callable[[Path], str] = lambda folder: "",
) -> bytes:
    """The whole file, of at most `largest` bytes.

    expected   what the file should be, as in "a scene file"
    too_large  what is said of a larger one
    missing    what else to say where there is none, such as the nearest name; inside: of a folder

    Raises InputError for a file that is missing, a folder, a device, unreadable or too large.
    """
    try:
        if path.is_dir():
            raise InputError(f"{path}: is a folder; expected {expected}{inside(path)}")
        if path.exists() and not path.is_file():
            raise InputError(f"{path}: is a device or a pipe; expected {expected}")
        with path.open("rb") as file:
            raw = file.read(largest + 1)
    except FileNotFoundError:
        raise InputError(f"{path}: no such file{missing(path)}") from None
    except (OSError, ValueError) as wrong:
        reason = wrong.strerror if isinstance(wrong, OSError) and wrong.strerror else str(wrong)
        raise InputError(f"{path}: may not be read: {reason.lower()}") from None
    if len(raw) > largest:
        raise InputError(f"{path}: {too_large}")
    return raw
