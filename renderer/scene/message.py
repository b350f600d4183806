"""What is wrong with a scene file, as lines for a person: where, what was found, what is valid."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from difflib import get_close_matches
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from renderer.scene.field import near, show
from renderer.scene.lights import LIGHTS
from renderer.scene.models import Scene

Path = tuple[str | int, ...]

OTHER_WORDS = {
    "radius": "diameter", "size": "diameter", "angle": "azimuth", "lumen": "lumens", "lm": "lumens",
    "flux": "lumens", "lux": "lux_at_1m", "candela": "luminance", "nits": "luminance", "brightness": "lumens",
    "position": "at", "pos": "at", "location": "at", "centre": "at", "center": "at", "target": "aim",
    "look_at": "aim", "intensity": "dim", "dimmer": "dim", "level": "dim", "kelvin": "cct",
    "temperature": "cct", "colour_temperature": "cct", "color_temperature": "cct", "color": "colour",
    "gels": "gel", "filter": "gel",
    "kind": "source", "type": "source", "shape": "source", "role": "purpose",
    "use": "purpose", "focal_length": "lens_mm", "lens": "lens_mm", "f_stop": "t_stop", "f_number": "t_stop",
    "aperture": "t_stop", "stop": "t_stop", "exposure": "shutter", "shutter_speed": "shutter",
    "resolution": "picture", "sensor": "sensor_width_mm", "albedo": "reflectance", "yaw": "head_yaw",
    "pitch": "head_pitch", "skin": "skin_reflectance", "lights": "light", "cards": "card", "flags": "flag",
    "marks": "mark", "meter_kind": "meter", "direction": "facing", "normal": "facing", "person": "sitter",
    "head": "mesh", "windows": "window", "reflectances": "reflectance", "skirts": "skirt",
    "transmission": "transmittance", "egg_crate": "crate", "grid": "crate", "honeycomb": "crate",
    "beam_angle": "beam", "field_angle": "field", "ies": "file", "ldt": "file", "photometry": "file",
    "rotation": "roll", "tint": "duv",
}  # fmt: skip
"""Words a person may write for a key, and the key that means it."""


LONGEST_KEY = 60
"""Letters of a key that a line repeats."""


def dotted(path: Sequence[str | int]) -> str:
    """A path of keys as a person writes it; members of a list count from 1."""
    text = ""
    for key in path:
        if isinstance(key, int):
            text += f"[{key + 1}]"
        else:
            short = key if len(key) <= LONGEST_KEY else f"{key[:LONGEST_KEY]}..."
            shown = "".join(letter if letter.isprintable() else "?" for letter in short)
            name = shown if re.fullmatch(r"[A-Za-z0-9_-]+", shown) else f'"{shown}"'
            text += f".{name}" if text else name
    return text


def written(path: Path) -> Path:
    """Path of a pydantic error as keys of the file: without the kind of light that it puts third, and
    without the sign that the fault is of a name."""
    if len(path) > 2 and path[-1] == "[key]":
        path = path[:-1]
    if len(path) > 2 and path[0] == "light" and path[2] in LIGHTS:
        return (*path[:2], *path[3:])
    return path


def problems(error: ErrorDetails) -> Iterator[tuple[Path, str]]:
    """Path of keys and text of each fault that one pydantic error stands for."""
    path, kind, found = written(error["loc"]), error["type"], error["input"]
    context: dict[str, Any] = error.get("ctx", {})
    if kind == "table":
        for below, text in context["problems"]:
            yield (*path, *below), text
    elif kind == "field":
        yield path, context["text"]
    elif kind == "missing":
        yield path, f"missing key; expected {_meaning(error['loc'])}"
    elif kind == "extra_forbidden":
        yield path, _unknown(error["loc"])
    elif kind == "union_tag_not_found":
        yield (*path, "source"), f"missing key; expected {_either(LIGHTS)}"
    elif kind == "union_tag_invalid":
        word = str(context["tag"])
        hint = near(word, list(LIGHTS), 0.5)
        yield (*path, "source"), f'expected {_either(LIGHTS)}; got "{word}"{hint}'
    elif kind == "literal_error":
        choices = re.findall(r"'([^']*)'", context["expected"])
        hint = near(found, choices, 0.5) if isinstance(found, str) else ""
        yield path, f"expected {_either(choices)}; got {show(found)}{hint}"
    elif kind in ("model_type", "model_attributes_type", "dict_type"):
        yield path, f"expected a table; got {show(found)}"
    elif kind == "list_type":
        yield path, f"expected a list of tables, each under [[{dotted(path)}]]; got {show(found)}"
    elif kind == "string_type":
        yield path, f"expected text in quotes; got {show(found)}"
    elif kind in ("bool_type", "bool_parsing"):
        word = found.strip().lower() if isinstance(found, str) else ""
        hint = f"; did you mean {word}?" if word in ("true", "false") else ""
        yield path, f"expected true or false; got {show(found)}{hint}"
    else:
        yield path, f"{error['msg']}; got {show(found)}"


def _either(words: Any) -> str:
    *most, last = (f'"{word}"' for word in words)
    return f"{', '.join(most)} or {last}" if most else last


def _unknown(path: Path) -> str:
    """An unknown key: the nearest one that its table has, and all of them."""
    table, name = _table(path)
    word = str(path[-1])
    meaning = meant(word, table)
    home = _home(word) if len(path) <= 2 else None  # deeper, among lights and cards, words mean other things
    hint = f'; did you mean "{meaning}"?' if meaning else ""
    if home and (meaning is None or meaning != OTHER_WORDS.get(word)):
        hint = f"; did you mean {home}.{word}?"
    return f"unknown key{hint} ({name} has: {', '.join(table.model_fields)})"


def _home(word: str) -> str | None:
    """The one table of a scene that has such a key; None where there is none, or several."""
    tables = {name: _plain(field.annotation) for name, field in Scene.model_fields.items()}
    homes = [
        name
        for name, kind in tables.items()
        if isinstance(kind, type) and issubclass(kind, BaseModel) and word in kind.model_fields
    ]
    return homes[0] if len(homes) == 1 else None


def meant(word: str, table: type[BaseModel]) -> str | None:
    """The key of a table that a person most likely means by a word; None where there is no likely one."""
    if word in table.model_fields:
        return word
    keys = list(table.model_fields)
    other = {word: key for word, key in OTHER_WORDS.items() if key in keys and word not in keys}
    found = get_close_matches(word.lower().replace("-", "_"), [*keys, *other], 1)
    return other.get(found[0], found[0]) if found else None


def _meaning(path: Path) -> str:
    table, _ = _table(path)
    return table.model_fields[str(path[-1])].description or "a value"


def _table(path: Path) -> tuple[type[BaseModel], str]:
    """The model of the table that holds the last key of a pydantic path, and what to call it."""
    kind: Any = Scene
    name = "a scene"
    for key in path[:-1]:
        if kind is LIGHTS:
            kind = LIGHTS[str(key)]
            name = str(key)
        elif isinstance(kind, type) and issubclass(kind, BaseModel):
            kind = _plain(kind.model_fields[str(key)].annotation)
            name = str(key)
        else:
            kind = _plain(get_args(kind)[-1])
    return kind, name


def _plain(annotation: Any) -> Any:
    """A model, dict[...] or list[...] out of `Annotated` and `Optional`; `LIGHTS` for the union of lights."""
    if get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    if set(get_args(annotation)) == set(LIGHTS.values()):
        return LIGHTS
    if get_origin(annotation) in (dict, list):
        return annotation
    members = [member for member in get_args(annotation) if member is not type(None)]
    return members[0] if members else annotation
