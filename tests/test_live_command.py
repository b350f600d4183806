"""`halfstop live`: a picture that follows a file; faults are told and lose nothing."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from PIL import Image

from renderer.cli.live import LOOKS, File

SCENE = """
[sitter]
mesh = "none"
[camera]
picture = [48, 60]
[room]
width = 4.0
depth = 4.0
height = 2.5
back_wall = 1.5
[light.key]
source = "disc"
diameter = 0.4
lumens = 900
dim = 1.0
at = [0.6, 0.8, 1.9]
"""


def until(true, seconds: float = 300.0) -> None:
    """Wait; the first trace on a machine compiles for minutes."""
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "nothing came"
        time.sleep(0.05)


@pytest.fixture
def following(tmp_path):
    """A scene file that is followed: (path of the file, folder of the picture, process, its lines)."""
    scene, out, said, told = (tmp_path / name for name in ("scene.toml", "out", "said", "told"))
    scene.write_text(SCENE)
    command = [sys.executable, "-m", "renderer", "live", str(scene), "--out", str(out), "--within", "0.1"]
    with said.open("w") as output, told.open("w") as errors:
        process = subprocess.Popen(command, stdout=output, stderr=errors, cwd=Path(__file__).parent.parent)
    try:
        yield scene, out / "preview.png", process, said, told
    finally:
        process.kill()
        process.wait()


def looks(said: Path) -> int:
    return said.read_text().count("first look")


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C of another process")
def test_the_picture_follows_the_file_and_faults_lose_nothing(following):
    scene, picture, process, said, told = following
    until(lambda: looks(said) == 1)
    bright = Image.open(picture).convert("L").resize((1, 1)).getpixel((0, 0))
    scene.write_text(SCENE.replace("dim = 1.0", "dim = 0.1"))
    until(lambda: looks(said) == 2)
    dark = Image.open(picture).convert("L").resize((1, 1)).getpixel((0, 0))
    assert dark < 0.8 * bright
    scene.write_text(SCENE.replace("dim = 1.0", "dimm = 0.1"))
    until(lambda: 'did you mean "dim"?' in told.read_text())
    assert "Traceback" not in told.read_text()
    assert process.poll() is None and picture.exists()
    scene.unlink()
    until(lambda: "scene.toml: is not there any more" in told.read_text())
    assert process.poll() is None and picture.exists()
    scene.write_text(SCENE)
    until(lambda: looks(said) == 3)
    process.send_signal(signal.SIGINT)
    assert process.wait(60) == 0
    assert "Traceback" not in told.read_text()
    assert sorted(it.name for it in picture.parent.iterdir()) == ["preview.png"]  # and nothing half-written


def test_a_scene_that_is_not_there_is_told_at_once(tmp_path):
    command = [sys.executable, "-m", "renderer", "live", str(tmp_path / "no.toml"), "--out", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, cwd=Path(__file__).parent.parent)
    assert done.returncode == 2
    assert "no.toml" in done.stderr and len(done.stderr.splitlines()) == 1


def test_a_file_waits_once_for_each_time_it_was_saved(tmp_path):
    path = tmp_path / "a.toml"
    path.write_text("one")
    file = File(path)
    assert file.waits()
    file.take()
    assert not file.waits()
    path.write_text("other")
    assert file.waits()
    file.take()
    path.unlink()  # as an editor does that puts another in its place
    assert not file.waits()


def test_a_file_is_lost_once_when_it_stays_away(tmp_path):
    path = tmp_path / "a.toml"
    path.write_text("one")
    file = File(path)
    assert not any(file.lost() for _ in range(3 * LOOKS))
    path.unlink()
    assert [file.lost() for _ in range(3 * LOOKS)].count(True) == 1
    path.write_text("two")
    assert not file.lost()
    path.unlink()  # and another is put in its place at once
    assert not file.lost()
    path.write_text("three")
    assert not any(file.lost() for _ in range(3 * LOOKS))
