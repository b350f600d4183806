"""The one place where parts, room and mesh become the arrays that kernels read."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from renderer.kernels import layout
from renderer.kernels.shapes import KIND
from renderer.kernels.tree import build_binary
from renderer.kernels.wide import collapse, pack_blocks, pack_nodes
from renderer.scene.parts import RGB, Disc, Part, Rectangle, Sphere, Tube, Vec3
from renderer.world.coat import coat_table, even_reflectance


@dataclass(frozen=True)
class Material:
    """How a mesh scatters, beside its albedo.

    eta      refractive index of a clear coat over the Lambertian base, 0 for none
    scatter  scale of subsurface scattering [m] for red, green, blue, 0 for none; needs a rough coat
    window   whether the smooth coat is seen through, refracted, onto the surface behind it
    """

    eta: float = 0.0
    scatter: RGB = (0.0, 0.0, 0.0)
    window: bool = False


@dataclass(frozen=True)
class Box:
    """A room: opposite corners [m] and an albedo for each of the faces x-, x+, y-, y+, z-, z+."""

    low: Vec3
    high: Vec3
    albedo: Sequence[RGB]


@dataclass(frozen=True)
class Triangles:
    """A mesh in the world, its corners so ordered that the plain cross product of edges points outward.

    vertices (v, 3) float [m]; normals (v, 3) float unit; albedos (v, 3) float linear RGB, of the base
    where there is a coat; roughness (v,) float, GGX alpha of the coat, 0 for a smooth one
    faces (n, 3) int; materials (n,) int: place in `palette`
    patches (n,) int: number of a named patch of skin for the picture's notes, empty for none
    """

    vertices: np.ndarray
    normals: np.ndarray
    albedos: np.ndarray
    roughness: np.ndarray
    faces: np.ndarray
    materials: np.ndarray
    palette: Sequence[Material] = field(default_factory=tuple)
    patches: np.ndarray = field(default_factory=lambda: np.zeros(0, np.int32))


def pack_materials(palette: Sequence[Material]) -> np.ndarray:
    packed = np.zeros(max(1, len(palette)), layout.MATERIAL)
    for record, material in zip(packed, palette, strict=False):
        record["eta"] = material.eta
        record["scatter"] = material.scatter
        record["window"] = material.window
        if material.eta > 0.0:
            record["reflected"] = coat_table(material.eta)
            record["reflected_evenly"] = even_reflectance(material.eta)
    return packed


def triangle_boxes(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Boxes (n, 6) float32 about triangles, from vertices (v, 3) and faces (n, 3)."""
    corners = vertices[faces].astype(np.float32)
    return np.ascontiguousarray(np.concatenate([corners.min(axis=1), corners.max(axis=1)], axis=1))


def pack_mesh(mesh: Triangles | None) -> layout.Mesh:
    """The tree and the triangles in its order; without a mesh, a tree that no ray enters."""
    if mesh is None or len(mesh.faces) == 0:
        empty = np.zeros((1, 9), np.float32)
        none = np.zeros((0, 48), np.int32)
        nodes, blocks = pack_nodes(none, none[:, :8]), pack_blocks(none[:, :2], empty)
        rough, nothing = np.zeros((1, 3), np.float32), np.zeros(1, np.int32)
        return layout.Mesh(nodes, blocks, empty, empty.copy(), empty.copy(), rough, nothing, nothing.copy())
    order, bounds, links = build_binary(triangle_boxes(mesh.vertices, mesh.faces))
    planes, children, leaves = collapse(bounds, links)
    faces = mesh.faces[order]
    a, b, c = (mesh.vertices[faces[:, k]] for k in range(3))
    triangles = np.concatenate([a, b - a, c - a], axis=1).astype(np.float32)
    normals = mesh.normals[faces].reshape(len(faces), 9).astype(np.float32)
    albedos = mesh.albedos[faces].reshape(len(faces), 9).astype(np.float32)
    materials = mesh.materials[order].astype(np.int32)
    roughness = mesh.roughness[faces].astype(np.float32)
    patches = mesh.patches[order].astype(np.int32) if len(mesh.patches) else np.zeros(len(faces), np.int32)
    nodes, blocks = pack_nodes(planes, children), pack_blocks(leaves, triangles)
    return layout.Mesh(nodes, blocks, triangles, normals, albedos, roughness, materials, patches)


def _perpendicular(w: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Any two unit vectors that complete unit `w` to an orthonormal frame."""
    least = np.zeros(3)
    least[int(np.argmin(np.abs(w)))] = 1.0
    u = np.cross(w, least)
    u /= np.linalg.norm(u)
    return u, np.cross(w, u)


def _fill(record: Any, part: Part) -> None:
    shape = part.shape
    record["kind"] = KIND[type(shape).__name__]
    record["centre"] = record["middle"] = shape.centre
    if isinstance(shape, Disc):
        w = np.array(shape.normal, float)
        record["w"] = w
        record["u"], record["v"] = _perpendicular(w)
        record["size_u"] = record["reach"] = shape.radius
        record["area"] = math.pi * shape.radius**2
    elif isinstance(shape, Rectangle):
        half_u, half_v = np.array(shape.half_u, float), np.array(shape.half_v, float)
        size_u, size_v = np.linalg.norm(half_u), np.linalg.norm(half_v)
        record["u"], record["v"], record["w"] = half_u / size_u, half_v / size_v, shape.normal
        record["size_u"], record["size_v"] = size_u, size_v
        record["reach"] = math.hypot(size_u, size_v)
        record["area"] = 4.0 * size_u * size_v
    elif isinstance(shape, Sphere):
        record["u"], record["v"], record["w"] = np.eye(3)
        record["size_u"] = record["reach"] = shape.radius
        record["area"] = 4.0 * math.pi * shape.radius**2
    elif isinstance(shape, Tube):
        _fill_turn(record, shape)
        turn, height = shape.phi_to - shape.phi_from, shape.z_to - shape.z_from
        record["area"] = shape.radius * turn * height
        middle = 0.5 * (shape.z_from + shape.z_to)
        record["middle"] = np.array(shape.centre) + middle * np.array(shape.axis)
        record["reach"] = math.hypot(shape.radius, 0.5 * height)


def _fill_turn(record: Any, tube: Tube) -> None:
    """Turn the axes of a tube so that u points to the middle of its part of the turn."""
    middle, half = 0.5 * (tube.phi_from + tube.phi_to), 0.5 * (tube.phi_to - tube.phi_from)
    c, s = math.cos(middle), math.sin(middle)
    u, v = np.array(tube.u), np.array(tube.v)
    record["u"], record["v"], record["w"] = c * u + s * v, c * v - s * u, tube.axis
    record["phi_from"], record["phi_to"] = -half, half
    record["z_from"], record["z_to"] = tube.z_from, tube.z_to
    record["size_u"] = tube.radius
    whole = half > math.pi - 1e-9  # then rounding must not open a slit at the seam
    record["size_v"] = -2.0 * tube.radius if whole else tube.radius * math.cos(half)


def pack_shapes(layers: Sequence[Iterable[Part]], solids: Iterable[Part]) -> tuple[np.ndarray, np.ndarray]:
    """Records of all shapes, those that emit first and grouped by light, and where each light's lie."""
    lights = np.zeros(len(layers), layout.LIGHT)
    glowing: list[tuple[int, Part]] = []
    dark: list[Part] = list(solids)
    for number, parts in enumerate(layers):
        own = list(parts)
        emitting = [part for part in own if part.luminance > 0.0]
        lights[number] = (len(glowing), len(emitting))
        glowing += [(number, part) for part in emitting]
        dark += [part for part in own if part.luminance <= 0.0]
    everything = glowing + [(-1, part) for part in dark]
    shapes = np.zeros(len(everything), layout.SHAPE)
    for record, (light, part) in zip(shapes, everything, strict=True):
        _fill(record, part)
        record["light"] = light
        record["luminance"] = part.luminance
        record["front"], record["back"] = part.reflectance, part.back_reflectance
    return shapes, lights


def pack(
    layers: Sequence[Iterable[Part]],
    solids: Iterable[Part] = (),
    room: Box | None = None,
    mesh: Triangles | None = None,
) -> layout.PackedScene:
    """Everything that kernels read, from the parts of each light, dark parts, room and mesh."""
    shapes, lights = pack_shapes(layers, solids)
    box = np.zeros(1, layout.ROOM)
    if room is not None:
        box[0] = (1, room.low, room.high, np.array(room.albedo, float))
    palette = mesh.palette if mesh is not None else ()
    unknown = np.zeros((6, 1, 1, max(1, len(layers)), 3), np.float32)
    return layout.PackedScene(shapes, lights, box, pack_materials(palette), pack_mesh(mesh), unknown)
