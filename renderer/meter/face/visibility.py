"""The key's shadows on the face: which share of its direct light reaches each node of the grid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from renderer.meter.face.points import Tracer
from renderer.meter.face.region import median3
from renderer.meter.face.surface import Grid, Head
from renderer.world.build import World

STEP = 0.0015  # m between nodes
WIDTH, HEIGHT = (
    (-0.0795, 0.0795),
    (-0.126, 0.090),
)  # m of the head frame that a face lies in; a node in the middle
SAMPLES = 16  # of each node
EDGE = 0.5  # visibility at the edge of a shadow
FORM = 0.10  # of the greatest unoccluded illuminance: less is form shadow


@dataclass(frozen=True)
class Shadows:
    """Maps over the grid of the face, one light, direct light only.

    face        (nz, ny) bool: the nodes that count
    visibility  share of the light that the sitter lets pass (1 outside the mask)
    open        illuminance with nobody there [lux] (0 outside the mask)
    """

    grid: Grid
    face: np.ndarray
    visibility: np.ndarray
    open: np.ndarray

    @property
    def form(self) -> np.ndarray:
        """Turned so far away from the light that it would be dark with nothing before it."""
        return np.asarray(self.face & (self.open < FORM * self.open.max(initial=0.0)))

    @property
    def lit(self) -> np.ndarray:
        return np.asarray(self.face & ~self.form & (self.visibility >= EDGE))

    @property
    def dark(self) -> np.ndarray:
        return np.asarray(self.face & ~self.lit)

    def mean(self, where: np.ndarray) -> float:
        """Mean direct illuminance [lux] over nodes of the mask."""
        chosen = where & self.face
        return float((self.visibility * self.open)[chosen].mean()) if chosen.any() else 0.0


def shadows(tracer: Tracer, world: World, head: Head, grid: Grid, light: int) -> Shadows:
    """Trace the direct light of one light over the face."""
    face = grid.face(chin=float(head.from_world(world.landmarks["menton"].position)[2]) + 0.003)
    at, normal = head.to_world(grid.position[face]), head.turn(grid.normal[face])
    share, bare = tracer.visibility(world.packed, light, at, normal, SAMPLES)
    visibility, open_ = np.ones(face.shape), np.zeros(face.shape)
    visibility[face], open_[face] = share, bare
    return Shadows(grid, face, np.where(face, median3(visibility), 1.0), open_)
