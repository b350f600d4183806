"""A scene with some of its keys set anew, checked as if it had been written so.

>>> changed(scene, {"light.key.around.height": 2.1, "sitter.eye_height": 1.25})
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from renderer.errors import InputError
from renderer.scene.message import dotted
from renderer.scene.models import Scene
from renderer.scene.validate import Keys, checked

AXES = ("x", "y", "z")


def keys_of(path: str) -> Keys:
    """The keys of a path as a person writes it: `light.key.around.height`, `card.lap.at.z`,
    `light.key.skirt[1].drop`; members of a list count from 1. Raises InputError."""
    keys: list[str | int] = []
    for word in path.split("."):
        found = re.fullmatch(r"([A-Za-z0-9_-]+)((?:\[[1-9]\d*\])*)", word)
        if found is None:
            example = "light.key.around.height or light.key.skirt[1].drop"
            raise InputError(f"{path}: expected keys of the scene with points between, such as {example}")
        keys.append(found[1])
        keys += [int(number) - 1 for number in re.findall(r"\d+", found[2])]
    return tuple(keys)


def value_at(scene: Scene, path: str) -> Any:
    """What a key holds now, also where the scene file leaves it to its default; None for nothing.

    Raises InputError for a path that leads nowhere.
    """
    inner: Any = written(scene)
    *above, last = _resolved(inner, path)
    for key in above:
        inner = inner.get(key, {}) if isinstance(inner, dict) else inner[key]
    return inner.get(last) if isinstance(inner, dict) else inner[last]


def changed(scene: Scene, values: Mapping[str, Any]) -> Scene:
    """The scene with other values at some paths of keys (see `keys_of`); all else as it was.

    What the scene file left to be worked out (a camera at the height of the eyes, an aim at the nose) is
    worked out anew. Raises InputError with a line for each fault of the scene that comes of it.
    """
    data = written(scene)
    for path, value in values.items():
        *above, last = _resolved(data, path)
        inner: Any = data
        for key in above:
            inner = inner.setdefault(key, {}) if isinstance(inner, dict) else inner[key]
        inner[last] = value
    made, faults = checked(data, scene.source_path)
    if made is None or faults:
        asked = ", ".join(f"{path} = {value}" for path, value in values.items())
        tables = any(isinstance(value, dict) for value in values.values())  # told where in it, not as a whole
        where = [dotted(path) for path, _ in faults]
        raise InputError(
            *(
                f"{asked}: {text}"
                if list(values) == [at]
                else f"{at}: {text}"
                if tables
                else f"{asked}: {at}: {text}"
                for at, (_, text) in zip(where, faults, strict=True)
            )
        )
    return made


def written(scene: Scene) -> dict[str, Any]:
    """The scene as plain data that makes the same again, without what was worked out from the rest."""
    data = scene.model_dump(mode="json", exclude_none=True)
    for key in scene.worked_out:
        data["camera"].pop(key, None)
    return data


def _resolved(data: dict[str, Any], path: str) -> Keys:
    """The keys of a path, its x, y, z turned into places of a point. Raises InputError where it leads
    nowhere; a last key that is only not written yet is left for the scene's own check."""
    found: list[str | int] = []
    inner: Any = data
    keys = keys_of(path)
    for i, key in enumerate(keys):
        here = dotted(found) or "the scene"
        if isinstance(inner, list):
            if key in AXES and len(inner) == len(AXES) and all(isinstance(it, (int, float)) for it in inner):
                key = AXES.index(str(key))
            if not isinstance(key, int) or key >= len(inner):
                parts = "x, y, z" if len(inner) == len(AXES) else f"[1] to [{len(inner)}]"
                raise InputError(f"{path}: {here} has no {_shown(key)}; expected {parts}")
        elif isinstance(inner, dict):
            known = set(inner) | (set(Scene.model_fields) if not found else set())
            last = i == len(keys) - 1
            if isinstance(key, int) or (key not in known and not (last and found)):
                near = get_close_matches(str(key), sorted(known), 1, 0.5)
                hint = f'; did you mean "{near[0]}"?' if near else f" (it has {', '.join(sorted(known))})"
                raise InputError(f"{path}: {here} has no {_shown(key)}{hint}")
        else:
            raise InputError(f"{path}: {here} is a value and holds no {_shown(key)}")
        found.append(key)
        inner = inner.get(key, {}) if isinstance(inner, dict) else inner[int(key)]
    return tuple(found)


def _shown(key: str | int) -> str:
    return f"[{key + 1}]" if isinstance(key, int) else f'"{key}"'
