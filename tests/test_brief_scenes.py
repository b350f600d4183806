"""Briefs of unusual scenes, and faults: what is missing is said, nothing fails."""

from __future__ import annotations

from pathlib import Path

import pytest
from pypdf import PdfReader
from test_architecture import answer

from renderer.brief import Material, room_view, write_brief
from renderer.brief.room_view import door
from renderer.cli import main
from renderer.preview import Preview
from renderer.scene.load import loads

LAMP = """
[light.key]
source = "disc"
around = { azimuth = 40, distance = 1.2, height = 1.7 }
diameter = 0.5
lumens = 900
"""
ONE_OF_TWELVE = """
[light.unit_{k}]
source = "panel"
around = {{ azimuth = {azimuth}, distance = {distance}, height = {height} }}
width = 0.3
height = 0.6
lumens = 400
watts = {watts}
circuit = "a"
[support.unit_{k}]
legs_radius = 0.3
mass = 3
load = 2
"""
CAMERA = "[camera]\npicture = [40, 50]\n"
ROOM = "[room]\nwidth = 4\ndepth = 5\nheight = 2.6\nback_wall = 2\n"


def briefed(text: str, folder: Path) -> str:
    """Writes the brief of a scene and gives the text of its PDF."""
    preview = Preview.trace(loads(text), within=2.0, magnify=False, face=False)
    write_brief(Material(preview), folder)
    pages = PdfReader(folder / "brief.pdf").pages
    assert 2 <= len(pages) <= 6
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_nobody(tmp_path: Path) -> None:
    text = briefed(CAMERA + ROOM + LAMP + '[sitter]\nmesh = "none"\n', tmp_path)
    assert "No sitter was measured" in text and "nobody in the scene" in text
    assert "nobody sits there: no readings at face and cheeks" in text


def test_no_room(tmp_path: Path) -> None:
    text = briefed(CAMERA + LAMP, tmp_path)
    assert "No room in the scene" in text
    assert "The scene has no [support.NAME]" in text and "The scene has no [circuit.NAME]" in text
    assert "No picture of the room" in text


def test_no_sitter_no_room_no_mark(tmp_path: Path) -> None:
    assert "No marks" in briefed(CAMERA + LAMP + '[sitter]\nmesh = "none"\n', tmp_path)


def test_twelve_lights(tmp_path: Path) -> None:
    text = CAMERA + ROOM.replace("4", "5")
    for k in range(12):
        text += ONE_OF_TWELVE.format(
            k=k + 1,
            azimuth=30 * k + 10,
            distance=1.2 + 0.25 * (k % 3),
            height=1.5 + 0.1 * (k % 5),
            watts=20 + k,
        )
    text += "[circuit.a]\nvolts = 230\namps = 16\n"
    words = briefed(text, tmp_path)
    for k in range(12):
        assert f"{k + 1} unit_{k + 1} alone" in words


def test_the_rooms_own_light_as_key(tmp_path: Path) -> None:
    text = briefed(CAMERA + ROOM + "[room.found]\nlux = 100\n", tmp_path)
    assert "which hangs nowhere: no section through it" in text and "off the ceiling" in text


def test_letters_that_the_font_lacks(tmp_path: Path) -> None:
    text = briefed('title = "Töpferei, Łódź, 工房"\n' + CAMERA + ROOM + LAMP, tmp_path)
    assert "Töpferei" in text and "?" in text
    assert "工房" in (tmp_path / "brief.html").read_text(encoding="utf-8")


def test_the_same_brief_has_the_same_bytes(tmp_path: Path) -> None:
    preview = Preview.trace(loads(CAMERA + ROOM + LAMP), within=2.0, magnify=False, face=False)
    for name in ("a", "b"):
        write_brief(Material(preview), tmp_path / name)
    for file in (tmp_path / "a").iterdir():
        assert file.read_bytes() == (tmp_path / "b" / file.name).read_bytes(), file.name


def test_the_door_is_behind_the_camera_and_looks_at_the_room() -> None:
    scene = loads(CAMERA + ROOM + LAMP)
    camera = door(scene)
    assert camera.at[1] > scene.camera.at[1] and camera.at[0] < 0.0  # the key is at camera right
    assert camera.width_angle > 70.0
    preview = Preview.trace(scene, within=2.0, magnify=False, face=False)
    picture = room_view(preview, within=2.0)
    assert picture.shape == (72, 96, 3) and picture.mean() > 10.0
    dark = room_view(preview.mixed(dim={"key": 0.1}), within=2.0)
    assert dark.mean() < 0.6 * picture.mean()


@pytest.mark.parametrize(
    "arguments", [("brief", "--help"), ("brief", "nowhere.toml"), ("brief", "--dim", "no=1")]
)
def test_help_and_faults_answer_at_once(arguments: tuple[str, ...]) -> None:
    """Without numpy, numba or the PDF's library, so in under 0.4 s of CPU."""
    done = answer(*arguments)
    assert "HEAVY\n" in done.stderr and "Traceback" not in done.stderr, done.stderr


def test_a_camera_at_the_side_turns_nothing_but_the_words(tmp_path: Path) -> None:
    text = briefed("[camera]\nat = [1.5, 1.5, 1.6]\npicture = [40, 50]\n" + ROOM + LAMP, tmp_path)
    assert "x and y along the walls" in text and "x, to camera right" not in text


def test_a_long_title_keeps_off_the_page_number(tmp_path: Path) -> None:
    text = briefed('title = "' + "Long title " * 20 + '"\n' + CAMERA + ROOM + LAMP, tmp_path)
    assert "Long title Long title" in text and "...lighting brief, page 1" in text.replace("... ", "...")


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (["brief", "nowhere.toml"], "nowhere.toml: no such file"),
        (["brief", "."], "numbers.json: cannot be read"),
        (["brief", "--dim", "nobody=1"], 'no light is called "nobody"'),
        (["brief", "--out", "scene.txt/x"], "scene.txt is a file; expected a folder"),
    ],
)
def test_faults_are_one_line(
    arguments: list[str],
    line: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "scene.txt").write_text("")
    assert main(arguments) == 2
    error = capsys.readouterr().err.strip()
    assert line in error and len(error.splitlines()) == 1
