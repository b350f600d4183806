"""What every benchmark needs: the default scene at any size, processor time, and how a result is recorded."""

from __future__ import annotations

import json
import platform
import subprocess
import time
from collections.abc import Callable, Sequence
from datetime import date
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import numpy as np

from renderer.assets import default_scene
from renderer.film.mix import Fader, Mix
from renderer.scene.load import load
from renderer.scene.models import Scene
from renderer.world.build import World, build

RESULTS = Path(__file__).parent / "results.md"
ROOT = Path(__file__).parent.parent


def world_of(width: int, height: int, scene: Path | None = None) -> tuple[World, Mix]:
    """A scene (the default one unless named) with another number of pixels, and its mix."""
    return packed_at(load(scene or default_scene()), width, height)


def packed_at(scene: Scene, width: int, height: int) -> tuple[World, Mix]:
    """A scene with another number of pixels, and its mix."""
    camera = scene.camera.model_copy(update={"picture": (width, height)})
    world = build(scene.model_copy(update={"camera": camera}))
    return world, Mix(tuple(Fader.of(layer) for layer in world.layers))


def timed(work: Callable[[], Any], clock: Callable[[], float] = time.process_time) -> tuple[float, Any]:
    """Seconds of `clock` (processor time of all threads, unless another is given), and the result."""
    started = clock()
    result = work()
    return clock() - started, result


def machine() -> dict[str, Any]:
    """What a figure depends on: processor, versions, commit."""
    name = platform.processor() or platform.machine()
    info = Path("/proc/cpuinfo")
    if info.exists():
        models = [line for line in info.read_text().splitlines() if line.startswith("model name")]
        name = models[0].split(":", 1)[1].strip() if models else name
    versions = {}
    for package in ("numpy", "numba", "mitsuba", "embreex"):
        try:
            versions[package] = version(package)
        except PackageNotFoundError:
            continue
    git = subprocess.run(
        ["git", "describe", "--always", "--dirty"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    return {
        "date": date.today().isoformat(),
        "cpu": name,
        "python": platform.python_version(),
        "commit": git.stdout.strip() or "unknown",
        **versions,
    }


def table(head: Sequence[str], rows: Sequence[Sequence[Any]]) -> str:
    """A Markdown table; numbers to three significant digits."""

    def cell(value: Any) -> str:
        return f"{value:.3g}" if isinstance(value, (float, np.floating)) else str(value)

    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(cell(value) for value in row) + " |" for row in rows]
    return "\n".join(lines)


def report(title: str, text: str, figures: dict[str, Any], save: bool) -> None:
    """Print a table and one line of JSON; with `save` the table is added to results.md under today's date."""
    facts = machine()
    print(text)
    print(json.dumps({"benchmark": title, **facts, **figures}))
    if save:
        words = ", ".join(f"{key} {value}" for key, value in facts.items() if key != "date")
        with RESULTS.open("a") as file:
            file.write(f"\n## {title}, {facts['date']}\n\n{words}\n\n{text}\n")
