"""How time and memory grow with pixels, samples, triangles, lights and skirts, and by which exponent.

Every point is a process of its own: processor seconds of one thread for each part of the work, with kernels
loaded beforehand, and peak memory. An exponent is the slope of a straight line through the logarithms; 1 is
linear. Memory is counted beyond what the program takes with its kernels loaded.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.growth_chart import drawn
from benchmarks.made_up_head import written
from benchmarks.measure import ROOT, report, table, timed

PICTURE = Path(__file__).parent / "growth.png"
SIZE, SAMPLES, TRIANGLES = (120, 150), 16, 64_000  # where they are not what is varied
AXES: dict[str, tuple[int, ...]] = {
    "pixels": (4_500, 18_000, 72_000, 288_000),
    "samples": (1, 4, 16, 64),
    "triangles": (1_000, 4_000, 16_000, 64_000, 256_000, 1_000_000, 2_000_000),
    "lights": (1, 2, 4, 8, 16, 32),
    "skirts": (0, 1, 2, 4, 8, 12),  # as many as a cylinder may wear
}
PARTS = ("read", "pack", "trace", "show")
"""Reading and placing the mesh; the tree and all arrays; the picture's paths; taking out its grain."""
MEMORY = "memory"
AT = "around = {{ azimuth = {0:.1f}, distance = 1.0, height = {1:.2f} }}\n"


def scene_text(mesh: Path, size: tuple[int, int], lights: int, skirts: int) -> str:
    """A room with so many discs, and where any skirts are asked for a fabric cylinder that wears them."""
    text = f'[sitter]\neye_height = 1.2\nmesh = "{mesh}"\n[camera]\npicture = [{size[0]}, {size[1]}]\n'
    text += "[room]\nwidth = 4\ndepth = 4\nheight = 2.5\nback_wall = 1.5\n"
    for i in range(lights):
        text += f'[light.disc_{i}]\nsource = "disc"\ndiameter = 0.2\nlumens = 200\n'
        text += AT.format(360.0 * (i + 0.5) / lights - 180.0, 1.4 + 0.02 * i)
    if skirts >= 0:
        text += '[light.hung]\nsource = "cylinder"\ndiameter = 0.5\nlength = 0.35\nlumens = 1000\n'
        text += AT.format(45.0, 1.88)
    for i in range(skirts):  # over the half that faces away from the sitter
        first = 90.0 + 180.0 * i / skirts
        text += f"[[light.hung.skirt]]\ncovers = [{first:.2f}, {first + 144.0 / skirts:.2f}]\n"
    return text


def peak_mb() -> float:
    """Of this process so far; on Linux a child's getrusage would tell of its parent too."""
    status = Path("/proc/self/status")
    if status.exists():
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return float(line.split()[1]) / 1e3 * 1.024
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / 1e6 if sys.platform == "darwin" else most / 1e3 * 1.024


def measured(axis: str, value: int, mesh: Path) -> dict[str, float]:
    """The parts' processor seconds, and megabytes, at one point of an axis."""
    from renderer.film.denoise import denoised
    from renderer.film.film import HALVES, Film
    from renderer.film.mix import Fader, Mix
    from renderer.film.pool import Pool
    from renderer.film.wall_light import with_wall_light
    from renderer.kernels.entry import PIXEL
    from renderer.kernels.layout import PROBE
    from renderer.live.prepare import prepare
    from renderer.scene.load import loads
    from renderer.world import seat
    from renderer.world.build import build

    import_module("trimesh")  # which reading would wait for
    pixels = value if axis == "pixels" else SIZE[0] * SIZE[1]
    wide = round((pixels * 0.8) ** 0.5)
    lights, skirts = (value if axis == "lights" else 1), (value if axis == "skirts" else -1)
    text = scene_text(mesh, (wide, pixels // wide), 0 if axis == "skirts" else lights, skirts)
    samples = value if axis == "samples" else SAMPLES
    prepare("cpu")
    before = peak_mb()
    scene = loads(text, axis)
    packing: list[float] = []
    pack_mesh = seat.pack_mesh

    def packed_mesh(mesh: Any) -> Any:
        spent, packed = timed(lambda: pack_mesh(mesh))
        packing.append(spent)
        return packed

    seat.pack_mesh = packed_mesh
    whole, world = timed(lambda: build(scene))
    camera = world.camera
    with Pool(1) as pool:
        packed = with_wall_light(pool, world.packed, camera, 0)
        mix = Mix(tuple(Fader.of(layer) for layer in world.layers))
        film = Film.empty(int(camera[0]["width"]), int(camera[0]["height"]), 0, mix)
        every = np.arange(film.width * film.height, dtype=np.int32)
        jobs = [(every, PIXEL, range(HALVES), 0, samples)]
        none = np.zeros(0, PROBE)
        trace, _ = timed(lambda: pool.run(packed, camera, none, film.pixels, 0, jobs))
    show, _ = timed(lambda: denoised(film.layers(0.0, 0, False), threads=1))
    parts = dict(zip(PARTS, (whole - sum(packing), sum(packing), trace, show), strict=True))
    return parts | {MEMORY: peak_mb() - before, "peak": peak_mb()}


def previewed(mesh: Path) -> dict[str, float]:
    """The whole of a preview, 320 x 400 within 0.3 stop, its files too: processor seconds and megabytes."""
    from renderer.live.prepare import prepare
    from renderer.preview import Preview
    from renderer.record import write
    from renderer.scene.load import loads

    prepare("cpu")
    scene = loads(scene_text(mesh, (320, 400), 1, 1), "preview")
    spent, preview = timed(lambda: Preview.trace(scene, within=0.3, on="cpu"))
    saved, _ = timed(lambda: write(preview, mesh.parent / "out"))
    return {"trace": spent, "write": saved, "peak": peak_mb()}


def point(axis: str, value: int, mesh: Path) -> dict[str, float]:
    """A point, measured in a process of its own."""
    command = [sys.executable, "-m", "benchmarks.growth", "--point", axis, str(value), str(mesh)]
    done = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True)
    return dict(json.loads(done.stdout.splitlines()[-1]))


def exponent(values: list[float], spent: list[float]) -> float:
    """Slope of the straight line, by least squares, through the logarithms."""
    return float(np.polyfit(np.log(values), np.log(spent), 1)[0])


def rows_of(axis: str, points: dict[int, dict[str, float]]) -> list[list[Any]]:
    """Of every part: at the first and the last point, the exponent over all, and over the last three."""
    values = [value for value in points if value > 0]
    rows = []
    for part in (*PARTS, MEMORY):
        spent = [max(points[value][part], 1e-3) for value in values]
        unit = "MB" if part == MEMORY else "s"
        over_all, last = exponent(values, spent), exponent(values[-3:], spent[-3:])
        ends = [f"{spent[0]:.3g} {unit}", f"{spent[-1]:.3g} {unit}"]
        rows.append([axis, f"{values[0]} to {values[-1]}", part, *ends, f"{over_all:.2f}", f"{last:.2f}"])
    return rows


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--axes", nargs="+", choices=AXES, default=list(AXES))
    parser.add_argument("--save", action="store_true", help="add the table to results.md, draw growth.png")
    parser.add_argument("--point", nargs=3, help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.point:
        axis, value, mesh = args.point[0], int(args.point[1]), Path(args.point[2])
        print(json.dumps(previewed(mesh) if axis == "preview" else measured(axis, value, mesh)))
        return
    rows, figures = [], {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        usual, _ = written(folder, TRIANGLES)
        for axis in args.axes:
            points = {}
            for value in AXES[axis]:
                mesh, count = written(folder, value) if axis == "triangles" else (usual, value)
                points[count] = point(axis, value, mesh)
                print(f"{axis} {count}: {points[count]}", file=sys.stderr)
            rows += rows_of(axis, points)
            figures[axis] = points
        large, count = written(folder, max(AXES["triangles"]))
        whole = point("preview", 0, large)
    text = table(
        ["of", "from, to", "part", "first", "last", "exponent", "exponent of the last three"], rows
    ) + (
        f"\n\nA preview of 320 x 400 pixels within 0.3 stop, of a sitter of {count} triangles, with files:"
        f" {whole['trace'] + whole['write']:.0f} processor seconds, {whole['peak']:.0f} MB at most."
    )
    report("Growth", text, figures | {"preview": whole}, args.save)
    if args.save:
        drawn(figures, (*PARTS, MEMORY)).save(PICTURE)


if __name__ == "__main__":
    main()
