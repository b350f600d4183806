"""A person's scene file with some values set anew, and all else, comments and order, as it was."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

from renderer.errors import InputError
from renderer.scene.change import keys_of


def edited(text: str, values: Mapping[str, Any], name: str = "scene") -> str:
    """The TOML text with the values at their paths of keys (`light.key.dim`).

    Raises InputError where a table on the way is not in the file, or where the edit would change more than
    that.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(text)
        for path, value in values.items():
            *above, last = keys_of(path)
            inner: Any = document
            for key in above:
                inner = inner[key]
            inner[last] = _item(value)
        made = tomlkit.dumps(document)
    except (TOMLKitError, KeyError, IndexError, TypeError) as error:
        raise InputError(f"{name}: cannot be written anew ({' '.join(str(error).split())[:80]})") from None
    if tomllib.loads(made) != _with(tomllib.loads(text), values):
        raise InputError(f"{name}: cannot be written anew without changing more than the values asked for")
    return made


def _item(value: Any) -> Any:
    """A table that is set anew is written on one line."""
    import tomlkit

    if not isinstance(value, dict):
        return value
    table = tomlkit.inline_table()
    table.update(value)
    return table


def _with(data: dict[str, Any], values: Mapping[str, Any]) -> dict[str, Any]:
    for path, value in values.items():
        *above, last = keys_of(path)
        inner: Any = data
        for key in above:
            inner = inner[key]
        inner[last] = value
    return data
