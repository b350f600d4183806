"""Whether light gets into the eyes: the nodes that tell, and how far the brow is from cutting it off."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from renderer.kernels.layout import MESH, PackedScene
from renderer.meter.face.points import Tracer
from renderer.meter.face.source import Source, angles, look_at
from renderer.meter.face.surface import Grid, Head
from renderer.world.material import EYES, FINE_HAIR

DISC = 0.006  # m: radius about the pupil, along the gaze, that counts as lid and front of the eye
OFF_EYE = 3e-4  # m before the cornea where rays start
STEP = 0.5  # deg between rays
HIGHEST = 89.5  # deg


def eye_nodes(grid: Grid, pupil: np.ndarray) -> np.ndarray:
    """(nz, ny) bool: nodes on the upper lid and the open front of the eye; `pupil` in the head frame [m]."""
    y, z = grid.position[..., 1], grid.position[..., 2]
    near = np.hypot(y - pupil[1], z - pupil[2]) <= DISC
    return np.asarray(near & (np.isin(grid.material, EYES) | grid.of_patches("upper_lid")))


@dataclass(frozen=True)
class BrowMargin:
    """Degrees, in the head frame: lowest elevation that the brow hides from the eye, elevation of the
    source's lower edge, and how much lower the edge stands. cut_off is 90 where nothing hides the sky."""

    cut_off: float
    lower_edge: float

    @property
    def margin(self) -> float:
        return self.cut_off - self.lower_edge


def brow_margin(
    tracer: Tracer, scene: PackedScene, bare: PackedScene, head: Head, light: int, pupil: np.ndarray
) -> BrowMargin | None:
    """For the eye whose cornea has its apex at the world point `pupil`; None if no light comes there."""
    gaze = head.turn(np.array([1.0, 0.0, 0.0]))
    at = pupil + OFF_EYE * gaze
    source = look_at(tracer, bare, light, at)
    if source is None:
        return None
    azimuth, _ = angles(head.turn_back(source.to_middle))
    return BrowMargin(cut_off(tracer, scene, head, at, azimuth), lower_edge(head, source))


def lower_edge(head: Head, source: Source) -> float:
    """Elevation [deg, head frame] of the lowest direction in which the light is seen."""
    x, y, z = head.turn_back(source.directions).T
    return float(np.degrees(np.arctan2(z, np.hypot(x, y))).min())


def cut_off(tracer: Tracer, scene: PackedScene, head: Head, at: np.ndarray, azimuth: float) -> float:
    """Lowest elevation [deg] from which up the sitter's own head hides a plane of the sky, lashes apart.

    at       world point before the cornea; azimuth [deg] from the nose, to the sitter's left
    """
    elevation = np.radians(np.arange(0.0, HIGHEST + STEP, STEP))
    turn = math.radians(azimuth)
    level = np.cos(elevation)
    rays = np.stack([level * math.cos(turn), level * math.sin(turn), np.sin(elevation)], axis=1)
    seen = tracer.seen(scene, np.broadcast_to(at, rays.shape), head.turn(rays), past=(FINE_HAIR,))
    free = np.flatnonzero(seen["family"] != MESH)
    if len(free) == 0:
        return 0.0
    return float(min(90.0, math.degrees(elevation[free[-1]]) + 0.5 * STEP))
