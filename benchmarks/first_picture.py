"""From the shell to the first picture: `python -m renderer preview` on the default scene.

"Warm" uses the compile cache that earlier runs filled; "empty" gives each run a fresh folder
(HALFSTOP_CACHE), as on the day of installation. Times count from the interpreter's start: until the picture
is there, and until all files are and the process has ended.
"""

from __future__ import annotations

import argparse
import math
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from benchmarks.measure import ROOT, report, table

LOOK = 0.01  # s between two looks for the picture


def run(within: float, cache: Path) -> tuple[float, float, float]:
    """Wall seconds to the picture and to the end of one run, and processor seconds. Raises CalledProcessError
    when it fails."""
    with tempfile.TemporaryDirectory() as name:
        return _run(Path(name), within, cache)


def _run(out: Path, within: float, cache: Path) -> tuple[float, float, float]:
    command = [sys.executable, "-m", "renderer", "preview", "--out", str(out), "--within", str(within)]
    environment = os.environ | {"HALFSTOP_CACHE": str(cache)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # Python keeps what it compiles, as a rule
    before, started = os.times(), time.monotonic()
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    picture = math.nan
    with subprocess.Popen(command, cwd=ROOT, env=environment, **quiet) as process:  # type: ignore[call-overload]
        while process.poll() is None:
            if math.isnan(picture) and (out / "preview.png").exists():
                picture = time.monotonic() - started
            time.sleep(LOOK)
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, command)
    wall, after = time.monotonic() - started, os.times()
    spent = after.children_user + after.children_system - before.children_user - before.children_system
    return picture, wall, spent


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--within", type=float, nargs="+", default=[0.3, 0.1], help="stops (default 0.3 0.1)")
    parser.add_argument(
        "--runs", type=int, default=5, help="with a warm cache; with an empty one 1 for every 2"
    )
    parser.add_argument("--save", action="store_true", help="add the table to benchmarks/results.md")
    args = parser.parse_args()
    rows, figures = [], {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        run(0.5, folder / "warm")
        for within in args.within:
            for cache, runs in (("warm", args.runs), ("empty", max(1, args.runs // 2))):
                places = [
                    folder / "warm" if cache == "warm" else folder / f"empty-{within}-{i}"
                    for i in range(runs)
                ]
                times = np.array([run(within, place) for place in places])
                rows.append([within, cache, runs, *np.median(times, axis=0), float(times[:, 0].min())])
                figures[f"{within} {cache}"] = dict(
                    zip(("picture", "all", "processor"), times.T.tolist(), strict=True)
                )
    head = ["within, stops", "cache", "runs"]
    head += ["picture, s", "all files, s", "processor s (medians)", "picture s, least"]
    report("First picture", table(head, rows), figures, args.save)


if __name__ == "__main__":
    main()
