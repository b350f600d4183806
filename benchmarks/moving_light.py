"""How soon a picture is there again after a light has moved: 480 x 600, its grain taken out.

`Live` shows a sequence of places of the key, each as a person would see it while moving the light. How far
the picture is off is told against a converged one, on the skin inside its outline.
"""

from __future__ import annotations

import argparse
import time

import numpy as np

from benchmarks.measure import report, table
from renderer.assets import default_scene
from renderer.colour import luminance
from renderer.film.denoise import denoised
from renderer.film.device import CPU, GPU, card_lacks
from renderer.film.plan import FLOOR_SHARE
from renderer.kernels.layout import MESH
from renderer.live import Live
from renderer.preview import Preview
from renderer.scene.change import changed
from renderer.scene.load import load
from renderer.world.material import SKIN

KEY = "light.key.around.azimuth"
CONVERGED = 0.04  # stops


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--frames", type=int, default=8)
    parser.add_argument("--save", action="store_true", help="add the table to benchmarks/results.md")
    args = parser.parse_args()
    scene = changed(load(default_scene()), {"camera.picture": [480, 600]})
    places = [changed(scene, {KEY: 40.0 + 2.0 * frame}) for frame in range(args.frames + 1)]
    rows = []
    for on in (CPU,) if card_lacks() else (CPU, GPU):
        laps = []
        with Live(on=on) as live:
            live.show(scene)
            for place in places:  # the first, in which everything is loaded, does not count
                clock, busy = time.perf_counter(), time.process_time()
                live.show(place)
                laps.append((time.perf_counter() - clock, time.process_time() - busy))
            kept = live._kept
            assert kept is not None
            shown = luminance(live._pool.place.back(kept.relit.picture(kept.film.mix)))
            shown, single = shown.reshape(kept.film.height, kept.film.width), kept.lattice.single
        wall, spent = 1000.0 * np.median(laps[1:], axis=0)
        rows.append([on, args.frames, wall, 1000.0 * min(lap[0] for lap in laps[1:]), spent])
        rows[-1] += apart(shown, single, places[-1])
    head = ["on", "pictures", "wall ms, median", "wall ms, least", "processor ms, median"]
    head += ["off on skin, stops", "brighter on the whole, %"]
    report("A light moves", table(head, rows), {str(row[0]): row[1:] for row in rows}, args.save)


def apart(shown: np.ndarray, single: np.ndarray, scene: object) -> list[float]:
    """Root mean square [stops] and mean [%] of the difference from a converged picture, on skin."""
    layers = Preview.trace(scene, within=CONVERGED, face=False, magnify=False).layers
    true = luminance(denoised(layers))
    skin = (layers.seen["family"] == MESH) & (layers.seen["number"] == SKIN) & ~single.reshape(true.shape)
    off = (shown - true)[skin] / (true[skin] + FLOOR_SHARE * true[skin].mean())
    whole = shown[skin].mean() / true[skin].mean() - 1.0
    return [float(np.log2(1.0 + np.sqrt(np.mean(off**2)))), 100.0 * float(whole)]


if __name__ == "__main__":
    main()
