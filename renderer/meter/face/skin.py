"""Groups of points on the skin, each metered as one: named patches, lids, and fields of the forehead."""

from __future__ import annotations

import math

import numpy as np

from renderer.kernels.layout import MESH, PackedScene
from renderer.meter.face.eye import eye_nodes
from renderer.meter.face.points import Tracer
from renderer.meter.face.surface import Grid, Head
from renderer.world.build import World
from renderer.world.material import SKIN

POINTS = 64  # about, of a patch
FIELD = 0.0165  # m: a field of the forehead, the width of a spot that the eye takes as one; odd in nodes
FIELD_POINTS = 16
FIELD_FULL = 0.6  # of a field's nodes that must be skin
NECK_TO = 0.060  # m under the chin that still counts as under it
NECK_WIDE, NECK_STEP = 0.048, 0.004  # m: half the width that is looked at; between points
Group = tuple[np.ndarray, np.ndarray]
"""Points (n, 3) and outward unit normals (n, 3), in the world."""


def groups_of(tracer: Tracer, world: World, scene: PackedScene, head: Head, grid: Grid) -> dict[str, Group]:
    """All groups that can be had, by name; sitter's left and right end in _l and _r."""
    groups: dict[str, Group] = {}
    for name in ("forehead_centre", "chin_front", "nose_bridge", "nose_tip"):
        groups[name] = _nodes(grid, head, grid.of_patches(name), POINTS)
    left = grid.position[..., 1] > 0.0
    for side, half in (("l", left), ("r", ~left)):
        groups[f"malar_{side}"] = _nodes(grid, head, grid.of_patches("malar") & half, POINTS)
        pupil = head.from_world(world.landmarks[f"pupil_{side}"].position)
        groups[f"eye_{side}"] = _nodes(grid, head, eye_nodes(grid, pupil), POINTS)
    groups["under_chin"] = _under_chin(tracer, world, scene, head)
    for number, (at, normal) in enumerate(_fields(world, head, grid)):
        groups[f"field_{number}"] = at, normal
    return {name: group for name, group in groups.items() if len(group[0])}


def _nodes(grid: Grid, head: Head, where: np.ndarray, count: int) -> Group:
    """Nodes of every k-th row and column, counted from the middle of the face, with the least k that leaves
    about `count`: even over the patch as seen from the front, and the same on both sides."""
    total = int(where.sum())
    k = max(1, round(math.sqrt(total / count)))
    chosen = where & (np.arange(len(grid.z)) % k == 0)[:, None]
    chosen = chosen & ((np.arange(len(grid.y)) - len(grid.y) // 2) % k == 0)
    if not chosen.any():
        chosen = where
    return head.to_world(grid.position[chosen]), head.turn(grid.normal[chosen])


def _fields(world: World, head: Head, grid: Grid) -> list[Group]:
    """Squares of the forehead between brows and hair."""
    brow = float(head.from_world(world.landmarks["glabella"].position)[2]) + 0.008
    y, z = grid.position[..., 1], grid.position[..., 2]
    skin = (grid.material == SKIN) & (z > brow) & (grid.normal[..., 0] > 0.4)
    column, row = np.floor(y / FIELD + 0.5).astype(int), np.floor((z - brow) / FIELD).astype(int)
    fields = []
    full = FIELD_FULL * (FIELD / grid.step) ** 2
    for i in range(int(row.max()) + 1):
        for j in range(int(column.min()), int(column.max()) + 1):
            inside = skin & (row == i) & (column == j)
            if inside.sum() >= full:
                fields.append(_nodes(grid, head, inside, FIELD_POINTS))
    return fields


def _under_chin(tracer: Tracer, world: World, scene: PackedScene, head: Head) -> Group:
    """Skin under the chin and on the upper neck, evenly over the picture: what the lens sees of it."""
    chin = head.from_world(world.landmarks["menton"].position)
    y, z = np.meshgrid(
        np.arange(-NECK_WIDE, NECK_WIDE + 1e-9, NECK_STEP), np.arange(-NECK_TO, 0.02, NECK_STEP)
    )
    # rays through an upright lattice at the depth of the throat
    lattice = np.stack([np.full(y.size, chin[0] - 0.04), y.ravel(), chin[2] + z.ravel()], axis=1)
    lens = np.array(world.scene.camera.at)
    ray = head.to_world(lattice) - lens
    ray /= np.linalg.norm(ray, axis=1, keepdims=True)
    seen = tracer.seen(scene, np.broadcast_to(lens, ray.shape), ray)
    skin = (seen["family"] == MESH) & (seen["number"] == SKIN)
    at = lens + seen["distance"][skin].astype(float)[:, None] * ray[skin]
    under = np.abs(head.from_world(at)[:, 2] - chin[2] + 0.5 * NECK_TO) < 0.5 * NECK_TO
    return at[under], seen["normal"][skin][under].astype(float)
