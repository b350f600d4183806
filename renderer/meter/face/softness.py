"""How soft the edges of shadows are: the way from a tenth to nine tenths of the light, in millimetres.

Closed form for a source of width D at a distance a from what casts the shadow, which falls b behind it:
the whole penumbra is D b / a wide (similar triangles).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from renderer.kernels.layout import MESH, WALL, PackedScene
from renderer.meter.face.nose import NoseShadow, bilinear
from renderer.meter.face.points import Tracer
from renderer.meter.face.surface import Head
from renderer.meter.face.visibility import Shadows
from renderer.world.material import SKIN

SAMPLES = 64  # of each point on a line
FAN = (-15.0, -7.5, 0.0, 7.5, 15.0)  # deg to either side of the far end of the nose shadow
LOW, HIGH = 0.1, 0.9
CORE = 0.35  # a shadow that is nowhere darker has no core, and so no edge whose width means anything
NOSE_STEP, NECK_STEP, WALL_STEP = 5e-4, 1e-3, 8e-3  # m between points
WALL_REACH = 0.7  # m to either side of the middle of the head's shadow
NECK = ((-0.054, 0.054), (-0.24, -0.114))  # m, head frame: y and z of the neck that the jaw may shade
NECK_GRID = 0.003  # m between the nodes on which the edge is looked for
NECK_SAMPLES = 16
MIDDLE = (0.3, 0.7)  # visibility of nodes that the edge runs through
LINES = 5  # across the edge, whose median counts
ACROSS = 0.036  # m to either side of such a node
SKULL = (-0.08, 0.0, 0.02)  # middle of the skull in the head frame [m]


@dataclass(frozen=True)
class Edge:
    """width [m], of 0.1 to 0.9; nan where the shadow has no such edge. step: error of it [m]. deepest: least
    visibility met."""

    width: float
    step: float
    deepest: float
    where: str


def edge_of(along: np.ndarray, visibility: np.ndarray, step: float, where: str) -> Edge:
    """The edge on the way from the darkest point to the end of a line.

    along  distances [m] of the points; a shadow that is nowhere darker than LOW has its width from the
    steepest tenth of its rise, as if it went on
    """
    smooth = np.convolve(np.pad(visibility, 1, mode="edge"), [0.25, 0.5, 0.25], mode="valid")
    start = int(smooth.argmin())
    deepest = float(smooth[start])
    rise, way = smooth[start:], along[start:]
    if len(rise) < 4 or rise.max() < HIGH or deepest > CORE:
        return Edge(math.nan, step, deepest, where)
    last = int(np.flatnonzero(rise >= HIGH)[0])
    rise, way = np.maximum.accumulate(rise[: last + 1]), way[: last + 1]
    if deepest <= LOW:
        width = float(np.interp(HIGH, rise, way) - way[np.flatnonzero(rise <= LOW)[-1]])
    else:
        slope = np.diff(rise) / np.diff(way)
        width = (HIGH - LOW) / float(slope.max())
    return Edge(max(width, step), step, deepest, where)


def nose_edge(
    tracer: Tracer, scene: PackedScene, head: Head, shadows: Shadows, nose: NoseShadow, light: int
) -> Edge:
    """Along the skin from the nose out of its shadow: through the far end, and a little to either side."""
    grid = shadows.grid
    along_y, along_z = nose.end[1] - nose.tip[1], nose.end[2] - nose.tip[2]
    apart, way = math.hypot(along_y, along_z), math.atan2(along_z, along_y)
    t = np.arange(0.3 * apart, apart + 0.030, NOSE_STEP)
    found = []
    for turn in np.radians(FAN):
        y, z = nose.tip[1] + math.cos(way + turn) * t, nose.tip[2] + math.sin(way + turn) * t
        x = bilinear(grid.position[..., 0], grid.y, grid.z, y, z)
        normal = np.stack([bilinear(grid.normal[..., k], grid.y, grid.z, y, z) for k in range(3)], axis=1)
        points = np.stack([x, y, z], axis=1)
        good = np.isfinite(points).all(axis=1)
        points, normal = points[good], normal[good]
        if len(points) < 10:
            continue
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        share, bare = tracer.visibility(scene, light, head.to_world(points), head.turn(normal), SAMPLES)
        facing = bare > 0.0
        if facing.sum() > 10:
            steps = np.linalg.norm(np.diff(points[facing], axis=0, prepend=points[facing][:1]), axis=1)
            found.append(edge_of(np.cumsum(steps), share[facing], NOSE_STEP, "nose on cheek or lip"))
    return _middle(found, NOSE_STEP, "nose on cheek or lip")


def _middle(edges: list[Edge], step: float, where: str) -> Edge:
    """The median of several lines across one edge; `step` then holds the error, their spread included."""
    good = [edge for edge in edges if not math.isnan(edge.width)]
    if not good:
        return Edge(math.nan, step, min((edge.deepest for edge in edges), default=1.0), where)
    widths = np.array([edge.width for edge in good])
    spread = float(widths.std() / math.sqrt(len(widths)))
    deepest = float(np.median([edge.deepest for edge in good]))
    return Edge(float(np.median(widths)), math.hypot(spread, step), deepest, where)


def jaw_edge(tracer: Tracer, scene: PackedScene, head: Head, light: int) -> Edge | None:
    """Square across the edge of the jaw's shadow, at places near the middle of the neck.

    None where the neck is all lit or all dark.
    """
    (y_low, y_high), (z_low, z_high) = NECK
    ys, zs = np.arange(y_low, y_high + 1e-9, NECK_GRID), np.arange(z_low, z_high, NECK_GRID)
    y, z = np.meshgrid(ys, zs)
    at, normal, skin = _in_front(tracer, scene, head, y.ravel(), z.ravel())
    share, bare = tracer.visibility(scene, light, at, normal, NECK_SAMPLES)
    good = (skin & (bare > 0.1 * bare.max(initial=0.0))).reshape(y.shape)
    visible = share.reshape(y.shape)
    wide = 2  # nodes to either side that the slope is taken over
    inner = np.zeros_like(good)
    inner[wide:-wide, wide:-wide] = (
        good[wide:-wide, wide:-wide]
        & (good[2 * wide :, wide:-wide] & good[: -2 * wide, wide:-wide])
        & (good[wide:-wide, 2 * wide :] & good[wide:-wide, : -2 * wide])
    )
    on_edge = np.argwhere(inner & (visible > MIDDLE[0]) & (visible < MIDDLE[1]))
    if len(on_edge) == 0:
        return None
    places = _apart(on_edge[np.abs(ys[on_edge[:, 1]]).argsort(kind="stable")])
    lines = [_across(tracer, scene, head, light, visible, ys, zs, place, wide) for place in places]
    return _middle([edge for edge in lines if edge is not None], NECK_STEP, "jaw on neck")


def _apart(places: np.ndarray) -> list[np.ndarray]:
    """The first LINES of the nodes (n, 2) that lie at least three nodes from one another."""
    chosen: list[np.ndarray] = []
    for place in places:
        if all(np.abs(place - other).max() >= 3 for other in chosen):
            chosen.append(place)
        if len(chosen) == LINES:
            break
    return chosen


def _across(
    tracer: Tracer,
    scene: PackedScene,
    head: Head,
    light: int,
    visible: np.ndarray,
    ys: np.ndarray,
    zs: np.ndarray,
    place: np.ndarray,
    wide: int,
) -> Edge | None:
    """The edge on a line through a node, along the steepest rise of the light."""
    i, j = place
    slope = np.array(
        [visible[i, j + wide] - visible[i, j - wide], visible[i + wide, j] - visible[i - wide, j]]
    )
    if not np.linalg.norm(slope) > 0.05:
        return None
    slope /= np.linalg.norm(slope)
    t = np.arange(-ACROSS, ACROSS, NECK_STEP)
    at, normal, skin = _in_front(tracer, scene, head, ys[j] + slope[0] * t, zs[i] + slope[1] * t)
    share, bare = tracer.visibility(scene, light, at, normal, SAMPLES)
    facing = skin & (bare > 0.05 * bare.max(initial=0.0))
    if facing.sum() < 10:
        return None
    steps = np.linalg.norm(np.diff(at[facing], axis=0, prepend=at[facing][:1]), axis=1)
    return edge_of(np.cumsum(steps), share[facing], NECK_STEP, "jaw on neck")


def _in_front(
    tracer: Tracer, scene: PackedScene, head: Head, y: np.ndarray, z: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """World points and normals (n, 3) of what lies behind y, z of the head frame, seen from before the nose,
    and whether it is skin."""
    start = head.to_world(np.stack([np.full_like(y, 0.3), y, z], axis=1))
    back = head.turn(np.array([-1.0, 0.0, 0.0]))
    seen = tracer.seen(scene, start, np.broadcast_to(back, start.shape))
    skin = (seen["family"] == MESH) & (seen["number"] == SKIN)
    distance = np.where(skin, seen["distance"], 0.0)
    return start + distance[:, None] * back, seen["normal"].astype(float), skin


def wall_edge(
    tracer: Tracer, scene: PackedScene, bare: PackedScene, head: Head, light: int, centre: np.ndarray
) -> Edge | None:
    """Level across the head's shadow on the surface of the room that it falls on; None without a room.

    centre  of the light, in the world
    """
    skull = head.to_world(np.array(SKULL))
    away = (skull - centre) / np.linalg.norm(skull - centre)
    seen = tracer.seen(bare, skull[None], away[None])[0]
    if seen["family"] != WALL:
        return None
    normal = seen["normal"].astype(float)
    middle = skull + float(seen["distance"]) * away
    level = np.cross(normal, np.array([0.0, 0.0, 1.0]))
    if np.linalg.norm(level) < 0.5:  # floor or ceiling: square to the light's way
        level = np.cross(normal, away)
    level /= np.linalg.norm(level)
    line = np.arange(0.0, WALL_REACH, WALL_STEP)
    face = ("x-", "x+", "back wall", "front wall", "floor", "ceiling")[int(seen["number"])]
    where = {"x-": "camera-left wall", "x+": "camera-right wall"}.get(face, face)
    found = []
    for side in (1.0, -1.0):
        at = middle + side * line[:, None] * level
        share, light_there = tracer.visibility(scene, light, at, np.broadcast_to(normal, at.shape), SAMPLES)
        reached = light_there > 0.02 * light_there.max(initial=0.0)
        if reached.sum() > 3:
            found.append(edge_of(line[reached], share[reached], WALL_STEP, f"head on {where}"))
    if not found:
        return Edge(math.nan, WALL_STEP, 1.0, f"head on {where}")
    return min(found, key=lambda edge: (math.isnan(edge.width), edge.deepest))
