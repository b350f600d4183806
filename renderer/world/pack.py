"""The one place where parts, room and mesh become the arrays that kernels read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from renderer.kernels import layout
from renderer.kernels.wide import pack_blocks, pack_nodes
from renderer.scene.parts import RGB, Part, Vec3
from renderer.world.coat import coat_table, even_reflectance
from renderer.world.kept_tree import tree_over
from renderer.world.shape import pack_shapes


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
    a, b, c = (np.take(vertices.astype(np.float32), faces[:, k], axis=0) for k in range(3))
    boxes = np.empty((len(faces), 6), np.float32)
    np.minimum(np.minimum(a, b), c, out=boxes[:, :3])
    np.maximum(np.maximum(a, b), c, out=boxes[:, 3:])
    return boxes


def pack_mesh(mesh: Triangles | None) -> layout.Mesh:
    """The tree and the triangles in its order; without a mesh, a tree that no ray enters."""
    if mesh is None or len(mesh.faces) == 0:
        empty = np.zeros((1, 9), np.float32)
        none = np.zeros((0, 48), np.int32)
        nodes, blocks = pack_nodes(none, none[:, :8]), pack_blocks(none[:, :2], empty)
        rough, nothing = np.zeros((1, 3), np.float32), np.zeros(1, np.int32)
        return layout.Mesh(
            nodes,
            blocks,
            *_links(nodes, blocks),
            empty,
            empty.copy(),
            empty.copy(),
            rough,
            nothing,
            nothing.copy(),
        )
    order, planes, children, leaves = tree_over(triangle_boxes(mesh.vertices, mesh.faces))
    faces = mesh.faces[order]
    triangles = np.empty((len(faces), 9), np.float32)
    first = mesh.vertices[faces[:, 0]]
    triangles[:, :3] = first
    for k in (1, 2):  # edges from double precision; a copy at a time, since a scan has millions of these
        triangles[:, 3 * k : 3 * k + 3] = mesh.vertices[faces[:, k]] - first
    normals = mesh.normals.astype(np.float32)[faces].reshape(len(faces), 9)
    albedos = mesh.albedos.astype(np.float32)[faces].reshape(len(faces), 9)
    materials = mesh.materials[order].astype(np.int32)
    roughness = mesh.roughness.astype(np.float32)[faces]
    patches = mesh.patches[order].astype(np.int32) if len(mesh.patches) else np.zeros(len(faces), np.int32)
    nodes, blocks = pack_nodes(planes, children), pack_blocks(leaves, triangles)
    links = _links(nodes, blocks)
    return layout.Mesh(nodes, blocks, *links, triangles, normals, albedos, roughness, materials, patches)


def _links(nodes: np.ndarray, blocks: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return nodes.view(np.int32), blocks.view(np.int32)


def pack(
    layers: Sequence[Iterable[Part]],
    solids: Iterable[Part] = (),
    room: Box | None = None,
    mesh: Triangles | None = None,
) -> layout.PackedScene:
    """Everything that kernels read, from the parts of each light, dark parts, room and mesh."""
    box = np.zeros(1, layout.ROOM)
    if room is not None:
        box[0] = (1, room.low, room.high, np.array(room.albedo, float))
    palette = mesh.palette if mesh is not None else ()
    unknown = np.zeros((1, 6, 1, 1, max(1, len(layers)), 6), np.float32)
    shapes = pack_shapes(layers, solids)
    # in one order of memory: another would be another type, for which all kernels are compiled again
    tables = {name: np.ascontiguousarray(table) for name, table in shapes._asdict().items()}
    return layout.PackedScene(
        **tables,
        room=box,
        lenses=np.zeros(0, layout.LENS),
        materials=pack_materials(palette),
        mesh=pack_mesh(mesh),
        wall_light=unknown,
        paths=np.ones(1, np.int32),
        past_walls=np.zeros(1, np.int32),
    )
