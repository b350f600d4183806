"""Landmarks in a file beside a mesh: NAME.landmarks.toml for NAME.obj."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from renderer.errors import InputError
from renderer.scene.field import near
from renderer.scene.sitter import Landmarks, landmarks_beside
from renderer.scene.source_line import SourceLines

KEYS = tuple(Landmarks.model_fields)
WHOLE = f"expected {', '.join(KEYS)}, each [x, y, z] in units of the mesh file"


def side_file(mesh: Path) -> Landmarks | None:
    """Landmarks from the file beside a mesh; None where there is none.

    Raises InputError for a file that does not give all four and nothing else.
    """
    path = landmarks_beside(mesh)
    if not path.is_file():
        return None
    text = _text(path)
    data = _parsed(text, path)
    lines = SourceLines(text)
    for key in data:
        if key not in KEYS:
            hint = near(key, [name for name in KEYS if name not in data])
            raise InputError(f'{_place(path, lines.line((key,)))}: unknown key "{key}"{hint}; {WHOLE}')
    missing = [name for name in KEYS if name not in data]
    if missing:
        raise InputError(f"{path}: {missing[0]} is missing; {WHOLE}")
    try:
        return Landmarks.model_validate(data)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(str(key) for key in first["loc"])
        said = f"{where}: {first['msg']}" if where else f"{first['msg']}; {WHOLE}"
        raise InputError(f"{_place(path, lines.line(first['loc']))}: {said}") from None


def _text(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig")  # some editors put a byte order mark first
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {(error.strerror or 'unknown reason').lower()}") from None
    except UnicodeDecodeError:
        raise InputError(f"{path}: is no UTF-8 text; save the file as UTF-8") from None


def _parsed(text: str, path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise InputError(f"{path}: lists are nested too deeply; {WHOLE}") from None
    except tomllib.TOMLDecodeError as error:
        reason = str(error)
    except ValueError:  # the conversion of a whole number gave up
        raise InputError(f"{path}: a number in it has thousands of digits; {WHOLE}") from None
    repeated = SourceLines(text).repeated
    if "overwrite" in reason and repeated:
        keys, first, second = repeated[0]
        raise InputError(f"{path}:{second}: {keys[-1]} is given twice; it is on line {first} already")
    found = re.fullmatch(r"(.*) \(at line (\d+), column (\d+)\)", reason, re.DOTALL)
    if found is None:
        raise InputError(f"{path}:{len(text.splitlines())}: not valid TOML at the end of the file")
    what = found[1][:1].lower() + found[1][1:]
    raise InputError(f"{path}:{found[2]}: not valid TOML: {what} at column {found[3]}")


def _place(path: Path, line: int | None) -> str:
    return f"{path}:{line}" if line else str(path)
