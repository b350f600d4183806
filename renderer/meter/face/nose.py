"""The shadow that the nose casts: how long it is, which way it points, whether it joins the cheek's."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from renderer.meter.face.region import label, region_of
from renderer.meter.face.visibility import EDGE, Shadows

SHORTEST = 0.004  # m; less is no cast shadow of the nose
AROUND_NOSE = 0.003  # m beside the wings where its shadow begins
TO_CHEEK = 0.012  # m outside the corner of the mouth: a shadow that gets there is the cheek's


@dataclass(frozen=True)
class Points:
    """Landmarks in the head frame [m] that the tests of shape refer to, mirrored to one side."""

    glabella: np.ndarray
    nasion: np.ndarray
    tip: np.ndarray
    base: np.ndarray  # subnasale
    lip: np.ndarray  # labiale superius
    stomion: np.ndarray
    chin: np.ndarray
    wing: np.ndarray  # alare, at positive y
    corner: np.ndarray  # cheilion, at positive y
    inner: np.ndarray  # endocanthion, at positive y
    outer: np.ndarray  # exocanthion, at positive y

    @property
    def philtrum(self) -> float:
        return float(self.base[2] - self.lip[2])

    @property
    def eye_width(self) -> float:
        return float(self.outer[1] - self.inner[1])


@dataclass(frozen=True)
class NoseShadow:
    """length along the skin, from subnasale or the wing to the edge [m]; drop of the edge under subnasale
    [m]; off_vertical: angle of the line from the tip to the middle of the shadow from straight down, positive
    to the shadow side [deg]; tip, end (3,) head frame; deepest: least visibility near the nose."""

    length: float
    error: float
    drop: float
    off_vertical: float
    tip: np.ndarray
    end: np.ndarray
    joined: bool
    deepest: float

    @property
    def exists(self) -> bool:
        return self.length >= SHORTEST


def nose_shadow(shadows: Shadows, points: Points, shadow_side: float) -> NoseShadow:
    """shadow_side: sign of the head frame's y on the side away from the light."""
    grid = shadows.grid
    y, z = grid.position[..., 1], grid.position[..., 2]
    band = (z < 0.6 * points.tip[2]) & (z > points.stomion[2])
    dark = shadows.dark & band
    wing, base = points.wing[1], points.base[2]
    seeds = dark & (np.abs(y) < wing + AROUND_NOSE) & (z < points.wing[2] + 0.002) & (z > base - 0.006)
    region = region_of(label(dark), seeds)
    cheek = points.corner[1] + TO_CHEEK
    joined = bool((region & (shadow_side * y > cheek)).any())
    on_lip = z < base - 0.5 * grid.step
    beside = (np.abs(y) > wing + grid.step) & (z < points.wing[2])
    beyond = region & (on_lip | beside) & (np.abs(y) <= cheek)
    near = shadows.face & band & (np.abs(y) < cheek) & (on_lip | beside) & ~shadows.form
    deepest = float(shadows.visibility[near].min(initial=1.0))
    tip = points.tip
    if not beyond.any():
        return NoseShadow(0.0, grid.step, 0.0, 0.0, tip, points.base, joined, deepest)
    cells = grid.position[beyond]
    foot = np.array([0.0, wing, points.wing[2] - 0.006])  # where the wing meets the cheek
    aside = np.abs(cells[:, 1]) > wing
    from_foot = np.hypot(np.abs(cells[:, 1]) - wing, cells[:, 2] - foot[2])
    from_base = np.hypot(cells[:, 1], cells[:, 2] - base)
    end = cells[np.where(aside, from_foot, from_base).argmax()]
    start = foot * [1.0, math.copysign(1.0, end[1]), 1.0] if abs(end[1]) > wing else points.base
    middle = cells.mean(axis=0)
    length = _along_skin(shadows, start, end)
    return NoseShadow(
        length,
        grid.step,
        float(points.base[2] - cells[:, 2].min()),
        math.degrees(math.atan2(shadow_side * middle[1], tip[2] - middle[2])),
        tip,
        end,
        joined,
        deepest,
    )


def _along_skin(shadows: Shadows, start: np.ndarray, end: np.ndarray) -> float:
    """Length [m] of the line over the skin whose front view is straight, out to the edge beyond `end`."""
    grid = shadows.grid
    apart = math.hypot(end[1] - start[1], end[2] - start[2])
    if apart < 1e-6:
        return 0.0
    t = np.arange(0.0, apart + 4 * grid.step, 0.25 * grid.step)
    y = start[1] + (end[1] - start[1]) / apart * t
    z = start[2] + (end[2] - start[2]) / apart * t
    x = bilinear(grid.position[..., 0], grid.y, grid.z, y, z)
    visible = bilinear(shadows.visibility, grid.y, grid.z, y, z)
    beyond = np.flatnonzero((t >= apart - 1e-9) & (visible >= EDGE))
    last = int(beyond[0]) if len(beyond) else int(np.searchsorted(t, apart))
    path = np.stack([x, y, z], axis=1)[: last + 1]
    path = path[np.isfinite(path).all(axis=1)]
    return float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())


def bilinear(values: np.ndarray, ys: np.ndarray, zs: np.ndarray, y: np.ndarray, z: np.ndarray) -> np.ndarray:
    """Values (nz, ny) of a regular grid between its nodes; points outside take the nearest edge."""
    step = ys[1] - ys[0]
    j = np.clip((y - ys[0]) / step, 0, len(ys) - 1.001)
    i = np.clip((z - zs[0]) / step, 0, len(zs) - 1.001)
    j0, i0 = j.astype(int), i.astype(int)
    fj, fi = j - j0, i - i0
    below = values[i0, j0] * (1 - fj) + values[i0, j0 + 1] * fj
    above = values[i0 + 1, j0] * (1 - fj) + values[i0 + 1, j0 + 1] * fj
    return np.asarray(below * (1 - fi) + above * fi)
