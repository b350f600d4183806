"""`halfstop match`: the sheet out and back, the scene put right, and its one-line answers."""

from __future__ import annotations

import csv
import json
import tomllib
from pathlib import Path

import match_lab
import pytest

from renderer.cli import main
from renderer.meter.expected_sheet import LINE, sheet_text
from renderer.scene.load import load
from renderer.solve.readings.metering import Metering

QUICK = ["--within", "0.02", "--threads", "2"]
SCENE = match_lab.ROOM.replace("lumens = 1500", "lumens = 1500 # as rented")


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(SCENE)
    return path


def filled(sheet: Path, column: str, off: float = 0.0, light: str = "") -> None:
    """Copies the expected values into the blanks, those of one light `off` stops."""
    with sheet.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        factor = 2.0**off if row["setting"] == f"{light} alone" else 1.0
        row["read"] = (
            row[column] if column == "in_thirds" else f"{float(row['value']) * factor:.4g} {row['in']}"
        )
        if row["in_thirds"].startswith("under"):
            row["read"] = ""
    with sheet.open("w", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys(), delimiter=";")  # as some spreadsheets do
        writer.writeheader()
        writer.writerows(rows)


def test_out_and_back(scene: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The sheet filled in with its own thirds: nothing to do."""
    out = tmp_path / "out"
    assert main(["match", str(scene), "--out", str(out), *QUICK]) == 0
    page = (out / "readings.txt").read_text()
    assert capsys.readouterr().out.startswith(page)
    assert len(page.splitlines()) <= 66 and max(map(len, page.splitlines())) <= 92  # an A4 page at ten points
    with (out / "readings.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    marks = ("back_wall", "nose", "shadow", "top", "low", "right")
    assert [row["mark"] for row in rows] == 4 * list(marks)
    assert all(row["read"] == "" for row in rows)
    assert main(["match", str(scene), str(out / "readings.csv"), *QUICK]) == 2
    assert "no reading in it" in capsys.readouterr().err
    filled(out / "readings.csv", "in_thirds")
    given = ["--free", "walls, outputs, meter"]
    assert main(["match", str(scene), str(out / "readings.csv"), *given, *QUICK]) == 0
    last = capsys.readouterr().out.strip().splitlines()[-1]
    assert last.startswith("Nothing to do: all readings are as planned within their errors")


def test_many_lights_stand_in_two_columns() -> None:
    """Nine lights at six marks on a page on its side; every row has its line to write on."""
    lamp = 'source = "bulb"\ndiameter = 0.1\nlumens = 90\n'
    lights = "".join(f"[light.lamp{i}]\nat = [{0.3 * i - 1.2:.1f}, -1.5, 2.0]\n{lamp}" for i in range(6))
    of = match_lab.scene(match_lab.ROOM + lights)
    found = Metering.traced(of, 0.2, 0, 2)
    lines = sheet_text(of.title, found.settings(), found.marks, of.camera).splitlines()
    assert len(lines) <= 60 and max(map(len, lines)) <= 160
    text = "\n".join(lines)
    assert all(f"{i + 1} {name} alone" in text for i, name in enumerate(found.lights))
    assert text.count(LINE) == 10 * 6


def test_the_scene_put_right(scene: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Half a stop less of one lamp: said, and written where the scene says it, with its comments kept."""
    sheet, out = tmp_path / "out" / "readings.csv", tmp_path / "matched"
    assert main(["match", str(scene), "--out", str(sheet.parent), *QUICK]) == 0
    filled(sheet, "value", -0.5, "key")
    text = sheet.read_text()
    sheet.write_text("\n".join(line for line in text.splitlines() if not line.startswith("all ")))
    capsys.readouterr()
    given = [str(scene), str(sheet), "--free", "outputs, walls, meter", "--out", str(out), *QUICK]
    assert main(["match", *given]) == 0
    printed = capsys.readouterr().out
    assert "  1. Key gives 0." in printed and "less than the scene says, and is at full" in printed
    made = (out / "room.toml").read_text()
    assert "# as rented" in made and "# as painted, they say" in made
    data = json.loads((out / "match.json").read_text())
    key = next(it for it in data["assumptions"] if it["name"] == "key.output")
    assert load(out / "room.toml").light["key"].lumens == pytest.approx(1500 * 2 ** key["estimate"], rel=1e-3)
    assert key["off"] and key["estimate"] == pytest.approx(-0.5, abs=3 * key["error"])
    (cause,) = data["fewest_that_explain"]
    assert cause["name"] == "key.output"
    assert cause["estimate"] == pytest.approx(-0.5, abs=2 * cause["error"])
    with (out / "match.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(data["readings"])
    for row in rows:
        assert abs(float(row["left_stops"])) < 0.1


def test_a_table_that_the_file_leaves_out(scene: Path, tmp_path: Path) -> None:
    """Reflectances by default are written as a table of their own."""
    start, end = SCENE.index("[room.reflectance]"), SCENE.index("[light.key]")
    scene.write_text(SCENE[:start] + SCENE[end:])
    sheet = tmp_path / "said.csv"
    sheet.write_text("all,nose,212 lux\nkey,low,23 lux\nkey,top,120 lux\n")
    out = tmp_path / "out"
    given = ["--free", "walls, ceiling", "--out", str(out), *QUICK]
    assert main(["match", str(scene), str(sheet), *given]) == 0
    found = tomllib.loads((out / "room.toml").read_text())["room"]["reflectance"]
    assert set(found) == {"back", "front", "camera_left", "camera_right", "ceiling"}


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (["nowhere.csv"], "nowhere.csv: no such file; `halfstop match SCENE --out DIR` writes a blank one"),
        (["said.csv", "--free", "kye.output"], 'did you mean "key.output"?'),
        (["said.csv", "--meter-error", "0"], "expected 0.01 to 1 stops; got 0"),
        (["said.csv", "--out", "."], "the scene itself lies there"),
        (["face.csv"], "line 1: the scene has no reading at face: nobody sits there"),
        (["wrong.csv"], 'wrong.csv:2: no light is called "kee"; did you mean "key"?'),
        (["room.toml"], "room.toml:"),
        (["--free", "walls"], "expected READINGS, a CSV filled in"),
    ],
)
def test_nonsense_is_answered_in_one_line(
    given: list[str],
    words: str,
    scene: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("said.csv").write_text("all,nose,T4\n")
    Path("face.csv").write_text("all,face,T4\n")
    Path("wrong.csv").write_text("all,nose,T4\nkee,nose,T4\n")
    try:
        assert main(["match", "room.toml", *given]) == 2
    except SystemExit as end:
        assert end.code == 2
    (line,) = (line for line in capsys.readouterr().err.strip().splitlines() if "tracing" not in line)
    assert words in line
    assert scene.read_text() == SCENE
