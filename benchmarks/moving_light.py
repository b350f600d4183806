"""How soon a picture is there again after a light has moved: 480 x 600, one pass, its grain taken out.

The head stays packed; the light, the meter grid on the walls, the film and the cleaned picture are made anew.
"""

from __future__ import annotations

import argparse
import time

import numpy as np

from benchmarks.measure import report, table
from renderer.assets import default_scene
from renderer.film.denoise import denoised
from renderer.film.device import CPU, GPU, card_lacks
from renderer.film.mix import Fader, Mix
from renderer.film.tracing import run
from renderer.meter.mark import probes_of
from renderer.picture.develop import develop
from renderer.scene.change import changed
from renderer.scene.load import load
from renderer.units import grey_luminance
from renderer.world.build import build

ONE_PASS = 100.0  # stops: reached by the first pass
KEY = "light.key.around.azimuth"


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--frames", type=int, default=5)
    parser.add_argument("--save", action="store_true", help="add the table to benchmarks/results.md")
    args = parser.parse_args()
    scene = changed(load(default_scene()), {"camera.picture": [480, 600]})
    camera = scene.camera
    grey = grey_luminance(camera.t_stop, camera.iso, camera.shutter)
    rows = []
    for on in (CPU,) if card_lacks() else (CPU, GPU):
        laps = []
        for frame in range(args.frames + 1):  # the first, in which everything is loaded, does not count
            at = [time.perf_counter()]
            world = build(changed(scene, {KEY: 40.0 + 2.0 * frame}))
            at.append(time.perf_counter())
            mix = Mix(tuple(map(Fader.of, world.layers)))
            film = run(world.packed, world.camera, probes_of([]), mix, within=ONE_PASS, seed=frame, on=on)
            at.append(time.perf_counter())
            layers = film.layers(0.0, frame, False)
            develop(denoised(layers), grey, camera.white_balance)
            at.append(time.perf_counter())
            laps.append(np.diff(at))
        best = np.median(laps[1:], axis=0)
        rows.append([on, *(1000.0 * best), 1000.0 * float(best.sum()), film.error])
    head = ["on", "scene and packing, ms", "tracing, ms", "layers, cleaning, developing, ms", "all, ms"]
    head.append("error of the sitter as shown, stops")
    report("A light moves", table(head, rows), {str(row[0]): row[1:] for row in rows}, args.save)


if __name__ == "__main__":
    main()
