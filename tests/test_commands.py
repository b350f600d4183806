"""The command line on real input: a preview's files, mixing anew, the meter, and faults with nothing lost."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from two_lamps import SCENE

from renderer.cli import main
from renderer.errors import InputError
from renderer.picture.exr import read_layers

ROOT = Path(__file__).parent.parent
FILES = (
    *("preview.png", "stops.png", "incident.png", "key.png", "patches.png", "eyes.png"),
    *("layers.exr", "eyes.exr", "numbers.json"),
)


@pytest.fixture(scope="module")
def traced(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("traced")
    (folder / "scene.toml").write_text(SCENE)
    arguments = ["preview", str(folder / "scene.toml"), "--out", str(folder / "out"), "--within", "0.2"]
    assert main(arguments) == 0
    return folder


def numbers_of(folder: Path) -> dict:  # type: ignore[type-arg]
    return json.loads((folder / "numbers.json").read_text())  # type: ignore[no-any-return]


def test_files_of_a_preview(traced: Path) -> None:
    out = traced / "out"
    assert sorted(path.name for path in out.iterdir()) == sorted(FILES)
    with Image.open(out / "preview.png") as picture:
        assert picture.size == (64, 80)
        assert picture.info["Title"] == "Two lamps"
        assert json.loads(picture.info["Settings"])["seed"] == 0
        assert json.loads(picture.info["Scene"])["light"]["key"]["diameter"] == 0.6
    layers, _ = read_layers(out / "layers.exr")
    assert {"key", "warm"} <= layers.keys()
    # layers are at full dimmer and neutral: their weighted sum is the picture in the same file
    numbers = numbers_of(out)
    from renderer.film.mix import Fader

    total = sum(
        layers[f["name"]] * Fader(f["name"], dim=f["dim"], cct=f["cct"]).weight() for f in numbers["mix"]
    )
    np.testing.assert_allclose(total, layers[""], rtol=1e-5, atol=1e-6)


def test_every_number_has_unit_meaning_and_error(traced: Path) -> None:
    numbers = numbers_of(traced / "out")

    def readings(node: object) -> list[dict]:  # type: ignore[type-arg]
        if isinstance(node, dict):
            if "value" in node:
                return [node]
            return [found for child in node.values() for found in readings(child)]
        return []

    found = readings(numbers["marks"]) + readings(numbers["measures"])
    assert len(found) > 40
    for reading in found:
        assert reading["unit"] and reading["meaning"] and "error" in reading
    assert {"face", "key_cheek", "shadow_cheek", "back_wall", "chest"} <= numbers["marks"].keys()
    shares = numbers["marks"]["chest"]["share"]
    assert sum(share["value"] for share in shares.values()) == pytest.approx(1.0, abs=1e-5)


def test_mixing_is_exact_and_traces_nothing(
    traced: Path, tmp_path: Path, capsys: pytest.CaptureFixture
) -> None:  # type: ignore[type-arg]
    """Halving all dimmers moves every level by exactly one stop and no ratio (common practice, no source)."""
    half = ["--dim", "key=0.5", "--dim", "warm=0.5"]
    assert main(["mix", str(traced / "out"), "--out", str(tmp_path / "half"), *half]) == 0
    before, after = numbers_of(traced / "out"), numbers_of(tmp_path / "half")
    for name, mark in before["marks"].items():
        changed = after["marks"][name]
        assert changed["level"]["value"] == pytest.approx(0.5 * mark["level"]["value"], rel=2e-5)
        assert changed["stops_from_exposure"]["value"] == pytest.approx(
            mark["stops_from_exposure"]["value"] - 1.0, abs=2e-5
        )
        for light, share in mark["share"].items():
            assert changed["share"][light]["value"] == pytest.approx(share["value"], abs=2e-5)
    ratio = before["measures"]["lighting_ratio"]["value"]
    assert after["measures"]["lighting_ratio"]["value"] == pytest.approx(ratio, rel=2e-5)
    a, _ = read_layers(traced / "out" / "layers.exr")
    b, _ = read_layers(tmp_path / "half" / "layers.exr")
    np.testing.assert_array_equal(a["key"], b["key"])  # layers stay at full dimmer
    np.testing.assert_allclose(b[""], 0.5 * a[""], rtol=1e-6)


def test_solo_mute_and_colour(traced: Path, tmp_path: Path) -> None:
    out = str(traced / "out")
    assert main(["mix", out, "--out", str(tmp_path / "solo"), "--solo", "warm"]) == 0
    assert main(["mix", out, "--out", str(tmp_path / "mute"), "--mute", "key"]) == 0
    solo, mute = numbers_of(tmp_path / "solo"), numbers_of(tmp_path / "mute")
    assert solo["marks"] == mute["marks"]
    assert solo["marks"]["face"]["share"]["key"]["value"] == 0.0
    # a change of colour temperature keeps the light level where surfaces are neutral enough
    assert main(["mix", out, "--out", str(tmp_path / "warm"), "--cct", "key=3200"]) == 0
    warm, before = numbers_of(tmp_path / "warm"), numbers_of(traced / "out")
    straight = [n["marks"]["chest"]["direct_share"]["key"]["value"] for n in (warm, before)]
    level = [n["marks"]["chest"]["level"]["value"] for n in (warm, before)]
    assert straight[0] * level[0] == pytest.approx(straight[1] * level[1], rel=1e-4)


def same(one: Any, other: Any) -> bool:
    """Equal but for the last of the six figures that a number is written with."""
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(value, other[key]) for key, value in one.items())
    if isinstance(one, list):
        return len(one) == len(other) and all(same(a, b) for a, b in zip(one, other, strict=True))
    return one == (pytest.approx(other, rel=1e-5) if isinstance(one, float) else other)


def test_the_traced_mix_equals_the_mixed_trace(traced: Path, tmp_path: Path) -> None:
    """Same seed, dimmed before tracing or after: the same layers give the same numbers."""
    scene = traced / "dimmed.toml"
    scene.write_text(SCENE.replace("lumens = 1500", "lumens = 1500\ndim = 0.25"))
    run = ["--within", "0.2", "--time", "0.1"]
    assert main(["preview", str(scene), "--out", str(tmp_path / "a"), *run]) == 0
    assert main(["preview", str(traced / "scene.toml"), "--out", str(tmp_path / "b"), *run]) == 0
    assert main(["mix", str(tmp_path / "b"), "--dim", "key=0.25"]) == 0
    a, b = numbers_of(tmp_path / "a"), numbers_of(tmp_path / "b")
    assert a["marks"].keys() == b["marks"].keys()
    for name, mark in a["marks"].items():
        assert same(mark, b["marks"][name]), name


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (["compare", "a.toml", "b.toml", "--for-clients"], "did you mean --for-client?"),
        (["preview", "--seconds", "5"], "did you mean --time?"),
        (["preview", "--out", ""], "expected the name of a folder; got nothing"),
    ],
)
def test_a_misspelt_option_is_answered_by_its_command(
    arguments: list[str], line: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.argv", ["halfstop", *arguments])
    with pytest.raises(SystemExit) as left:
        main(arguments)
    answer = capsys.readouterr().err
    assert left.value.code == 2 and line in answer and len(answer.strip().splitlines()) == 1


def test_meter_reads_without_a_picture(traced: Path, capsys: pytest.CaptureFixture) -> None:  # type: ignore[type-arg]
    capsys.readouterr()
    assert main(["meter", str(traced / "scene.toml"), "--within", "0.05", "--json"]) == 0
    read = json.loads(capsys.readouterr().out)
    before = numbers_of(traced / "out")["marks"]["chest"]["level"]
    now = read["marks"]["chest"]["level"]
    error = 4.0 * float(np.hypot(now["error"], before["error"]))
    assert now["value"] == pytest.approx(before["value"], abs=error)


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (["mix", "nowhere"], "cannot be read"),
        (["mix", "OUT", "--dim", "kye=0.5"], 'no light is called "kye"; did you mean "key"?'),
        (["mix", "OUT", "--dim", "key=-1"], "--dim key=-1: expected 0 to 100"),
        (["mix", "OUT", "--dim", "key=1e39"], "--dim key=1e+39: expected 0 to 100"),
        (
            ["mix", "OUT", "--colour", "key=1e300,1,1"],
            "--colour key=1e+300,1,1: expected factors from 0 to 100",
        ),
        (["mix", "OUT", "--dim", "key"], "expected LIGHT=VALUE"),
        (["mix", "OUT", "--cct", "key=3200", "--cct", "key=5600"], "key is given twice"),
        (["mix", "OUT", "--solo", "key", "--mute", "key"], "all are muted too"),
        (["mix", "OUT", "--cct", "key=100"], "expected 1500 to 20000 kelvin"),
        (["mix", "OUT", "--colour", "key=1,2"], "expected three factors"),
        (["preview", "SCENE", "--out", "SCENE"], "expected a folder"),
        (["preview", "SCENE", "--solo", "nobody"], "no light is called"),
    ],
)
def test_faults_are_one_line(
    traced: Path,
    capsys: pytest.CaptureFixture,  # type: ignore[type-arg]
    arguments: list[str],
    line: str,
) -> None:
    named = {"OUT": str(traced / "out"), "SCENE": str(traced / "scene.toml")}
    before = {path: path.read_bytes() for path in (traced / "out").iterdir()}
    capsys.readouterr()
    assert main([named.get(word, word) for word in arguments]) == 2
    answer = capsys.readouterr().err
    assert line in answer and len(answer.strip().splitlines()) == 1
    assert {path: path.read_bytes() for path in (traced / "out").iterdir()} == before


def test_a_mix_at_the_ends_of_its_range(traced: Path, tmp_path: Path) -> None:
    """Every dimmer and factor at its most: ten thousand times the light, which is linear; and at none."""
    arguments = ["mix", str(traced / "out"), "--out", str(tmp_path / "most")]
    for name in ("key", "warm"):
        arguments += ["--dim", f"{name}=100", "--colour", f"{name}=100,100,100"]
    assert main(arguments) == 0
    before, after = (
        read_layers(folder / "layers.exr")[0][""] for folder in (traced / "out", tmp_path / "most")
    )
    np.testing.assert_allclose(after, 1e4 * before, rtol=1e-5)
    arguments = ["mix", str(traced / "out"), "--out", str(tmp_path / "none"), "--dim", "warm=0"]
    assert main([*arguments, "--dim", "key=1e-300"]) == 0


def test_a_failure_leaves_the_folder_whole(
    traced: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture,  # type: ignore[type-arg]
) -> None:
    for name in FILES:
        (tmp_path / name).write_bytes((traced / "out" / name).read_bytes())
    (tmp_path / "stops.png").unlink()
    (tmp_path / "stops.png").mkdir()
    before = {path: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()}
    assert main(["mix", str(tmp_path), "--dim", "key=0.5"]) == 2
    assert "stops.png: cannot be written: it is a folder" in capsys.readouterr().err
    assert {path: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()} == before


def test_the_picture_is_there_before_the_rest(
    traced: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture,  # type: ignore[type-arg]
) -> None:
    """What is written first is the picture of the whole; where the rest fails, the folder is as it was."""
    early = []

    def fails(*_: object) -> None:
        early.append((tmp_path / "preview.png").read_bytes())
        raise InputError("the face cannot be measured")

    monkeypatch.setattr("renderer.preview.trace_face", fails)
    arguments = ["preview", str(traced / "scene.toml"), "--out", str(tmp_path), "--within", "0.2"]
    assert main(arguments) == 2
    assert f"{tmp_path / 'preview.png'} is there" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())
    (tmp_path / "preview.png").write_bytes(b"of yesterday")
    assert main(arguments) == 2
    assert (tmp_path / "preview.png").read_bytes() == b"of yesterday"
    for pixels in early:
        with Image.open(BytesIO(pixels)) as first, Image.open(traced / "out" / "preview.png") as last:
            assert (np.asarray(first) == np.asarray(last)).all()


def test_a_damaged_record_is_refused(traced: Path, tmp_path: Path, capsys: pytest.CaptureFixture) -> None:  # type: ignore[type-arg]
    for name in FILES:
        (tmp_path / name).write_bytes((traced / "out" / name).read_bytes())
    (tmp_path / "layers.exr").write_bytes(b"no picture")
    assert main(["mix", str(tmp_path)]) == 2
    (tmp_path / "numbers.json").write_text('{"format": 1}')
    (tmp_path / "layers.exr").write_bytes((traced / "out" / "layers.exr").read_bytes())
    assert main(["mix", str(tmp_path)]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_a_card_that_is_not_there(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from renderer.film import device

    monkeypatch.setattr(device, "card_lacks", lambda: "no graphics card with CUDA was found")
    assert main(["meter", "--on", "gpu", "--within", "1"]) == 2
    said = capsys.readouterr().err.strip().splitlines()
    assert said[-1] == "--on gpu: no graphics card with CUDA was found; leave --on out to use the processor"


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C of another process")
@pytest.mark.parametrize("command", ["preview", "brief"])
def test_an_interrupt_keeps_the_preview_and_tells_the_shell(command: str, tmp_path: Path) -> None:
    """Exit code 128 + SIGINT, as shells have it; no brief is made of half a tracing."""
    program = [sys.executable, "-m", "renderer", command, "--out", str(tmp_path), "--size", "160x200"]
    with (tmp_path / "told").open("w") as told:
        process = subprocess.Popen(
            [*program, "--within", "0.002"], cwd=ROOT, stdout=subprocess.DEVNULL, stderr=told
        )
        end = time.monotonic() + 300.0
        while "stop" not in (tmp_path / "told").read_text() and time.monotonic() < end:  # after a pass
            time.sleep(0.1)
        process.send_signal(signal.SIGINT)
        assert process.wait(120) == 130
    assert (tmp_path / "preview.png").exists() and (tmp_path / "numbers.json").exists()
    assert not (tmp_path / "brief.pdf").exists()
    assert "Traceback" not in (tmp_path / "told").read_text()
