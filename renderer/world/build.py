"""A scene as written becomes a world ready to trace."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from renderer.kernels import layout
from renderer.scene.camera import Camera
from renderer.scene.layer import Layer, boards, layers
from renderer.scene.models import Scene
from renderer.scene.place import camera_place
from renderer.world.pack import Box, pack
from renderer.world.seat import seated
from renderer.world.sitter import Landmark, SitterMesh


@dataclass(frozen=True)
class World:
    """All that tracing and metering need.

    camera     CAMERA record, one
    sitter     the placed mesh; None for an empty chair
    """

    scene: Scene
    layers: list[Layer]
    packed: layout.PackedScene
    camera: np.ndarray
    sitter: SitterMesh | None

    @property
    def boards(self) -> dict[int, str]:
        """Name of each card and flag by the number of its shape: `pack` puts them after what emits."""
        first = int(self.packed.lights["count"].sum())
        names = [name for name, parts in boards(self.scene).items() for _ in parts]
        return dict(enumerate(names, first))

    @cached_property
    def bare_faced(self) -> World:
        """The same with spectacles taken off; itself where none are worn. Meters are read so, and shadows of
        the face named: a rim's shadow on a receptor says nothing of the light."""
        if len(self.packed.lenses) == 0:
            return self
        sitter = self.scene.sitter.model_copy(update={"glasses": None})
        scene = self.scene.model_copy(update={"sitter": sitter})
        seat = seated(scene)
        packed = self.packed._replace(mesh=seat.mesh, materials=seat.materials, lenses=seat.lenses)
        return replace(self, scene=scene, packed=packed, sitter=seat.sitter)

    @property
    def landmarks(self) -> dict[str, Landmark]:
        """Of the sitter's head by name; empty for an empty chair."""
        return self.sitter.landmarks if self.sitter else {}


def pack_camera(camera: Camera) -> np.ndarray:
    """CAMERA record (one): pixels are square, the width of the picture spans the sensor's width."""
    place = camera_place(camera)
    width, height = camera.picture
    step = camera.sensor_width_mm / camera.lens_mm / width
    packed = np.zeros(1, layout.CAMERA)
    packed[0] = (
        camera.at,
        place.forward,
        step * np.array(place.right),
        -step * np.array(place.up),
        width,
        height,
    )
    return packed


def build(scene: Scene) -> World:
    """Read the mesh, place everything, pack it. Raises InputError for a mesh that cannot be used."""
    lit = layers(scene)
    solids = [part for parts in boards(scene).values() for part in parts]
    room = scene.room
    box = None
    if room is not None:
        walls = room.reflectance
        sides = (walls.camera_left, walls.camera_right, walls.back, walls.front, walls.floor, walls.ceiling)
        box = Box(room.lower, room.upper, sides)
    seat = seated(scene)
    packed = pack([layer.parts for layer in lit], solids, box)
    packed = packed._replace(mesh=seat.mesh, materials=seat.materials, lenses=seat.lenses)
    return World(scene, lit, packed, pack_camera(scene.camera), seat.sitter)
