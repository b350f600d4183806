"""Light at points and what is seen along rays, traced by the same kernel as everything else."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from renderer.colour import luminance
from renderer.film.pool import Pool
from renderer.kernels import layout
from renderer.kernels.entry import PROBE
from renderer.world.pack import pack_mesh
from renderer.world.shape_tree import pack_shape_tree
from renderer.world.shining import shining

OFF = 2e-4  # m that a receptor stands off the skin: more than the mesh departs from its smooth form
MOST_PASSED, PAST = 16, 2e-5  # surfaces that one ray may look through; m from one to the next


def without_sitter(scene: layout.PackedScene) -> layout.PackedScene:
    """The same lights, skirts, cards and flags in the same room, nobody in the chair."""
    return scene._replace(mesh=pack_mesh(None), lenses=scene.lenses[:0])


def without_bounce(scene: layout.PackedScene) -> layout.PackedScene:
    """Everything black: only light that comes straight is left, and paths are short."""
    shapes, room = scene.shapes.copy(), scene.room.copy()
    shapes["front"] = shapes["back"] = 0.0
    room["albedo"] = 0.0
    mesh = scene.mesh._replace(albedos=np.zeros_like(scene.mesh.albedos))
    return scene._replace(shapes=shapes, room=room, mesh=mesh, materials=np.zeros_like(scene.materials))


def with_light_only(scene: layout.PackedScene, number: int) -> layout.PackedScene:
    """One light, now number 0; the others stand where they stood, dark."""
    return shining(scene, [number])


def with_shapes(scene: layout.PackedScene, shapes: np.ndarray) -> layout.PackedScene:
    """Other shapes (SHAPE records) in the same place, and no room about them."""
    room = scene.room.copy()
    room["present"] = 0
    nodes, links = pack_shape_tree(shapes)
    cards = scene.cards[:0]
    return scene._replace(shapes=shapes, shape_nodes=nodes, shape_links=links, cards=cards, room=room)


@dataclass(frozen=True)
class Tracer:
    """Threads, the camera record (which probes do not need, but the kernel reads) and a seed."""

    pool: Pool
    camera: np.ndarray
    seed: int

    def arriving(
        self,
        scene: layout.PackedScene,
        at: np.ndarray,
        normal: np.ndarray,
        samples: int,
        replicas: int = 1,
        kind: int = layout.FLAT,
        off: float = OFF,
    ) -> np.ndarray:
        """Light on receptors: (replicas, points, lights, 2, 3) lux as RGB, direct and bounced.

        at, normal  (points, 3); the receptor stands `off` metres off `at`
        """
        probes = np.zeros(len(at), layout.PROBE)
        probes["kind"], probes["at"], probes["axis"] = kind, at + off * normal, normal
        tally = Pool.tally(replicas, len(at), len(scene.lights))
        jobs = self._jobs(len(at), range(replicas), samples)
        self.pool.run(scene, self.camera, probes, tally, self.seed, jobs)
        return np.asarray(tally.radiance, float) / samples

    def seen(
        self, scene: layout.PackedScene, at: np.ndarray, direction: np.ndarray, past: Collection[int] = ()
    ) -> np.ndarray:
        """SEEN records (points,) of what lies along rays; `number` of a shape, or material of a mesh.

        past  materials that are looked through, as lashes may be; distances count from `at` all the same
        """
        found = self._seen(scene, at, direction)
        gone = np.zeros(len(found))
        for _ in range(MOST_PASSED if past else 0):
            through = np.flatnonzero((found["family"] == layout.MESH) & np.isin(found["number"], list(past)))
            if len(through) == 0:
                break
            gone[through] = found["distance"][through] + PAST
            ahead = at[through] + gone[through][:, None] * direction[through]
            further = self._seen(scene, ahead, direction[through])
            further["distance"] += gone[through].astype(np.float32)
            found[through] = further
        return found

    def looked(self, scene: layout.PackedScene, at: np.ndarray, direction: np.ndarray) -> np.ndarray:
        """Radiance (points, lights, 3) of lights along rays, in a scene without bounce."""
        probes = np.zeros(len(direction), layout.PROBE)
        probes["kind"], probes["at"], probes["axis"] = layout.CONE, at, direction
        tally = Pool.tally(1, len(probes), len(scene.lights))
        self.pool.run(scene, self.camera, probes, tally, self.seed, self._jobs(len(probes), range(1), 1))
        return np.asarray(tally.radiance[0, :, :, 0], float)

    def _seen(self, scene: layout.PackedScene, at: np.ndarray, direction: np.ndarray) -> np.ndarray:
        probes = np.zeros(len(direction), layout.PROBE)
        probes["kind"], probes["at"], probes["axis"] = layout.SIGHT, at, direction
        tally = Pool.tally(1, len(probes), 1, seen=len(probes))
        self.pool.run(scene, self.camera, probes, tally, self.seed, self._jobs(len(probes), range(1), 1))
        return tally.seen

    def visibility(
        self, scene: layout.PackedScene, light: int, at: np.ndarray, normal: np.ndarray, samples: int
    ) -> tuple[np.ndarray, np.ndarray]:
        """(points,) share of a light's direct illuminance that the sitter lets pass, and the illuminance
        [lux] with nobody there.

        Both use the same points of the light, so that the share is exact where nothing is hidden.
        """
        black = with_light_only(without_bounce(scene), light)
        with_head = luminance(self.arriving(black, at, normal, samples)[0, :, 0, 0])
        bare = luminance(self.arriving(without_sitter(black), at, normal, samples)[0, :, 0, 0])
        return np.divide(with_head, bare, out=np.zeros_like(bare), where=bare > 0.0), bare

    def _jobs(
        self, count: int, halves: Sequence[int], samples: int
    ) -> list[tuple[np.ndarray, int, Sequence[int], int, int]]:
        receivers, few = np.arange(count, dtype=np.int32), self.pool.few
        return [(receivers[i : i + few], PROBE, halves, 0, samples) for i in range(0, count, few)]


def shapes_seen(seen: np.ndarray, others: Collection[int] = ()) -> np.ndarray:
    """(n,) shape that each ray met, if it was the open face of a light or is one of `others`; else -1."""
    number = np.where(seen["family"] == layout.PART, seen["number"], -1)
    return np.where((seen["emits"] > 0) | np.isin(number, list(others)), number, -1)


def lights_seen(scene: layout.PackedScene, seen: np.ndarray) -> np.ndarray:
    """(n,) light whose open face each ray met, -1 for none."""
    number = shapes_seen(seen)
    return np.where(number >= 0, scene.shapes["light"][number], -1)
