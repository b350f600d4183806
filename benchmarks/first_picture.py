"""From the shell to the first picture: `python -m renderer preview` on the default scene.

"Warm" uses the compile cache that earlier runs filled; "empty" gives each run a fresh folder
(HALFSTOP_CACHE), as on the day of installation. Times are of the whole process, with the interpreter's start.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from benchmarks.measure import ROOT, report, table


def run(out: Path, within: float, cache: Path) -> tuple[float, float]:
    """Wall and processor seconds of one run. Raises CalledProcessError when it fails."""
    command = [sys.executable, "-m", "renderer", "preview", "--out", str(out), "--within", str(within)]
    environment = os.environ | {"HALFSTOP_CACHE": str(cache)}
    before, started = os.times(), time.monotonic()
    subprocess.run(
        command, check=True, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    wall, after = time.monotonic() - started, os.times()
    spent = after.children_user + after.children_system - before.children_user - before.children_system
    return wall, spent


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
        run(folder / "out", 0.5, folder / "warm")
        for within in args.within:
            for cache, runs in (("warm", args.runs), ("empty", max(1, args.runs // 2))):
                places = [
                    folder / "warm" if cache == "warm" else folder / f"empty-{within}-{i}"
                    for i in range(runs)
                ]
                times = np.array([run(folder / "out", within, place) for place in places])
                wall, spent = np.median(times, axis=0)
                rows.append([within, cache, runs, wall, float(times[:, 0].min()), spent])
                figures[f"{within} {cache}"] = {"wall": times[:, 0].tolist(), "cpu": times[:, 1].tolist()}
    head = ["within, stops", "cache", "runs", "wall s, median", "wall s, least", "processor s, median"]
    report("First picture", table(head, rows), figures, args.save)


if __name__ == "__main__":
    main()
