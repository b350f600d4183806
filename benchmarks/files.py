"""What the pictures, maps and files of a preview cost once it is traced: the default scene, 640 x 800."""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from benchmarks.measure import report, table, timed
from renderer.assets import default_scene
from renderer.film.denoise import denoised
from renderer.picture.exr import write_layers
from renderer.picture.png import png_bytes
from renderer.preview import Preview
from renderer.record import write
from renderer.record.plane import planes_of
from renderer.scene.load import load


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--within", type=float, default=0.2, help="stops (default 0.2)")
    parser.add_argument("--runs", type=int, default=3, help="of which the least counts")
    parser.add_argument("--save", action="store_true", help="add the table to benchmarks/results.md")
    args = parser.parse_args()
    preview = Preview.trace(load(default_scene()), within=args.within)
    layers, radiance, picture = preview.layers, denoised(preview.layers), preview.picture()
    rows: list[list[Any]] = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        works: dict[str, Callable[[], Any]] = {
            "grain taken out": lambda: denoised(layers),
            "developed": lambda: preview.developed(radiance),
            "stops map": preview.stops_map,
            "incident map": preview.incident_map,
            "patches": preview.patch_map,
            "key alone": preview.key_picture,
            "eyes": preview.eye_picture,
            "numbers": preview.numbers,
            "a PNG": lambda: png_bytes(picture),
            "layers as EXR": lambda: write_layers(folder / "layers.exr", planes_of(layers)),
            # a copy has no cleaned picture so far
            "all files": lambda: write(replace(preview), folder / "out"),
        }
        for what, work in works.items():
            work()
            clocks = (time.perf_counter, time.process_time)
            rows.append([what, *(min(timed(work, clock)[0] for _ in range(args.runs)) for clock in clocks)])
            print(rows[-1], flush=True)
    head = ["what", "wall s, least", "processor s, least"]
    report("Files of a preview", table(head, rows), {str(row[0]): row[1:] for row in rows}, args.save)


if __name__ == "__main__":
    main()
