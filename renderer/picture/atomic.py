"""Files that are there whole, or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from renderer.errors import InputError

Written = list[tuple[Path, Path]]
"""Files that were written and wait, each with the place that it is for."""


@contextmanager
def together() -> Iterator[Written]:
    """Gives a list for `whole_file`: the files noted in it take their places when the body is done.

    If the body fails, all places are as they were and nothing is left behind. Raises InputError where a
    file cannot be put in its place.
    """
    written: Written = []
    try:
        yield written
        for part, path in written:
            try:
                os.replace(part, path)
            except OSError as error:
                raise _fault(path, error) from error
    finally:
        for part, _ in written:
            part.unlink(missing_ok=True)


@contextmanager
def whole_file(path: Path, written: Written | None = None) -> Iterator[Path]:
    """Gives the path of an empty file in the same folder; it takes the place of `path` once written.

    written  the list of `together`: the file is noted there, and takes its place with the others

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
    waits = False
    try:
        # Made here rather than by a temporary-file helper, so that the file gets the user's usual rights.
        part.touch(exist_ok=False)
        yield part
        if written is None:
            os.replace(part, path)
        else:
            written.append((part, path))
            waits = True
    except OSError as error:
        raise _fault(path, error) from error
    finally:
        if not waits:
            part.unlink(missing_ok=True)


@contextmanager
def as_before_on_failure(path: Path) -> Iterator[None]:
    """If the body fails, `path` holds what it held before, or nothing, though it was written in the body."""
    before = path.read_bytes() if path.is_file() else None
    try:
        yield
    except BaseException:
        with suppress(OSError, InputError):
            if before is None:
                path.unlink(missing_ok=True)
            else:
                with whole_file(path) as part:
                    part.write_bytes(before)
        raise


def made_folder(folder: str | Path) -> Path:
    """The folder, made where it is not there. Raises InputError where it cannot be."""
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{folder}: cannot be made a folder: {error.strerror}") from None
    return folder


def write_all(folder: str | Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files by their names into a folder, all or none; their paths. Raises InputError."""
    folder = made_folder(folder)
    with together() as written:
        for name, content in files.items():
            with whole_file(folder / name, written) as part:
                part.write_bytes(content)
    return [folder / name for name in files]


def _fault(path: Path, error: OSError) -> InputError:
    reason = (error.strerror or str(error)).lower()
    return InputError(f"{path}: cannot be written: {reason}; choose another folder")
