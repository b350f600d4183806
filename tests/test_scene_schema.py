"""The JSON Schema, the shipped scenes, the line finder, and what reading a scene may import."""

from __future__ import annotations

import argparse
import copy
import json
import math
import random
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from renderer.cli import check, schema
from renderer.scene.caution import cautions
from renderer.scene.layer import boards, layers
from renderer.scene.lights import LIGHTS
from renderer.scene.load import load, loads
from renderer.scene.models import Scene
from renderer.scene.sitter import Sitter
from renderer.scene.skin import TONES, luminance, skin_colour
from renderer.scene.source_line import SourceLines
from renderer.scene.validate import checked

ROOT = Path(__file__).parents[1]
SCENES = sorted((ROOT / "scenes").glob("*.toml"))


def test_there_are_scenes() -> None:
    assert len(SCENES) >= 10 and any(path.name == "default.toml" for path in SCENES)


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_shipped_scene(path: Path) -> None:
    """Loads; says what to look for; its only warnings: those that local rules decide, dark eyes in the scene
    that is about them, and furniture in the picture of a furnished one."""
    scene = load(path)
    assert path.read_text().startswith("# Look for: ")
    assert scene.title and scene.note and scene.room is not None and scene.mark
    found_as_it_is = path.stem == "potter-15-work-lamp"
    assert found_as_it_is or any(layer.purpose == "key" for layer in layers(scene))
    for text in cautions(scene):
        dark_eyes = "brow keeps it from the eyes" in text and path.stem == "classic-4-overhead"
        furniture = text.startswith("card.") and "in the picture" in text and path.stem == "oboist-5-lamp"
        assert "Local rules" in text or "practical" in text or dark_eyes or furniture


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_scene_comes_back_the_same(path: Path) -> None:
    """What a scene is dumped to reads back as the same scene."""
    scene = load(path)
    again = Scene.model_validate(json.loads(json.dumps(scene.model_dump(exclude_none=True))))
    again.settle(scene.source_path)  # a dump does not say where the files that it names lie
    assert layers(again) == layers(scene) and boards(again) == boards(scene)
    assert again.camera == scene.camera and again.sitter == scene.sitter


def conforms(value: Any, node: dict[str, Any], root: dict[str, Any]) -> bool:
    """The few words of JSON Schema (2020-12, core and validation) that the schema uses."""
    if "$ref" in node:
        return conforms(value, root["$defs"][node["$ref"].rsplit("/", 1)[1]], root)
    for word in ("anyOf", "oneOf"):
        if word in node and not any(conforms(value, choice, root) for choice in node[word]):
            return False
    if ("const" in node and value != node["const"]) or ("enum" in node and value not in node["enum"]):
        return False
    kind = node.get("type")
    if kind == "object":
        if not isinstance(value, dict) or any(key not in value for key in node.get("required", [])):
            return False
        others = node.get("additionalProperties", True)
        for key, item in value.items():
            fitting = [
                below for name, below in node.get("patternProperties", {}).items() if re.search(name, key)
            ]
            below = node.get("properties", {}).get(key, fitting[0] if fitting else others)
            if below is False or (isinstance(below, dict) and not conforms(item, below, root)):
                return False
        return True
    if kind == "array":
        size = len(value) if isinstance(value, list) else -1
        return node.get("minItems", 0) <= size <= node.get("maxItems", size) and all(
            conforms(item, node["items"], root) for item in value
        )
    if kind in ("number", "integer"):
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            return False
        low, above = node.get("minimum", value), node.get("exclusiveMinimum", float("-inf"))
        return bool(low <= value and above < value and value <= node.get("maximum", value))
    return kind is None or isinstance(value, {"string": str, "boolean": bool}[kind])


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_the_schema_takes_the_shipped_scenes(path: Path) -> None:
    root = schema.scene_schema()
    data = tomllib.loads(path.read_text())
    assert conforms(data, root, root)
    data["light"] = {"key": {"source": "disc", "diameter": -1}}
    assert not conforms(data, root, root)
    assert not conforms({"lihgt": {}}, root, root)


def test_every_key_has_a_meaning_and_every_number_a_unit() -> None:
    root = schema.scene_schema()
    tables = [root, *root["$defs"].values()]
    for table in tables:
        assert table["description"]
        for key, node in table.get("properties", {}).items():
            assert node.get("description"), (table["title"], key)
            if node.get("type") in ("number", "integer"):
                assert node["unit"], (table["title"], key)
    assert '"null"' not in json.dumps(root)
    kinds = {
        table["properties"]["source"]["const"] for table in tables if "source" in table.get("properties", {})
    }
    assert kinds == set(LIGHTS)


def test_commands_print(capsys: pytest.CaptureFixture[str]) -> None:
    parser = argparse.ArgumentParser()
    commands = parser.add_subparsers()
    check.add(commands)
    schema.add(commands)
    for words in (["schema"], *(["check", str(path)] for path in SCENES)):
        args = parser.parse_args(words)
        assert args.run(args) == 0
        printed = capsys.readouterr().out
        if words[0] == "schema":
            assert json.loads(printed)["title"] == "Scene"
        else:
            # C N^2 / (S t), ISO 2720: T2, T2.8 and T4 at ISO 800, 1/50 s
            lux = "250" if "classic" in words[1] else "62" if "oboist-5" in words[1] else "122"
            assert f"asks for {lux} lux" in printed and max(map(len, printed.splitlines())) <= 110


def test_check_warns(capsys: pytest.CaptureFixture[str]) -> None:
    text = (
        '[light.key]\nsource = "bulb"\nat = [0.05, 1, 1.25]\ndiameter = 0.05\nlumens = 900\n'
        '[light.fill]\nsource = "disc"\nat = [1, 1, 1.4]\naim = [2, 2, 1.4]\ndiameter = 0.5\nlumens = 900\n'
        '[light.top]\nsource = "panel"\nat = [0, 0.2, 2]\nwidth = 0.3\nheight = 0.3\nlumens = 900\n'
    )
    found = "\n".join(cautions(loads(text)))
    assert "light.key: is in the picture" in found
    assert "light.key: 36,476 cd/m2 at 3 degrees from the sitter's gaze" in found  # 900 / (pi^2 0.05^2)
    assert "light.fill: none of its open faces is turned to the sitter" in found
    assert "light.top: hangs by the sitter with its lowest edge at" in found
    assert "light.top: its lowest edge is 6" in found


LINES = '''# comment with = and [brackets]
title = """two
lines"""
room.width = 4

[light."a key"]
at = [
  0, # first
  1,
  2,
]
around = { azimuth = 1, distance = { deep = 2 }, "quoted key" = 'x' }
[[light."a key".skirt]]
covers = [0, 90]
[[light."a key".skirt]]
covers = [90, 180]
drop = 1
[ light . "a key" . note ]
text = "a \\" quote ] } #"
when = 1979-05-27T07:32:00Z
'''


def test_lines_of_keys() -> None:
    lines = SourceLines(LINES)
    expected: dict[tuple[str | int, ...], int] = {
        ("title",): 2,
        ("room", "width"): 4,
        ("light", "a key"): 6,
        ("light", "a key", "at"): 7,
        ("light", "a key", "at", 2): 10,
        ("light", "a key", "around", "distance", "deep"): 12,
        ("light", "a key", "around", "quoted key"): 12,
        ("light", "a key", "skirt", 0, "covers"): 14,
        ("light", "a key", "skirt", 1): 15,
        ("light", "a key", "skirt", 1, "drop"): 17,
        ("light", "a key", "note", "text"): 19,
        ("light", "a key", "note", "when"): 20,
        ("light", "a key", "missing"): 6,
    }
    tomllib.loads(LINES)
    assert {path: lines.line(path) for path in expected} == expected
    assert lines.line(("nowhere",)) is None and lines.repeated == []


WRECKS: list[Any] = [
    None, True, -1, 0, 1e300, float("nan"), 10**400, "", "1.2 m", "key", [], [1], [1, 2, 3], ["x", 1, 2],
    [[1]], {}, {"x": 1}, {"azimuth": "far"}, [{}], [{"covers": [1, 0]}, {"covers": 3}], -90.0, 360, [0, 400],
]  # fmt: skip


def wreck(node: dict[str, Any] | list[Any], source: random.Random) -> None:
    """Change one value, key or member somewhere below."""
    keys: list[Any] = list(node) if isinstance(node, dict) else list(range(len(node)))
    key = source.choice(keys)
    below = node[key]
    if isinstance(below, (dict, list)) and below and source.random() < 0.8:
        wreck(below, source)
    elif isinstance(node, dict) and source.random() < 0.3:
        node[source.choice(["raduis", "at", "covers", "wall", "source", "light", "é", "a b", key + "x"])] = (
            node.pop(key)
        )
    else:
        node[key] = copy.deepcopy(source.choice(WRECKS))


def test_wrecked_scenes_get_lines_and_no_traceback() -> None:
    """Any mapping that a TOML file could hold either is a scene or is answered by faults in words."""
    source = random.Random(5)
    originals = [tomllib.loads(path.read_text()) for path in SCENES]
    faulty = 0
    for _ in range(300):
        data = copy.deepcopy(source.choice(originals))
        for _ in range(source.randint(1, 4)):
            wreck(data, source)
        scene, faults = checked(data, None)
        faulty += bool(faults)
        assert faults or scene is not None
        assert all(text and "\n" not in text and "pydantic" not in text for _, text in faults)
        if scene is not None and not faults:
            assert layers(scene) is not None and list(cautions(scene)) is not None
    assert faulty > 200


def test_skin_has_the_luminance_it_is_given() -> None:
    """Exactly, and at the luminance of a measured subject its colour (Cooksey, Allen, Tsai, J. Res. NIST
    122:26, 2017: subject 55, linear sRGB .5498 .3371 .2245)."""
    for level in (0.02, 0.1, 0.1327, 0.2, 0.36, 0.45, 0.4615, 0.6, 0.7):
        colour = skin_colour(level)
        assert luminance(colour) == pytest.approx(level, rel=1e-12)
        assert 1 > colour[0] > colour[1] > colour[2] > 0
    assert skin_colour(luminance((0.5498, 0.3371, 0.2245))) == pytest.approx((0.5498, 0.3371, 0.2245))


LEAST_ANGLE = {"very_light": 55, "light": 41, "intermediate": 28, "tan": 10, "brown": -30, "dark": -90}


@pytest.mark.parametrize("name", TONES)
def test_tones_are_of_the_class_they_are_named_after(name: str) -> None:
    """Individual typology angle atan((L* - 50) / b*) under D65 (CIE 15, CIELAB): bounds of the six classes by
    Chardin, Cires & Hourseau, Int. J. Cosmetic Sci. 13, 1991 (from memory)."""
    red, green, blue = Sitter.model_validate({"skin_reflectance": name}).skin_rgb
    x = (0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.9505  # IEC 61966-2-1
    y = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    z = (0.0193 * red + 0.1192 * green + 0.9505 * blue) / 1.0891
    assert min(x, y, z) > 0.00886
    lightness, b = 116 * y ** (1 / 3) - 16, 200 * (y ** (1 / 3) - z ** (1 / 3))
    angle = math.degrees(math.atan2(lightness - 50, b))
    assert name == f"{name.rpartition('_')[0]}_{100 * y:.0f}"
    assert next(word for word, least in LEAST_ANGLE.items() if angle > least) == name.rpartition("_")[0]


FRUGAL = """
import sys
from renderer.errors import InputError
from renderer.scene.load import loads
try:
    loads("[light.key]\\nraduis = 1")
except InputError as fault:
    assert fault.lines
from renderer.cli import check, schema
heavy = {"numba", "numpy", "trimesh", "scipy"} & set(sys.modules)
print(*sorted(heavy))
"""


def test_an_error_needs_no_numerical_library() -> None:
    """It must answer at once (benchmarks/first_picture.py times the whole program)."""
    done = subprocess.run(
        [sys.executable, "-c", FRUGAL], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == []
