"""How much nearer a picture comes to the converged one when its grain is taken out, and at what cost.

Each scene is traced coarsely and, with another seed, finely. Errors are against both halves of the fine
picture, (x - A)(x - B), so that its own noise adds nothing. The filter was tuned on the default scene alone.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import numpy as np
from scipy.ndimage import binary_erosion, gaussian_filter, map_coordinates
from skimage.metrics import structural_similarity

from benchmarks.measure import ROOT, report, table, world_of
from renderer.colour import luminance
from renderer.film.denoise import denoised
from renderer.film.layers import Layers
from renderer.film.tracing import run
from renderer.kernels.layout import MESH
from renderer.meter.mark import probes_of
from renderer.picture.develop import auto_grey_luminance, develop
from renderer.world.build import World
from renderer.world.material import SKIN

SCENES = ("default", "oboist-1-disc", "classic-2-45-45")
FLOOR = 0.01  # of the sitter's mean, added to what an error is divided by
EDGES = 60  # steepest places of the light on skin, each a profile of PROFILE pixels to both sides
PROFILE = 8


def traced(world: World, mix, within: float, seed: int) -> Layers:  # type: ignore[no-untyped-def]
    film = run(world.packed, world.camera, probes_of([]), mix, within=within, seed=seed)
    return film.layers(0.0, seed, False)


def stops(picture: np.ndarray, fine: Layers, mask: np.ndarray) -> float:
    """Root mean square error [stops] over `mask`."""
    mean, apart = fine.picture(), fine.half_difference()
    floor = FLOOR * luminance(mean)[fine.sitter()].mean()
    y, a, b = (luminance(x)[mask] for x in (picture, mean + apart, mean - apart))
    square = ((y - a) * (y - b) / (0.5 * (a + b) + floor) ** 2).mean()
    return float(np.log2(1.0 + np.sqrt(max(0.0, square))))


def edge_widths(picture: np.ndarray, at: np.ndarray, across: np.ndarray) -> np.ndarray:
    """10 to 90 % widths [pixels] of edges at `at` (n, 2), along unit steps `across` (n, 2)."""
    along = np.stack([-across[:, 1], across[:, 0]], axis=1)
    t, s = np.linspace(-PROFILE, PROFILE, 8 * PROFILE + 1), np.arange(-2, 3)
    places = (
        at[:, :, None, None]
        + across[:, :, None, None] * t[None, None, :, None]
        + along[:, :, None, None] * s[None, None, None, :]
    )
    profiles = map_coordinates(luminance(picture), np.moveaxis(places, 1, 0), order=1).mean(axis=2)
    middle = 8 * PROFILE // 2
    widths = []
    for profile in profiles:
        low, high = profile[:middle].min(), profile[middle:].max()
        share = (profile - low) / (high - low)
        # from the steepest place outward: the last below a tenth, the first above nine
        start = np.flatnonzero(share[: middle + 1] <= 0.1)[-1:]
        end = middle + np.flatnonzero(share[middle:] >= 0.9)[:1]
        widths.append(t[end[0]] - t[start[0]] if len(start) and len(end) else np.nan)
    return np.array(widths)


def steepest(fine: Layers, skin: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places and directions of the steepest light on skin, clear of its outlines and of each other."""
    light = gaussian_filter(np.log(np.maximum(luminance(fine.arriving()), 1e-9)), 1.0)
    down, right = np.gradient(light)
    depth = fine.seen["distance"]
    smooth = np.hypot(*np.gradient(depth)) < 0.004  # m a pixel: no fold of the face
    clear = binary_erosion(skin & smooth, iterations=PROFILE // 2)
    steep = np.hypot(down, right) * clear
    at = []
    while len(at) < EDGES and steep.max() > 0.0:
        y, x = np.unravel_index(steep.argmax(), steep.shape)
        at.append((y, x))
        steep[max(0, y - 2) : y + 3, max(0, x - 2) : x + 3] = 0.0
    places = np.array(at)
    slope = np.stack([down, right], axis=-1)[places[:, 0], places[:, 1]]
    return places.astype(float), slope / np.linalg.norm(slope, axis=1, keepdims=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--size", type=int, nargs=2, default=(320, 400), help="pixels (default 320 400)")
    parser.add_argument("--within", type=float, nargs="+", default=[0.2, 0.1], help="stops (default 0.2 0.1)")
    parser.add_argument("--fine", type=float, default=0.03, help="stops, of the converged picture")
    parser.add_argument("--scene", nargs="+", default=list(SCENES), help="names in scenes/")
    parser.add_argument("--save", action="store_true", help="add the table to benchmarks/results.md")
    args = parser.parse_args()
    rows, figures = [], {}
    for name in args.scene:
        world, mix = world_of(*args.size, Path(ROOT / "scenes" / f"{name}.toml"))
        fine = traced(world, mix, args.fine, seed=77)
        skin = fine.sitter() & (fine.seen["number"] == SKIN)
        unlit = ~fine.emitting()
        grey = auto_grey_luminance(fine.picture(), fine.sitter(), 0.5)
        shown = develop(fine.picture(), grey)
        at, across = steepest(fine, skin)
        true_widths = edge_widths(fine.picture(), at, across)
        for within in args.within:
            layers = traced(world, mix, within, seed=1)
            raw = layers.picture()
            denoised(layers)
            times = []
            for _ in range(5):
                started = time.perf_counter()
                clean = denoised(layers)
                times.append(time.perf_counter() - started)
            patches = layers.seen["patch"] * (layers.seen["family"] == MESH) * skin
            drift = [
                abs(luminance(clean)[patches == k].mean() / luminance(raw)[patches == k].mean() - 1.0)
                for k in np.unique(patches[patches != 0])
                if (patches == k).sum() >= 100
            ]
            row = [name, within]
            for mask in (skin, unlit):
                row += [stops(raw, fine, mask), stops(clean, fine, mask)]
            for picture in (raw, clean):
                row.append(float(structural_similarity(shown, develop(picture, grey), channel_axis=2)))
            row.append(float(np.nanmedian(edge_widths(clean, at, across) / true_widths)))
            row += [100.0 * max(drift), 1000.0 * min(times)]
            rows.append(row)
            figures[f"{name} {within}"] = row[2:]
            print(row, flush=True)
    head = ["scene", "within, stops", "skin, stops", "clean", "picture, stops", "clean"]
    head += ["similarity", "clean", "edge width / true", "patch mean moved, %", "ms, least of 5"]
    report("Grain taken out", table(head, rows), figures, args.save)


if __name__ == "__main__":
    main()
