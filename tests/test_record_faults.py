"""Numbers of a preview that were edited by hand: each fault is one line that names its place."""

from __future__ import annotations

import io
import json
import os
import shutil
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from renderer.cli import main
from renderer.errors import InputError
from renderer.film.layers import Layers
from renderer.film.mix import Fader, Mix
from renderer.film.pool import Pool
from renderer.kernels.layout import SEEN
from renderer.record import read
from renderer.record.plane import planes_of

SCENE = """
[room]
width = 4
depth = 4
height = 2.5
back_wall = 1.5
[camera]
picture = [64, 80]
[light.key]
source = "disc"
around = { azimuth = 45, distance = 1.2, height = 1.8 }
diameter = 0.6
lumens = 1500
"""
Data = dict[str, Any]


@pytest.fixture(scope="module")
def traced(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("traced")
    (folder / "scene.toml").write_text(SCENE)
    assert main(["preview", str(folder / "scene.toml"), "--out", str(folder / "out"), "--within", "0.5"]) == 0
    return folder / "out"


def put(*keys: str | int, value: Any) -> Callable[[Data], None]:
    def edit(data: Data) -> None:
        inner: Any = data
        for key in keys[:-1]:
            inner = inner[key]
        inner[keys[-1]] = value

    return edit


FAULTS = [
    (put("marks", value=[]), "marks: expected a table in braces; got []"),
    (
        put("marks", "face", "meter", value="cube"),
        "marks.face.meter: expected one of 'flat', 'dome' or 'spot'",
    ),
    (put("marks", "face", "at_m", value=[0, 1]), "marks.face.at_m: expected at least 3 values; got [0, 1]"),
    (put("mix", 0, "dim", value="x"), 'mix[1].dim: expected a number; got "x"'),
    (put("mix", 0, "dim", value=1e39), "mix[1].dim: expected at most 10000; got 1e+39"),
    (put("mix", 0, "cct", value=-5), "mix[1].cct: expected 1000 or more; got -5"),
    (put("mix", 0, "name", value="sun"), 'the layers have no "sun", which numbers.json names'),
    (put("mix", value={}), "mix: expected a list in brackets; got a table"),
    (put("mix", value=[]), "mix: expected at least 1 values; got []"),
    (put("not_given_by_marks", value=5), "not_given_by_marks: expected a list in brackets; got 5"),
    (put("tracing", "passes", value="x"), 'tracing.passes: expected a whole number; got "x"'),
    (put("tracing", value=None), "tracing: expected a table in braces; got nothing"),
    (put("eyes", value=4), "eyes: expected a table in braces; got 4"),
    (put("replicas", "values", 1, value=[1.0]), "replicas.values[2]: expected "),
    (
        put("replicas", "values", 0, 0, value=1e300),
        "replicas.values[1][1]: expected at most 1e+15; got 1e+300",
    ),
    (put("face", value=3), "face: expected a table in braces; got 3"),
    (put("face", "key", value=7), "face.key: expected 0 to 0, the number of a light; got 7"),
    (put("face", "light", value=[1.0]), "face.light: expected "),
    (put("face", "catchlights", value=[{}]), "face.catchlights[1].eye: missing"),
    (lambda data: data.pop("scene"), "scene: missing; expected it as the preview wrote it"),
    (put("scene", "light", "key", "lumens", value="many"), "scene.light.key.lumens: expected lumens"),
]


@pytest.mark.parametrize(("edit", "line"), FAULTS, ids=[line[:40] for _, line in FAULTS])
def test_edited_numbers(traced: Path, tmp_path: Path, edit: Callable[[Data], Any], line: str) -> None:
    for path in traced.iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    data = json.loads((traced / "numbers.json").read_text())
    edit(data)
    (tmp_path / "numbers.json").write_text(json.dumps(data))
    with pytest.raises(InputError) as caught:
        read(tmp_path)
    assert len(caught.value.lines) == 1 and line in caught.value.lines[0]
    assert caught.value.lines[0].startswith(str(tmp_path))


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (b'{"format": 2,\n "mix" 3}', "numbers.json:2: is no valid JSON at column 8"),
        (b"[" * 100_000, "numbers.json: is no valid JSON"),
        (b"\xff\xfe{", "numbers.json: is no valid JSON"),
        (b'{"format": ' + b"1" * 5000 + b"}", "numbers.json: is no valid JSON"),
        (b'{"format": 1}', "expected the numbers of a preview, format 2"),
    ],
)
def test_no_numbers(tmp_path: Path, content: bytes, line: str) -> None:
    (tmp_path / "numbers.json").write_bytes(content)
    with pytest.raises(InputError) as caught:
        read(tmp_path)
    assert str(caught.value).endswith(line)


@pytest.mark.parametrize("names", [("seen",), ("a", "a bounced"), ("a arriving", "a"), ("a", "a"), ("",)])
def test_no_plane_is_kept_under_the_name_of_another(names: tuple[str, ...]) -> None:
    shape = (len(names), 2, 2, 3)
    mix = Mix(tuple(Fader(name) for name in names))
    empty = np.zeros(shape, np.float32)
    layers = Layers(
        mix,
        empty,
        empty,
        empty,
        np.zeros((2, 2), SEEN),
        np.zeros((2, 0, len(names), 2, 3)),
        0,
        1,
        4,
        1,
        0,
        True,
    )
    with pytest.raises(InputError, match="would be kept under the name of another; give the light another"):
        planes_of(layers)


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C of this process")
@pytest.mark.parametrize("command", ["preview", "mix"])
def test_an_interrupt_while_files_are_written(
    command: str, traced: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The set is whole and new, nothing is left beside it, and the exit code is 128 + SIGINT."""
    folder = shutil.copytree(traced, tmp_path / "out")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    replace = os.replace

    def pressed(part: Path, path: Path) -> None:
        if path.name == "stops.png":
            os.kill(os.getpid(), signal.SIGINT)
        replace(part, path)

    monkeypatch.setattr(Pool, "interrupts", 0)
    monkeypatch.setattr(os, "replace", pressed)
    what = [str(traced.parent / "scene.toml"), "--within", "0.5"] if command == "preview" else [str(traced)]
    assert main([command, *what, "--out", str(folder), "--dim", "key=0.5"]) == 130
    after = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert after.keys() == before.keys()
    assert all(after[name] != before[name] for name in ("preview.png", "stops.png", "numbers.json"))
    assert read(folder).layers.mix.faders[0].dim == 0.5


def test_a_title_may_be_any_text(tmp_path: Path) -> None:
    scene = tmp_path / "scene.toml"
    scene.write_text('title = "@"\nnote = "@face"\n' + SCENE)
    assert main(["preview", str(scene), "--out", str(tmp_path / "out"), "--within", "0.5"]) == 0
    kept = read(tmp_path / "out").scene
    assert (kept.title, kept.note) == ("@", "@face")


def test_a_folder_in_the_place_of_a_file_of_another_scene(tmp_path: Path) -> None:
    """With nobody there no eyes are written; a folder called eyes.png is somebody's, and stays."""
    scene = tmp_path / "scene.toml"
    scene.write_text(SCENE + '[sitter]\nmesh = "none"\n')
    (tmp_path / "out" / "eyes.png").mkdir(parents=True)
    assert main(["preview", str(scene), "--out", str(tmp_path / "out"), "--within", "0.5"]) == 0
    assert (tmp_path / "out" / "preview.png").is_file() and (tmp_path / "out" / "eyes.png").is_dir()


def test_a_reader_that_leaves_changes_no_file(
    traced: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`halfstop preview ... | head`: the numbers have nowhere to go, the files are written all the same."""

    def gone(preview: object) -> list[str]:
        raise BrokenPipeError

    folder = shutil.copytree(traced, tmp_path / "out")
    before = (folder / "preview.png").read_bytes()
    monkeypatch.setattr("renderer.cli.table.lines_of", gone)
    monkeypatch.setattr("sys.stderr", io.StringIO())  # which is closed then
    scene = str(traced.parent / "scene.toml")
    assert main(["preview", scene, "--within", "0.5", "--out", str(folder), "--dim", "key=0.5"]) == 1
    assert (folder / "preview.png").read_bytes() != before
    assert read(folder).layers.mix.faders[0].dim == 0.5
