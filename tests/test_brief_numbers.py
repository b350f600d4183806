"""Every number of a brief is that of the preview beside it, and T-stops are those of ISO 2720."""

from __future__ import annotations

import csv
import json
import math
import re
from pathlib import Path

import brief_lab
import pytest
from pypdf import PdfReader

from renderer.cli import main

LIGHTS = ("key", "edge", "wall", "street")
C = {"flat": 250.0, "dome": 340.0}
K = 12.5
"""Constants in wide use within the ranges that ISO 2720:1974 allows."""
FULL = ("0.5", "0.7", "1", "1.4", "2", "2.8", "4", "5.6", "8", "11", "16", "22", "32", "45", "64")


def test_marks_and_measures_are_those_of_the_preview() -> None:
    numbers, data = brief_lab.numbers(), brief_lab.data()
    together = next(it for it in data["readings"]["settings"] if it["on"] == "all together")["readings"]
    assert together.keys() == numbers["marks"].keys()
    for name, mark in numbers["marks"].items():
        for key in ("level", "ev100", "stops_from_exposure", "t_stop"):
            assert together[name][key] == mark[key], (name, key)
    assert data["measures"] == numbers["measures"]
    assert data["constants"] == numbers["constants"]
    assert data["scene"] == numbers["scene"]


@pytest.mark.parametrize("light", LIGHTS)
def test_a_light_alone_is_the_preview_mixed_with_it_alone(light: str, tmp_path: Path) -> None:
    if light == "key":  # the long way once: files of the mix; the others by the shares of the same numbers
        assert main(["mix", str(brief_lab.folder()), "--out", str(tmp_path), "--solo", light]) == 0
        solo = json.loads((tmp_path / "numbers.json").read_text())["marks"]
        expected = {name: (mark["level"]["value"], 1e-9) for name, mark in solo.items()}
    else:
        marks = brief_lab.numbers()["marks"]
        expected = {
            name: (mark["level"]["value"] * mark["share"][light]["value"], 2e-5)
            for name, mark in marks.items()
        }
    alone = next(it for it in brief_lab.data()["readings"]["settings"] if it["on"] == f"{light} alone")
    for name, (value, within) in expected.items():
        assert alone["readings"][name]["level"]["value"] == pytest.approx(value, rel=within, abs=1e-9)


def test_the_printed_table_is_the_data_rounded() -> None:
    head, *rows = brief_lab.table("on")
    data = brief_lab.data()["readings"]
    letters = {mark["letter"]: name for name, mark in data["marks"].items()}
    settings = {it["on"]: it["readings"] for it in data["settings"]}
    checked = 0
    for row in rows:
        readings = settings[re.sub(r"^\d+ ", "", row[0])]
        for title, cell in zip(head[1:], row[1:], strict=True):
            level, t_stop, *blank = cell.split("\n")
            reading = readings[letters[title.split()[0]]]
            assert title.endswith(reading["level"]["unit"])
            value, error = level.split(" ±")
            least = 10.0 ** -len(error.partition(".")[2])  # nothing is known better than it is printed
            errors = max(reading["level"]["error"], least)
            for printed, exact in ((value, reading["level"]["value"]), (error, errors)):
                half = 0.5 * 10.0 ** -len(printed.partition(".")[2])
                assert abs(float(printed) - exact) <= half * (1.0 + 1e-6) + 1e-6 * exact
            assert t_stop == reading["t_stop"]["in_thirds"]
            assert set("".join(blank)) == {"."}
            checked += 1
    assert checked == len(settings) * len(letters) == 5 * 8


def test_the_pdf_prints_the_same_cells() -> None:
    text = "".join(page.extract_text() for page in PdfReader(brief_lab.folder() / "brief.pdf").pages)
    _, *rows = brief_lab.table("on")
    for row in rows:
        for cell in row[1:]:
            level, t_stop, *_ = cell.split("\n")
            assert level in text and t_stop in text


def thirds(words: str) -> float:
    """Stops from T1 of "T2.8 +1/3"."""
    found = re.fullmatch(r"T([\d.]+)(?: \+(\d)/3)?", words)
    assert found is not None
    return FULL.index(found[1]) - FULL.index("1") + int(found[2] or 0) / 3.0


def test_t_stops_follow_iso_2720() -> None:
    """N = sqrt(E S t / C), of a spot meter sqrt(L S t / K): ISO 2720:1974; to the nearest third of a stop."""
    data = brief_lab.data()
    iso, shutter = data["camera"]["iso"], data["camera"]["shutter"]
    checked = 0
    for setting in data["readings"]["settings"]:
        for name, reading in setting["readings"].items():
            constant = C.get(data["readings"]["marks"][name]["meter"], K)
            n = math.sqrt(reading["level"]["value"] * iso * shutter / constant)
            assert reading["t_stop"]["value"] == pytest.approx(n, rel=1e-5)
            if n > 0.52:
                assert abs(thirds(reading["t_stop"]["in_thirds"]) - 2.0 * math.log2(n)) <= 1.0 / 6.0 + 1e-6
                checked += 1
    assert checked > 20


def test_the_csv_holds_the_same() -> None:
    with (brief_lab.folder() / "readings.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    settings = {it["on"]: it["readings"] for it in brief_lab.data()["readings"]["settings"]}
    assert len(rows) == 5 * 8
    for row in rows:
        assert float(row["value"]) == settings[row["setting"]][row["mark"]]["level"]["value"]
        assert row["read"] == ""
    with (brief_lab.folder() / "schedule.csv").open(encoding="utf-8-sig", newline="") as file:
        units = list(csv.DictReader(file))
    assert [unit["name"] for unit in units] == [
        *("light.key", "light.edge", "light.wall", "room.window.street", "card.lap", "flag.side"),
    ]
    key = units[0]
    # 0.85 m out at 45 degrees, 2.0 m high (plane geometry)
    for axis in ("x_m", "y_m"):
        assert float(key[axis]) == pytest.approx(0.85 * math.sqrt(0.5), abs=1e-4)
    assert float(key["elevation_deg"]) == pytest.approx(math.degrees(math.atan2(0.8, 0.85)), abs=0.01)
    assert float(key["lowest_m"]) == pytest.approx(2.0 - 0.175 - 0.1, abs=1e-4)


def test_sums_are_those_of_the_rigging_figures() -> None:
    """230 V x 16 A, continuous: 80 % of the breaker may be drawn, NEC 210.20(A); P = V I."""
    power = brief_lab.table("circuit")
    rows = {row[0]: row for row in power[1:]}
    assert rows["a"][2:5] == ["60 W", f"{60 / 230:.2f} A", "12.80 A of 16 A"]
    assert rows["b"][2:5] == ["150 W", f"{150 / 230:.2f} A", "0.40 A of 0.5 A"]
    # the boom: 3.5 kg at 1 m and its own 3 kg at 0.2 m, held by a weight at 0.5 m (equal moments)
    support = brief_lab.table("support")
    assert pytest.approx(8.2) == (3.5 * 1.0 + 3.0 * 0.2) / 0.5
    assert support[1][3].startswith("8.2 kg balance it")


def test_a_mix_of_a_folder_is_briefed_as_it_is_mixed(tmp_path: Path) -> None:
    arguments = [
        "brief",
        str(brief_lab.folder()),
        "--out",
        str(tmp_path),
        "--dim",
        "key=0.5",
        "--within",
        "2",
    ]
    assert main(arguments) == 0
    data = json.loads((tmp_path / "brief.json").read_text())
    before = brief_lab.data()["readings"]["settings"]
    after = data["readings"]["settings"]
    assert data["units"][0]["dimmer"] == 0.5
    for old, new in zip(before, after, strict=True):
        if old["on"] == "key alone":
            for name, reading in old["readings"].items():
                half = 0.5 * reading["level"]["value"]
                assert new["readings"][name]["level"]["value"] == pytest.approx(half, rel=2e-5)
