"""`halfstop balance`: its tables, its files, and its one-line answers."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from renderer.cli import main
from renderer.scene.load import load

SCENE = """# a wall of comments
[light.key]
source = "disc"
around = { azimuth = 45, distance = 1.2, height = 1.8 }
diameter = 0.6
lumens = 1500 # as rented
[light.warm]
source = "bulb"
purpose = "fill"
around = { azimuth = -60, distance = 1.2, height = 1.3 }
diameter = 0.1
lumens = 300
[mark.chest]
at = [0.0, 0.3, 0.95]
facing = "key"
"""
LEVEL = ["--want", "level.chest.lux=[40, 60]", "--within", "0.1"]


def test_table_and_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    scene = tmp_path / "two.toml"
    scene.write_text(SCENE)
    out = tmp_path / "out"
    wanted = ["--want", "lighting_ratio=3:1"]
    assert main(["balance", str(scene), "--out", str(out), *wanted, *LEVEL]) == 0
    printed = capsys.readouterr().out
    assert "Every target is met." in printed and "level at chest  40 to 60 lux" in printed
    data = json.loads((out / "balance.json").read_text())
    assert data["met"] and [it["light"] for it in data["lights"]] == ["key", "warm"]
    made = (out / "two.toml").read_text()
    assert "# a wall of comments" in made and "# as rented" in made
    solved = load(out / "two.toml")
    for light in data["lights"]:
        assert solved.light[light["light"]].dim == pytest.approx(light["after"], abs=1e-4)
    # the solved scene, asked again, is left as it is: its own meter agrees
    assert main(["balance", str(out / "two.toml"), *wanted, *LEVEL, "--json"]) == 0
    again = json.loads(capsys.readouterr().out)
    for light in again["lights"]:
        assert abs(light["change_stops"]) < 0.02


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (["--want", "lighting_ratio"], "--want lighting_ratio: expected TARGET=VALUE"),
        (["--want", "lighting_ratoi=4:1"], 'did you mean "lighting_ratio"?'),
        (["--want", "level.chset.lux=40"], 'there is no mark "chset"; did you mean "chest"?'),
        (["--want", "level.chest.lux=-4"], "lux above 0"),
        (["--want", "level.chest.lux=nan"], "target.level.chest.lux: expected"),
        (["--want", "level.chest=40"], "a level of what? expected one of level.chest.lux, "),
        ([*LEVEL, "--want", "level.chest.t_stop=2.8"], "level.chest is given twice"),
        ([*LEVEL, "--free", "key"], "--free key: is no window and dimmed in any case (windows: none)"),
        (["--want", "background=3"], "expected [low, high]"),
        ([*LEVEL, "--hold", "kye"], '--hold: no light is called "kye"; did you mean "key"?'),
        ([*LEVEL, "--limit", "key=0.2"], "expected LIGHT=LOW..HIGH, such as key=0.2..0.8"),
        ([*LEVEL, "--limit", "key=0.2..1.5"], "expected 0..1"),
        ([], "the scene has no target: expected a [target] in it, or --want"),
        ([*LEVEL, "--out", "."], "the scene itself lies there"),
    ],
)
def test_nonsense_is_answered_in_one_line(
    given: list[str],
    words: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    scene = tmp_path / "two.toml"
    scene.write_text(SCENE)
    monkeypatch.chdir(tmp_path)
    assert main(["balance", "two.toml", *given]) == 2
    (line,) = capsys.readouterr().err.strip().splitlines()
    assert words in line
    assert tomllib.loads(scene.read_text())  # untouched


def test_a_target_that_cannot_be_judged_is_a_fault_and_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    scene = tmp_path / "two.toml"
    scene.write_text(SCENE)
    wanted = ["--want", "glare_margin_min=3", "--within", "0.3", "--out", str(tmp_path / "out")]
    assert main(["balance", str(scene), *wanted]) == 2
    assert "target.glare_margin_min: cannot be judged" in capsys.readouterr().err.splitlines()[-1]
    assert not (tmp_path / "out").exists()
