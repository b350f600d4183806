"""A file that is there whole, or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from renderer.errors import InputError


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """Gives the path of an empty file in the same folder; it takes the place of `path` once written.

    If the body fails, `path` is as it was before and nothing is left behind. A folder that is missing or
    cannot be written to, a disk that is full, or a `path` that is a folder, raises InputError.
    """
    folder = path.parent
    if not folder.is_dir():
        found = "is a file" if folder.exists() else "does not exist"
        raise InputError(f"{path}: cannot be written: the folder {folder} {found}; make it first")
    if path.is_dir():
        raise InputError(f"{path}: cannot be written: it is a folder; give the name of a file in it")
    part = folder / f".{path.name}.{os.getpid()}.part"
    try:
        # Made here rather than by a temporary-file helper, so that the file gets the user's usual rights.
        part.touch(exist_ok=False)
        yield part
        os.replace(part, path)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError(f"{path}: cannot be written: {reason}; choose another folder") from error
    finally:
        part.unlink(missing_ok=True)
