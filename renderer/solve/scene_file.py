"""A person's scene file with some values set anew, and all else, comments and order, as it was."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Mapping
from typing import Any

from renderer.errors import InputError
from renderer.scene.change import keys_of
from renderer.scene.source_line import SourceLines


def edited(text: str, values: Mapping[str, Any], name: str = "scene") -> str:
    """The TOML text with the values at their paths of keys (`light.key.dim`).

    Raises InputError where a table on the way is not in the file, or where the edit would change more than
    that.
    """
    for path, value in values.items():
        try:
            wanted = _with(tomllib.loads(text), path, value)
            text = _line_added(text, path, value, wanted) or _set(text, path, value)
        except (KeyError, IndexError, TypeError, ValueError) as error:
            reason = " ".join(str(error).split())[:80]
            raise InputError(f"{name}: {path} cannot be written into it ({reason})") from None
        if tomllib.loads(text) != wanted:
            raise InputError(f"{name}: {path} cannot be written into it without changing more than that")
    return text


def with_tables(text: str, values: Mapping[str, Any]) -> dict[str, Any]:
    """The values for `edited`, those of a table that the text leaves out gathered as a whole new table."""
    data = tomllib.loads(text)
    found: dict[str, Any] = {}
    for path, value in values.items():
        *above, last = keys_of(path)
        inner: Any = data
        for key in above:
            inner = inner.get(key) if isinstance(inner, dict) else inner[key] if inner is not None else None
        if inner is not None:
            found[path] = value
        else:
            found.setdefault(path.rpartition(".")[0], {})[last] = value
    return found


def _line_added(text: str, path: str, value: Any, wanted: dict[str, Any]) -> str | None:
    """A new key on a line of its own under the last of its table's plain keys, so that a comment over what
    comes next stays there; None where the key is there already or its table is not written so."""
    *above, last = keys_of(path)
    table: Any = tomllib.loads(text)
    for key in above:
        table = table[key]
    if not isinstance(table, dict) or last in table or not isinstance(value, (int, float)):
        return None
    lines, places = text.split("\n"), SourceLines(text)
    for key in reversed(table):
        number = places.line((*above, key))
        if number is None or not lines[number - 1].lstrip().startswith(f"{key} "):
            continue
        indent = lines[number - 1][: len(lines[number - 1]) - len(lines[number - 1].lstrip())]
        end = "\r" if lines[number - 1].endswith("\r") else ""
        made = "\n".join([*lines[:number], f"{indent}{last} = {value}{end}", *lines[number:]])
        try:
            if tomllib.loads(made) == wanted:
                return made
        except tomllib.TOMLDecodeError:
            continue
    return None


def _set(text: str, path: str, value: Any) -> str:
    """Any other edit; a table that is set anew is written on one line."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(text)
        *above, last = keys_of(path)
        inner: Any = document
        for key in above:
            inner = inner[key]
        if isinstance(value, dict):
            table = tomlkit.inline_table()
            table.update(value)
            value = table
        inner[last] = value
        return str(tomlkit.dumps(document))
    except TOMLKitError as error:
        raise ValueError(str(error)) from None


def _with(data: dict[str, Any], path: str, value: Any) -> dict[str, Any]:
    made = copy.deepcopy(data)
    *above, last = keys_of(path)
    inner: Any = made
    for key in above:
        inner = inner[key]
    inner[last] = value
    return made
