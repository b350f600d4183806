"""Rays from the camera that spectacle lenses mirror, in many poses of the head at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from renderer.kernels import layout
from renderer.meter.face.points import with_shapes
from renderer.meter.face.surface import Head
from renderer.scene.place import head_to_world
from renderer.world.build import World

SHOWN = 0.125  # of the luminance of a light's face: from there a ray counts as showing it (own choice)
OFF = 2e-5  # m before the lens where mirrored rays start


@dataclass(frozen=True)
class Lattice:
    """points (n, 3) in the head frame [m] that the camera looks at through lens number `lens`."""

    lens: int
    part: str
    points: np.ndarray

    @classmethod
    def of_lens(cls, lens: np.void, number: int, head: Head, step: float) -> Lattice:
        """Points of the lens itself, `step` [m] apart as seen square to it."""
        lines = [np.arange(0.5 * step - half, half, step) for half in (lens["half_u"], lens["half_v"])]
        x, y = (it.ravel() for it in np.meshgrid(*lines))
        inside = _within(lens, x, y)
        return cls(number, "lens", _on_lens(lens, x[inside], y[inside], head))

    @classmethod
    def of_edge(cls, lens: np.void, number: int, head: Head, count: int) -> Lattice:
        """Points along the outline: an image comes in over it."""
        turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
        c, s = 0.999 * np.cos(turn), 0.999 * np.sin(turn)
        power = 2.0 / lens["corner"]
        x, y = np.sign(c) * np.abs(c) ** power, np.sign(s) * np.abs(s) ** power
        x = np.where((x * lens["cut"] < 0.0) & (y < 0.0), x / (1.0 - abs(lens["cut"]) * y), x)
        return cls(number, "edge", _on_lens(lens, lens["half_u"] * x, lens["half_v"] * y, head))


def _on_lens(lens: np.void, x: np.ndarray, y: np.ndarray, head: Head) -> np.ndarray:
    """Points (n, 3) of the head frame that lie x across and y up a lens [m]."""
    depth = np.sqrt(lens["radius"] ** 2 - x**2 - y**2)
    off = x[:, None] * lens["u"] + y[:, None] * lens["v"] + depth[:, None] * lens["w"]
    return head.from_world(lens["centre"] + off)


def _within(lens: np.void, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Whether places across and up a lens [m] lie on it: see `renderer.kernels.lens.within_outline`."""
    x, y = x / lens["half_u"], y / lens["half_v"]
    x = np.where((x * lens["cut"] < 0.0) & (y < 0.0), x * (1.0 - abs(lens["cut"]) * y), x)
    return np.asarray(np.abs(x) ** lens["corner"] + np.abs(y) ** lens["corner"] <= 1.0)


@dataclass(frozen=True)
class Field:
    """Camera (world), head as written, lenses as written (world), and the sitter with nothing about him."""

    world: World
    head: Head
    camera: np.ndarray
    sitter_alone: layout.PackedScene

    @classmethod
    def of(cls, worn: World, head: Head) -> Field:
        alone = with_shapes(worn.packed, worn.packed.shapes[:0])
        return cls(worn, head, np.array(worn.scene.camera.at, float), alone)

    def rows(self, pitch: float, yaw: float) -> np.ndarray:
        """Rows of the head's matrix, turned from the pose as written by so many degrees."""
        sitter = self.world.scene.sitter
        turned = {"head_pitch": sitter.head_pitch + pitch, "head_yaw": sitter.head_yaw + yaw}
        return np.array(head_to_world(sitter.model_copy(update=turned), self.world.scene.camera)[0])

    def as_posed(self, rays: Aimed, some: np.ndarray) -> tuple[np.ndarray, ...]:
        """Some of the rays as the head in the pose as written would have them: camera, way from it, start of
        the mirrored ray and its way, all (n, 3) in the world."""
        eye, start, way = rays.head_eye[some], rays.head_start[some], rays.head_way[some]
        view = start - eye
        view /= np.linalg.norm(view, axis=1, keepdims=True)
        to, turn = self.head.to_world, self.head.turn
        return to(eye), turn(view), to(start), turn(way)


@dataclass(frozen=True)
class Aimed:
    """Rays (n,) that a lens mirrors, by pose (row, column of pitch and yaw [deg]) and lattice.

    start, way  of the mirrored ray in the world, the head in its pose; head_*: of camera, start and way in
                the head frame; distance: from the camera [m]; mirrored: part of the light
    """

    start: np.ndarray
    way: np.ndarray
    head_eye: np.ndarray
    head_start: np.ndarray
    head_way: np.ndarray
    distance: np.ndarray
    mirrored: np.ndarray
    lattice: np.ndarray
    row: np.ndarray
    column: np.ndarray
    pitch: np.ndarray
    yaw: np.ndarray


def aimed(field: Field, lattices: list[Lattice], pitches: np.ndarray, yaws: np.ndarray) -> Aimed:
    """Every ray from the camera to a point of a lattice that its lens mirrors, in every pose."""
    parts: list[tuple[np.ndarray, ...]] = []
    for row, pitch in enumerate(pitches):
        for column, yaw in enumerate(yaws):
            rows = field.rows(float(pitch), float(yaw))
            eye = (field.camera - field.head.origin) @ rows
            for number, lattice in enumerate(lattices):
                start, way, distance, mirrored = _mirrored(field, lattice, eye)
                n = len(start)
                world = start @ rows.T + field.head.origin, way @ rows.T
                where = [np.full(n, value) for value in (number, row, column)]
                pose = [np.full(n, value) for value in (pitch, yaw)]
                eyes = np.broadcast_to(eye, start.shape)
                parts.append((*world, eyes, start, way, distance, mirrored, *where, *pose))
    return Aimed(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def _mirrored(field: Field, lattice: Lattice, eye: np.ndarray) -> tuple[np.ndarray, ...]:
    """Start, way, distance from the camera and part mirrored of the rays to a lattice, in the head frame."""
    lens = field.world.packed.lenses[lattice.lens]
    centre = field.head.from_world(lens["centre"])
    axes = field.head.turn_back(np.stack([lens["u"], lens["v"], lens["w"]]))
    view = lattice.points - eye
    view = view / np.linalg.norm(view, axis=1, keepdims=True)
    off = eye - centre
    b = view @ off
    inside = b * b - (off @ off - lens["radius"] ** 2)
    t = -b - np.sqrt(np.maximum(inside, 0.0))  # the front of the sphere is met first
    normal = (off + t[:, None] * view) / lens["radius"]
    place = lens["radius"] * normal @ axes.T
    kept = (inside > 0.0) & (t > 0.0) & (place[:, 2] > 0.0)
    kept &= _within(lens, place[:, 0] * 0.9999, place[:, 1] * 0.9999)
    view, normal, t = view[kept], normal[kept], t[kept]
    cosine = -(view * normal).sum(axis=1)
    way = view + 2.0 * cosine[:, None] * normal
    start = centre + (lens["radius"] + OFF) * normal
    return start, way, t, plate(float(lens["eta"]), np.clip(cosine, 0.0, 1.0))


def plate(eta: float, cosine: np.ndarray) -> np.ndarray:
    """The twin of `renderer.kernels.lens.plate_reflectance`."""
    inner = np.sqrt(1.0 - (1.0 - cosine**2) / eta**2)
    p = ((eta * cosine - inner) / (eta * cosine + inner)) ** 2
    s = ((cosine - eta * inner) / (cosine + eta * inner)) ** 2
    return np.asarray(p / (1.0 + p) + s / (1.0 + s))
