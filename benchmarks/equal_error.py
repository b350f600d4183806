"""Processor time to the same error: this program and Mitsuba 3, on the default scene and others.

Error is the root mean square, over the sitter's pixels, of difference / (reference + 1 % of its mean), of
luminance. The reference is our own unbiased picture; its own noise, known from its two halves, is taken
off again, so that it need not be free of noise. Every way is warmed up once, then all take turns, from few
samples to many; the time at which a way reaches an error is read off its curve between two measurements,
or beyond the last along a power law through all of them, which the table marks with ~.

Bounces: none is cut. Both programs end paths at random only; "walls metered" is our faster way, which ends
paths on walls whose light was measured first, and has a bias, which its error includes. The picture without
its grain is what a person is shown; no number is read from it.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from benchmarks import reference
from benchmarks.equal_scenes import SCENES, scene_called
from benchmarks.measure import packed_at, report, table, timed
from renderer.colour import luminance
from renderer.film import tracing
from renderer.film.denoise import denoised
from renderer.film.device import CPU
from renderer.film.mix import Mix
from renderer.kernels.layout import PROBE
from renderer.world.build import World

NO_PROBES = np.zeros(0, PROBE)
FLOOR_SHARE = 0.01
ERRORS = (0.05, 0.02)


@dataclass
class Way:
    """A way to the picture: `trace(step)` gives its luminance (h, w), better and slower with each step."""

    name: str
    trace: Callable[[int], np.ndarray]
    own: bool = True  # and not the other program's
    seconds: list[float] = field(default_factory=list)
    errors: list[float] = field(default_factory=list)
    means: list[float] = field(default_factory=list)

    def time_to(self, error: float) -> tuple[float, bool]:
        """Seconds to reach an error, and whether that lies outside what was measured."""
        t, e = np.log(self.seconds), np.log(self.errors)
        inside = min(self.errors) <= error <= max(self.errors)
        if inside:
            order = np.argsort(e)
            return float(np.exp(np.interp(math.log(error), e[order], t[order]))), False
        slope, start = np.polyfit(e, t, 1)
        return float(np.exp(slope * math.log(error) + start)), True

    def agreement(self) -> float:
        """Mean of the sitter over that of the reference, better pictures counting more."""
        return float(np.average(self.means, weights=np.array(self.errors) ** -2.0))


def ours(
    world: World, mix: Mix, follow_all: bool, threads: int | None, shown: bool = False
) -> Callable[[int], np.ndarray]:
    """Steps of our own: each asks for 0.7 of the error of the one before; `shown`: without its grain."""

    def trace(step: int) -> np.ndarray:
        within = 0.3 * 0.7**step
        seed = 100 + step
        film = tracing.run(
            world.packed,
            world.camera,
            NO_PROBES,
            mix,
            within=within,
            seed=seed,
            threads=threads,
            follow_all=follow_all,
            grain=not shown,
            on=CPU,
        )
        if shown:
            return np.asarray(luminance(denoised(film.layers(0.0, seed, follow_all))))
        return np.asarray(film.half_luminances().mean(axis=0))

    return trace


def theirs(
    world: World, mix: Mix, variant: str | None, sampler: str, by_power: bool
) -> Callable[[int], np.ndarray]:
    """Steps of Mitsuba: squares, as suit its stratified samplers."""
    mi = reference.mitsuba(variant)
    counts = (4, 9, 16, 36, 64, 144, 256, 576)
    scene = reference.mitsuba_scene(mi, world, mix, sampler, by_power)

    def trace(step: int) -> np.ndarray:
        return np.asarray(luminance(reference.render(mi, scene, counts[step], 100 + step)))

    return trace


def relative_error(picture: np.ndarray, halves: np.ndarray, mask: np.ndarray) -> float:
    """Error of a picture against the mean of two halves, less what is the halves' own noise."""
    mean = halves.mean(axis=0)
    below = (mean + FLOOR_SHARE * mean[mask].mean())[mask]
    own = 0.5 * (halves[0] - halves[1])[mask]
    square = np.mean(((picture - mean)[mask] / below) ** 2) - np.mean((own / below) ** 2)
    return float(math.sqrt(max(square, 1e-12)))


def measured(world: World, mix: Mix, ways: list[Way], steps: int, noise: float) -> float:
    """Fill in seconds, errors and means of all ways, which take turns; share of the picture that is sitter.

    noise  left in the reference [stops]
    """
    much = {"within": noise, "seed": 7, "follow_all": True, "grain": True, "on": CPU}
    film = tracing.run(world.packed, world.camera, NO_PROBES, mix, **much)
    halves = film.half_luminances()
    mask = film.sitter()
    truth = float(halves[:, mask].mean())
    for way in ways:
        way.trace(0)  # warm up: compile
    for step in range(steps):
        for way in ways:
            seconds, picture = timed(partial(way.trace, step))
            way.seconds.append(seconds)
            way.errors.append(relative_error(picture, halves, mask))
            way.means.append(float(picture[mask].mean()) / truth)
            print(f"{way.name}: {seconds:.1f} s, error {100 * way.errors[-1]:.2f} %", flush=True)
    return float(mask.mean())


def rows_of(ways: list[Way]) -> list[list[object]]:
    """Seconds to each error, and how many times those of the quickest way of Mitsuba that is."""
    rows = []
    best = {e: min(way.time_to(e)[0] for way in ways if not way.own) for e in ERRORS}
    for way in ways:
        cells: list[object] = [way.name]
        for error in ERRORS:
            seconds, beyond = way.time_to(error)
            cells += [f"{'~' if beyond else ''}{seconds:.3g}", best[error] / seconds]
        rows.append([*cells, f"{100 * (way.agreement() - 1):+.2f} %"])
    return rows


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--size", type=int, nargs=2, default=(640, 800), metavar=("WIDTH", "HEIGHT"))
    parser.add_argument("--steps", type=int, default=5, help="measurements of each way, 2 to 8 (default 5)")
    parser.add_argument("--reference", type=float, default=0.03, help="stops of noise left in the reference")
    parser.add_argument("--scene", nargs="+", default=["default"], choices=["default", *SCENES], help="which")
    parser.add_argument("--variant", help="of Mitsuba (default: llvm_ad_rgb, else scalar_rgb)")
    parser.add_argument("--independent", action="store_true", help="also with Mitsuba's plain random sampler")
    parser.add_argument("--threads", type=int, help="of our own (default: all cores)")
    parser.add_argument("--save", action="store_true", help="add the table to benchmarks/results.md")
    args = parser.parse_args()
    rows: list[list[object]] = []
    figures = {}
    for name in args.scene:
        world, mix = packed_at(scene_called(name), *args.size)
        world = reference.plain(world, coated=True)
        ways = [
            Way("ours, every path followed", ours(world, mix, True, args.threads)),
            Way("ours, walls metered", ours(world, mix, False, args.threads)),
            Way("ours, walls metered, grain taken out", ours(world, mix, False, args.threads, shown=True)),
            Way("Mitsuba, multijitter", theirs(world, mix, args.variant, "multijitter", False), False),
        ]
        if len(mix.faders) > 1:
            by_power = theirs(world, mix, args.variant, "multijitter", True)
            ways.append(Way("Mitsuba, multijitter, lights by power", by_power, False))
        if args.independent:
            plain = theirs(world, mix, args.variant, "independent", False)
            ways.append(Way("Mitsuba, independent", plain, False))
        print(f"== {name}", flush=True)
        share = measured(world, mix, ways, args.steps, args.reference)
        rows += [[f"{name} ({100 * share:.0f} %)", *row] for row in rows_of(ways)]
        figures[name] = {way.name: [way.seconds, way.errors, way.agreement()] for way in ways}
    size = f"{args.size[0]} x {args.size[1]} pixels"
    text = f"{size}; processor seconds, and how many times sooner than the quickest of Mitsuba\n\n"
    head = ["scene (sitter in it)", "way", "to 5 %", "sooner", "to 2 %", "sooner", "mean of sitter"]
    report("Time to equal error", text + table(head, rows), figures, args.save)


if __name__ == "__main__":
    main()
