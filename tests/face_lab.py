"""One bundled head, packed once, put into the light of many small scenes."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np

from renderer.film.pool import Pool
from renderer.meter.face.points import Tracer
from renderer.scene.layer import boards, layers
from renderer.scene.load import loads
from renderer.world.build import World, build, pack_camera
from renderer.world.pack import pack

THREADS = 2
EYES = 1.2  # m over the floor


def text(
    azimuth: float, elevation: float, distance: float = 1.5, diameter: float = 0.04, more: str = ""
) -> str:
    """A scene with one small lamp [deg from the nose to the sitter's left, deg over the eyes, m]."""
    lift, turn = math.radians(elevation), math.radians(azimuth)
    at = (
        distance * math.cos(lift) * math.sin(turn),
        distance * math.cos(lift) * math.cos(turn),
        EYES + distance * math.sin(lift),
    )
    return (
        f"[sitter]\neye_height = {EYES}\n[camera]\n{more}\n"
        f'[light.key]\nsource = "bulb"\ndiameter = {diameter}\nlumens = 1000\n'
        f"at = [{at[0]:.6f}, {at[1]:.6f}, {at[2]:.6f}]\n"
    )


@cache
def head() -> World:
    return build(loads(text(0.0, 30.0)))


def under(scene_text: str) -> World:
    """The head under other lights; it must be turned and placed as `head()` is."""
    scene = loads(scene_text)
    lit = layers(scene)
    solids = [part for parts in boards(scene).values() for part in parts]
    bundled = head()
    packed = pack([layer.parts for layer in lit], solids)
    packed = packed._replace(mesh=bundled.packed.mesh, materials=bundled.packed.materials)
    return World(scene, lit, packed, pack_camera(scene.camera), bundled.sitter)


def eyes_alone(world: World) -> World:
    """The same world with nothing of the sitter but the eyeballs: no lid or brow is in the way."""
    from renderer.world import material
    from renderer.world.pack import pack_mesh

    assert world.sitter is not None
    mesh = world.sitter.triangles
    own = np.isin(mesh.materials, (*material.EYES, material.IRIS))
    bare = replace(mesh, faces=mesh.faces[own], materials=mesh.materials[own])
    return replace(world, packed=world.packed._replace(mesh=pack_mesh(bare)))


def tracer(pool: Pool, world: World, seed: int = 1) -> Tracer:
    return Tracer(pool, world.camera, seed)
