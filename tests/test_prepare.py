"""Kernels on disk: compiled ahead, found again, and a folder that cannot be used is not the end."""

from __future__ import annotations

import logging
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numba
import pytest
from numba.core.caching import FunctionCache
from small_scene import small

from renderer.cli import main
from renderer.kernels import develop, lattice
from renderer.kernels.denoise import work_on_rows
from renderer.kernels.each import Each
from renderer.kernels.entry import trace
from renderer.kernels.mean import means, mix_halves
from renderer.kernels.shelf import Shelf, keep
from renderer.kernels.tree import build_binary
from renderer.kernels.wide import collapse
from renderer.live import ahead
from renderer.live.ahead import compile_rest
from renderer.live.prepare import prepare

ROOT = Path(__file__).parent.parent
DEFAULT_PICTURE = ["preview", "--within", "2", "--size", "64x80"]


def doubled(x: float) -> float:
    return x + x


@pytest.fixture
def double(tmp_path: Path) -> Iterator[Callable[[Path], Any]]:
    """A small kernel that is to be kept in a folder; what it tells of all kernels is forgotten again."""
    before = Shelf.kept, list(Shelf.found), list(Shelf.made)
    yield lambda folder: keep(numba.njit(doubled), FunctionCache, folder)
    Shelf.kept, Shelf.found[:], Shelf.made[:] = before


def cut(folder: Path, kind: str) -> None:
    for path in folder.rglob(f"*.{kind}"):
        path.write_bytes(path.read_bytes()[:20])


def test_a_kernel_is_found_again(tmp_path: Path, double: Callable[[Path], Any]) -> None:
    Shelf.made.clear()
    assert double(tmp_path)(2.0) == 4.0
    assert Shelf.made == ["doubled"]
    Shelf.found.clear()
    assert double(tmp_path)(2.0) == 4.0
    assert Shelf.found == ["doubled"] and Shelf.made == ["doubled"]


@pytest.mark.parametrize("kind", ["nbi", "nbc"])
def test_a_file_cut_short_is_made_anew(tmp_path: Path, double: Callable[[Path], Any], kind: str) -> None:
    double(tmp_path)(2.0)
    cut(tmp_path, kind)
    assert double(tmp_path)(2.0) == 4.0
    Shelf.found.clear()
    assert double(tmp_path)(2.0) == 4.0 and Shelf.found == ["doubled"]


def test_a_folder_that_fails_is_said_once(
    tmp_path: Path, double: Callable[[Path], Any], caplog: pytest.LogCaptureFixture
) -> None:
    """A file in place of the folder: it cannot be written even by root."""
    (tmp_path / "file").touch()
    kernel = double(tmp_path / "file" / "cache")
    with caplog.at_level(logging.WARNING):
        assert kernel(2.0) == 4.0 and kernel(2) == 4
    assert len(caplog.messages) == 1
    said = caplog.messages[0]
    assert "\n" not in said and str(tmp_path / "file") in said
    assert os.strerror(20) in said and "HALFSTOP_CACHE" in said  # ENOTDIR


def test_a_disk_that_fills_up_while_writing(
    tmp_path: Path,
    double: Callable[[Path], Any],
    caplog: pytest.LogCaptureFixture,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def full(*_: Any) -> None:
        raise OSError(28, os.strerror(28))  # ENOSPC

    monkeypatch.setattr("numba.core.caching.IndexDataCacheFile._save_data", full)
    assert double(tmp_path)(2.0) == 4.0
    assert len(caplog.messages) == 1 and os.strerror(28) in caplog.messages[0]
    monkeypatch.undo()
    Shelf.kept = True
    assert double(tmp_path)(2.0) == 4.0  # its index names a file that is not there
    Shelf.found.clear()
    assert double(tmp_path)(2.0) == 4.0 and Shelf.found == ["doubled"]


def test_prepare_compiles_for_the_types_that_a_film_has(capsys: pytest.CaptureFixture[str]) -> None:
    small().film(within=2.0).layers(0.0, 0, False)
    prepare("cpu")
    compile_rest()
    steps = [it.between for of in (lattice, develop) for it in vars(of).values() if isinstance(it, Each)]
    assert len(steps) >= 8
    for kernel in (trace, work_on_rows, mix_halves, means, build_binary, collapse, *steps):
        assert len(kernel.signatures) == 1, kernel


def test_a_second_process_compiles_only_into_an_empty_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[list[str]] = []
    monkeypatch.setattr(ahead.subprocess, "Popen", lambda command, **_: begun.append(command))
    monkeypatch.setattr(ahead, "usable_cores", lambda: 2)
    monkeypatch.setattr(ahead, "cache_folder", lambda: tmp_path / "empty")
    ahead.begin()
    assert begun == [[sys.executable, "-m", "renderer.live.ahead"]]
    assert ahead.begin() is None and len(begun) == 1  # it is there now
    (tmp_path / "file").touch()
    monkeypatch.setattr(ahead, "cache_folder", lambda: tmp_path / "file" / "below")
    assert ahead.begin() is None and len(begun) == 1
    monkeypatch.setattr(ahead, "cache_folder", lambda: tmp_path / "other")
    monkeypatch.setattr(ahead, "usable_cores", lambda: 1)
    assert ahead.begin() is None and len(begun) == 1


def test_prepare_refuses_a_folder_in_one_line(tmp_path: Path) -> None:
    """At once, before a minute of compiling."""
    (tmp_path / "file").touch()
    environment = os.environ | {"HALFSTOP_CACHE": str(tmp_path / "file")}
    command = [sys.executable, "-m", "renderer", "prepare", "--on", "cpu"]
    done = subprocess.run(
        command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 2 and not done.stdout
    lines = done.stderr.strip().splitlines()
    assert len(lines) == 1 and str(tmp_path / "file") in lines[0] and "HALFSTOP_CACHE" in lines[0]


def test_a_card_that_is_not_there(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from renderer.film import device

    monkeypatch.setattr(device, "card_lacks", lambda: "no graphics card with CUDA was found")
    assert main(["prepare", "--on", "gpu"]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1


@pytest.mark.slow
def test_a_preview_after_prepare_compiles_nothing(tmp_path: Path) -> None:
    """An empty folder, `prepare` twice, then the default scene, whose process counts what it compiles."""
    environment = os.environ | {"HALFSTOP_CACHE": str(tmp_path / "cache")}

    def run(*command: str) -> str:
        done = subprocess.run(
            [sys.executable, *command], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
        )
        return done.stdout

    first = run("-m", "renderer", "prepare", "--on", "cpu").strip()
    made = re.fullmatch(r"halfstop: compiled (\d+) of (\d+) kernels in \d+ s; they lie in (.+)", first)
    assert made and made[1] == made[2] and Path(made[3]).is_relative_to(tmp_path)
    again = run("-m", "renderer", "prepare", "--on", "cpu")
    assert again.startswith(f"halfstop: all {made[1]} kernels were compiled already; they lie in {made[3]}")
    arguments = [*DEFAULT_PICTURE, "--on", "cpu", "--out", str(tmp_path / "out")]
    script = (
        "import sys; from renderer.cli import main; code = main(sys.argv[1:])\n"
        "from renderer.kernels.shelf import Shelf; print('MADE', *Shelf.made); sys.exit(code)"
    )
    assert run("-c", script, *arguments).splitlines()[-1] == "MADE"
