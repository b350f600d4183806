"""A graphics card against the processor: the same film, and how much sooner.

Both trace the default scene with the same seeds, so that their films differ by rounding alone.
"""

from __future__ import annotations

import argparse
import time

import numpy as np

from benchmarks.measure import report, table, world_of
from renderer.film.device import CPU, GPU, card_lacks, pool_on
from renderer.film.film import HALVES, Film
from renderer.film.mix import Mix
from renderer.film.pool import usable_cores
from renderer.film.wall_light import with_wall_light, with_walls_to_pass
from renderer.kernels.entry import PIXEL
from renderer.meter.mark import probes_of
from renderer.world.build import World

NO_PROBES = 0


def traced(world: World, mix: Mix, on: str, samples: int, metered: bool) -> tuple[Film, float, float]:
    """A film of `samples` of each half of each pixel, and seconds on the clock and of the processor."""
    width, height = int(world.camera[0]["width"]), int(world.camera[0]["height"])
    film, warm = (Film.empty(width, height, NO_PROBES, mix) for _ in range(2))
    probes = probes_of([])
    every = np.arange(width * height, dtype=np.int32)
    with pool_on(on, None) as pool:
        walls = with_wall_light if metered else with_walls_to_pass
        scene = walls(pool, world.packed, world.camera, 3)
        pool.run(scene, world.camera, probes, warm.pixels, 9, [(every[:1], PIXEL, range(HALVES), 0, 1)])
        clock, busy = time.perf_counter(), time.process_time()
        pool.run(scene, world.camera, probes, film.pixels, 7, [(every, PIXEL, range(HALVES), 0, samples)])
        return film, time.perf_counter() - clock, time.process_time() - busy


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--size", type=int, nargs=2, default=(640, 800))
    parser.add_argument("--samples", type=int, default=64, help="of each half on the card")
    parser.add_argument("--save", action="store_true", help="add the table to benchmarks/results.md")
    args = parser.parse_args()
    if card_lacks():
        raise SystemExit(card_lacks())
    world, mix = world_of(*args.size)
    rows = []
    for metered in (True, False):
        started = time.perf_counter()
        traced(world, mix, GPU, 1, metered)
        first = time.perf_counter() - started
        same, _, _ = traced(world, mix, GPU, 2, metered)
        own, clock, busy = traced(world, mix, CPU, 2, metered)
        a, b = same.half_luminances(), own.half_luminances()
        sitter = own.sitter()
        apart = np.abs(a - b) > 1e-3 * b.mean()
        _, card, _ = traced(world, mix, GPU, args.samples, metered)
        pixels = args.size[0] * args.size[1] * HALVES / 1e6
        rows.append(
            [
                "walls metered" if metered else "every path followed",
                pixels * args.samples / card,
                pixels * 2 / clock,
                pixels * 2 / busy,
                (pixels * args.samples / card) / (2.0 * pixels * 2 / busy),
                100.0 * float(apart.mean()),
                100.0 * float(a[:, sitter].mean() / b[:, sitter].mean() - 1.0),
                first,
            ]
        )
        print(rows[-1], flush=True)
    head = ["way", "card, M samples/s", f"{usable_cores()} threads, M samples/s", "one core, M samples/s"]
    head += ["card / two cores", "% of values that differ", "mean of sitter, %", "first call, s"]
    report("Graphics card", table(head, rows), {row[0]: row[1:] for row in rows}, args.save)


if __name__ == "__main__":
    main()
