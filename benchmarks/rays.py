"""Rays per processor second against embreex (Embree), one thread, on the bundled sitter.

Coherent rays leave the camera, pixel by pixel; incoherent ones leave the skin at those pixels, each in a
random direction of its hemisphere, as the second rays of paths do. "Any hit" asks up to 3 m and 1 m.
Both programs answer the same rays in turn; the ratio is the median over the rounds. Embreex takes rays
in calls of a whole array and answers first hits by the number of the triangle only; ours also gives
distance and barycentrics.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable

import numpy as np

from benchmarks.measure import report, table, timed, world_of
from renderer.kernels.compiler import entry
from renderer.kernels.layout import STACK, Mesh
from renderer.kernels.mesh import any_triangle, first_triangle
from renderer.kernels.ray import STACK_SIZE

Rays = tuple[np.ndarray, np.ndarray, float]
"""Origins and directions (n, 3) float64, and how far they reach [m]."""


@entry
def first_all(mesh, origins, directions, reach, stack, found):  # type: ignore[no-untyped-def]
    lanes = np.empty(8, np.float32)
    for i in range(origins.shape[0]):
        o = (origins[i, 0], origins[i, 1], origins[i, 2])
        d = (directions[i, 0], directions[i, 1], directions[i, 2])
        found[i], _, _, _ = first_triangle(mesh, o, d, reach, stack, lanes)


@entry
def any_all(mesh, origins, directions, reach, stack, found):  # type: ignore[no-untyped-def]
    lanes = np.empty(8, np.float32)
    for i in range(origins.shape[0]):
        o = (origins[i, 0], origins[i, 1], origins[i, 2])
        d = (directions[i, 0], directions[i, 1], directions[i, 2])
        found[i] = 1 if any_triangle(mesh, o, d, reach, stack, lanes) else 0


def camera_rays(camera: np.void) -> tuple[np.ndarray, np.ndarray]:
    row, column = np.indices((int(camera["height"]), int(camera["width"])))
    x = (column + 0.5 - 0.5 * camera["width"]).reshape(-1, 1)
    y = (row + 0.5 - 0.5 * camera["height"]).reshape(-1, 1)
    d = camera["forward"] + x * camera["step_right"] + y * camera["step_down"]
    d /= np.linalg.norm(d, axis=1, keepdims=True)
    return np.tile(camera["at"], (len(d), 1)).astype(float), np.ascontiguousarray(d)


def skin_rays(
    mesh: Mesh, directions: np.ndarray, hits: np.ndarray, seed: int
) -> tuple[np.ndarray, np.ndarray]:
    """Rays from the middle of each triangle that was hit, uniform over the side that faces the camera."""
    rng = np.random.default_rng(seed)
    met = hits >= 0
    corners = mesh.triangles[hits[met]].astype(float)
    normal = np.cross(corners[:, 3:6], corners[:, 6:9])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    normal *= -np.sign(np.sum(normal * directions[met], axis=1, keepdims=True))
    d = rng.normal(size=normal.shape)
    d /= np.linalg.norm(d, axis=1, keepdims=True)
    d *= np.where(np.sum(d * normal, axis=1, keepdims=True) < 0.0, -1.0, 1.0)
    origin = corners[:, :3] + (corners[:, 3:6] + corners[:, 6:9]) / 3.0 + 1e-4 * normal
    return np.ascontiguousarray(origin), np.ascontiguousarray(d)


def questions(mesh: Mesh, rays: Rays) -> dict[str, tuple[Callable[[], np.ndarray], Callable[[], np.ndarray]]]:
    """For each question, our way and embreex's to answer it: arrays of triangle numbers or of 0 and 1."""
    from embreex import rtcore_scene
    from embreex.mesh_construction import TriangleMesh

    first = mesh.triangles[:, :3]
    corners = np.stack([first, first + mesh.triangles[:, 3:6], first + mesh.triangles[:, 6:]], axis=1)
    scene = rtcore_scene.EmbreeScene()
    TriangleMesh(scene, np.ascontiguousarray(corners, np.float32))
    origins, directions, reach = rays
    stack = np.empty(STACK_SIZE, STACK)
    found = np.empty(len(origins), np.int32)
    single = origins.astype(np.float32), directions.astype(np.float32)
    limits = np.full(len(origins), reach, np.float32)

    def own_first() -> np.ndarray:
        first_all(mesh, origins, directions, np.inf, stack, found)
        return found.copy()

    def own_any() -> np.ndarray:
        any_all(mesh, origins, directions, reach, stack, found)
        return found.copy()

    def their_first() -> np.ndarray:
        return np.asarray(scene.run(*single))

    def their_any() -> np.ndarray:
        return (np.asarray(scene.run(*single, limits, query="OCCLUDED")) >= 0).astype(np.int32)

    return {"first hit": (own_first, their_first), "any hit": (own_any, their_any)}


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--save", action="store_true", help="add the table to benchmarks/results.md")
    args = parser.parse_args()
    world, _ = world_of(640, 800)
    mesh = world.packed.mesh
    origins, directions = camera_rays(world.camera[0])
    hits = np.empty(len(origins), np.int32)
    first_all(mesh, origins, directions, np.inf, np.empty(STACK_SIZE, STACK), hits)
    sets: dict[str, Rays] = {
        "coherent": (origins, directions, 3.0),
        "incoherent": (*skin_rays(mesh, directions, hits, 3), 1.0),
    }
    rows, figures = [], {}
    for name, rays in sets.items():
        for question, (own, their) in questions(mesh, rays).items():
            same = float(np.mean(own() == their()))
            times = [
                (timed(own, time.thread_time)[0], timed(their, time.thread_time)[0])
                for _ in range(args.rounds)
            ]
            own_s, their_s = np.median(times, axis=0)
            ratio = float(np.median([t / o for o, t in times]))
            million = len(rays[0]) / 1e6
            rows.append(
                [f"{name}, {question}", million / own_s, million / their_s, ratio, f"{100 * same:.3f} %"]
            )
            figures[f"{name}, {question}"] = {
                "ours": million / own_s,
                "embreex": million / their_s,
                "ratio": ratio,
            }
    head = ["rays", "ours, million/s", "embreex, million/s", "ours / embreex", "same answers"]
    text = f"{len(mesh.triangles)} triangles, one thread, processor time\n\n"
    report("Rays", text + table(head, rows), figures, args.save)


if __name__ == "__main__":
    main()
