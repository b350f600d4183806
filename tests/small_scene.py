"""A ball for a sitter in a small room with two lights: enough for a film, traced in a second."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from light_lab import disc, dome, flat, grey, meshed, rectangle, sphere

from renderer.film.film import Film
from renderer.film.mix import Fader, Mix
from renderer.film.tracing import run
from renderer.kernels.layout import PackedScene
from renderer.scene.camera import Camera
from renderer.world.build import pack_camera
from renderer.world.pack import Box, Triangles, pack

HEAD = np.array([0.0, 0.0, 1.2])
BALL_RADIUS = 0.1
PICTURE = (20, 20)
LAMP_TO_WALL = 0.6  # m: the nearest that a light comes to a wall
ROOM = Box((-1.8, -1.5, 0.0), (1.8, 2.7, 2.4), [grey(r) for r in (0.7, 0.7, 0.5, 0.7, 0.25, 0.8)])


def ball(rings: int) -> Triangles:
    """Closed ball about HEAD, its corners shared by the faces around them, wound outward."""
    theta = np.linspace(0.0, math.pi, rings + 1)
    phi = np.linspace(0.0, 2.0 * math.pi, 2 * rings, endpoint=False)
    around = [
        (math.sin(a) * math.cos(b), math.sin(a) * math.sin(b), math.cos(a)) for a in theta[1:-1] for b in phi
    ]
    points = np.array([(0.0, 0.0, 1.0), *around, (0.0, 0.0, -1.0)])
    width, last = 2 * rings, len(points) - 1

    def corner(ring: int, k: int) -> int:
        if ring in (0, rings):
            return 0 if ring == 0 else last
        return 1 + (ring - 1) * width + k % width

    faces = []
    for ring in range(rings):
        for k in range(width):
            a, b = corner(ring, k), corner(ring, k + 1)
            c, e = corner(ring + 1, k), corner(ring + 1, k + 1)
            faces += [face for face in ((a, c, e), (a, e, b)) if len(set(face)) == 3]
    return meshed(BALL_RADIUS * points + HEAD, points, faces, (0.5, 0.35, 0.25))


@dataclass(frozen=True)
class Small:
    packed: PackedScene
    camera: np.ndarray
    probes: np.ndarray
    mix: Mix

    def film(self, **options) -> Film:
        return run(self.packed, self.camera, self.probes, self.mix, **options)


def small(picture: tuple[int, int] = PICTURE, in_room: bool = True) -> Small:
    key = [rectangle((0.9, 0.9, 1.6), (0.2, -0.2, 0), (0, 0, 0.25), (-1, -1, 0), 2000.0)]
    lamp = [sphere((-0.7, -0.9, 1.5), 0.06, 900.0), disc((-0.7, -0.9, 1.3), (0, 0, -1), 0.08, 900.0)]
    packed = pack([key, lamp], (), ROOM if in_room else None, ball(12))
    camera = Camera(at=(0.0, 1.5, 1.2), aim=(0.0, 0.0, 1.2), lens_mm=65.0, picture=picture)
    before = HEAD + np.array([0.0, 0.12, 0.0])
    probes = np.concatenate(
        [dome(before, (0, 1, 0)), flat(before, (1, 1, 0.3)), flat((0, -1.4, 1), (0, 1, 0))]
    )
    return Small(packed, pack_camera(camera), probes, Mix((Fader("key"), Fader("lamp", "practical"))))
