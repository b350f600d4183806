"""A world handed to Mitsuba 3, a general-purpose renderer, so that two programs can be compared.

Geometry, materials and light are taken from the packed arrays, that is from what our own kernels read.
Mitsuba is right-handed and our world is not: x is negated on the way, for everything alike, and the
picture then comes out the same way round. Partial tubes become meshes of narrow flat facets.

Mitsuba starts a ray off its surface by 9e-5 (1 + greatest coordinate), which in metres from the floor is a
fifth of a millimetre and leaks light under eyelids. The world is therefore handed over in centimetres from
the middle of the sitter: that makes 0.02 mm, as much as here. Radiance does not depend on the unit.

Coats (see coat.py): the reflection is Mitsuba's own, smooth or GGX (masking
there is separable, here height-correlated). From the second surface on we count coats as Lambertian, which
Mitsuba does not. `plain` takes all coats away on both sides, and then the two models are the same.
"""

from __future__ import annotations

import math
import os
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks import coat
from renderer.film.mix import Mix
from renderer.kernels.layout import COAT_ALPHAS, Mesh
from renderer.kernels.shapes import KIND
from renderer.world.build import World
from renderer.world.material import FINE_HAIR, HAIR

FACETS = 512  # of a full turn: the area of the facets falls short by (pi / FACETS)^2 / 6 = 6e-6
MIRROR = np.array([-1.0, 1.0, 1.0])
CENTIMETRES = 100.0  # in a metre
IN_FLIGHT = 1 << 23  # paths
VARIANTS = ("llvm_ad_rgb", "scalar_rgb")
LLVM_PLACES = ("/usr/lib/x86_64-linux-gnu", "/usr/lib/aarch64-linux-gnu", "/usr/lib/llvm-19/lib")


def _find_llvm() -> None:
    """Point Dr.Jit to an LLVM 19 where there is one: of older ones it refuses some and fails on others."""
    if "DRJIT_LIBLLVM_PATH" not in os.environ:
        for folder in LLVM_PLACES:
            for path in sorted(Path(folder).glob("libLLVM*19*")):
                os.environ["DRJIT_LIBLLVM_PATH"] = str(path)
                return


def mitsuba(variant: str | None = None) -> Any:
    """The module, set to a variant: the one asked for, else the first of VARIANTS that works here.

    raises ImportError when Mitsuba is not installed
    """
    _find_llvm()
    import mitsuba as mi

    mi.set_log_level(mi.LogLevel.Error)

    for name in [variant] if variant else VARIANTS:
        try:
            mi.set_variant(name)
            mi.Float(1.0) + mi.Float(2.0)
            return mi
        except (ImportError, RuntimeError):
            if name == (variant or VARIANTS[-1]):
                raise
    raise ImportError("no variant of Mitsuba works here")


class Frame:
    """From our world [m] to Mitsuba's [cm]: `vector` for lengths with a direction, `point` for places."""

    def __init__(self, middle: np.ndarray) -> None:
        self.middle = middle

    def vector(self, v: Any) -> np.ndarray:
        return np.asarray(np.asarray(v, float) * MIRROR * CENTIMETRES)

    def point(self, p: Any) -> np.ndarray:
        return self.vector(np.asarray(p, float) - self.middle)


def _rgb(value: Any) -> dict[str, Any]:
    return {"type": "rgb", "value": [float(v) for v in value]}


def _lambertian(albedo: Any) -> dict[str, Any]:
    return {"type": "diffuse", "reflectance": _rgb(albedo)}


def _frame(mi: Any, u: np.ndarray, v: np.ndarray, w: np.ndarray, centre: np.ndarray) -> Any:
    """Matrix that takes the unit square or disc of Mitsuba to half axes u, v about `centre`, facing w.

    Where mirroring has made u, v, w left-handed, v is turned round: the shape is the same.
    """
    if np.cross(u, v) @ w < 0.0:
        v = -v
    matrix = np.eye(4)
    matrix[:3, 0], matrix[:3, 1], matrix[:3, 2], matrix[:3, 3] = u, v, w, centre
    return mi.ScalarTransform4f(matrix)


def _rectangle(mi: Any, u: Any, v: Any, w: Any, centre: Any) -> dict[str, Any]:
    return {"type": "rectangle", "to_world": _frame(mi, u, v, w, centre)}


def _mesh(
    mi: Any,
    name: str,
    corners: np.ndarray,
    normals: np.ndarray | None,
    bsdf: Any,
    emitter: Any,
    attributes: Mapping[str, np.ndarray] | None = None,
) -> Any:
    """A mesh of separate triangles; corners (n, 3, 3), so ordered that e1 x e2 faces out, normals alike.

    attributes  by name, a value or a colour for each corner
    """
    properties = mi.Properties()
    properties["mesh_bsdf"] = mi.load_dict(bsdf)
    if emitter:
        properties["mesh_emitter"] = mi.load_dict(emitter)
    count = 3 * len(corners)
    mesh = mi.Mesh(name, count, len(corners), props=properties, has_vertex_normals=normals is not None)
    for key, table in (attributes or {}).items():
        flat = np.ascontiguousarray(table.reshape(-1), np.float32)
        mesh.add_attribute(f"vertex_{key}", len(flat) // count, flat)
    parameters = mi.traverse(mesh)
    parameters["vertex_positions"] = np.ascontiguousarray(corners.reshape(-1), np.float32)
    parameters["faces"] = np.arange(count, dtype=np.uint32)
    if normals is not None:
        parameters["vertex_normals"] = np.ascontiguousarray(normals.reshape(-1), np.float32)
    parameters.update()
    return mesh


def tube_facets(shape: np.void) -> np.ndarray:
    """Corners (n, 3, 3) [m, our world] of flat facets on a packed tube, either way round."""
    turn = float(shape["phi_to"] - shape["phi_from"])
    steps = max(2, math.ceil(FACETS * turn / (2.0 * math.pi)))
    phi = np.linspace(float(shape["phi_from"]), float(shape["phi_to"]), steps + 1)
    ring = np.cos(phi)[:, None] * shape["u"] + np.sin(phi)[:, None] * shape["v"]
    low = shape["centre"] + shape["size_u"] * ring + shape["z_from"] * shape["w"]
    high = low + (shape["z_to"] - shape["z_from"]) * shape["w"]
    a, b, c, d = low[:-1], low[1:], high[1:], high[:-1]
    return np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])


def _tube(mi: Any, frame: Frame, name: str, shape: np.void, bsdf: Any, emitter: Any) -> Any:
    whole = shape["phi_to"] - shape["phi_from"] > 2.0 * math.pi - 1e-9
    if whole:
        ends = [frame.point(shape["centre"] + shape[z] * shape["w"]) for z in ("z_from", "z_to")]
        found = {"type": "cylinder", "p0": ends[0].tolist(), "p1": ends[1].tolist()}
        found |= {"radius": CENTIMETRES * float(shape["size_u"]), "bsdf": bsdf}
        return found | ({"emitter": emitter} if emitter else {})
    corners = frame.point(tube_facets(shape))
    outward = corners.mean(axis=1) - frame.point(shape["centre"])
    outward -= (outward @ (shape["w"] * MIRROR))[:, None] * (shape["w"] * MIRROR)
    inverted = np.sum(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) * outward, 1) < 0
    corners[inverted] = corners[inverted][:, ::-1]
    return _mesh(mi, name, corners, None, bsdf, emitter)


def _shape(mi: Any, frame: Frame, name: str, shape: np.void, weights: np.ndarray, by_power: bool) -> Any:
    bsdf = {"type": "twosided", "front": _lambertian(shape["front"]), "back": _lambertian(shape["back"])}
    emitter: dict[str, Any] | None = None
    if shape["light"] >= 0:
        weight = weights[shape["light"]]
        emitter = {"type": "area", "radiance": _rgb(shape["luminance"] * weight)}
        if by_power:
            emitter["sampling_weight"] = float(shape["luminance"] * shape["area"] * weight.mean())
    u, v, w = (frame.vector(shape[k]) for k in ("u", "v", "w"))
    centre, radius = frame.point(shape["centre"]), float(shape["size_u"])
    kind = list(KIND)[shape["kind"]]
    if kind == "Tube":
        return _tube(mi, frame, name, shape, bsdf, emitter)
    if kind == "Sphere":
        found = {"type": "sphere", "center": centre.tolist(), "radius": CENTIMETRES * radius}
    elif kind == "Disc":
        found = {"type": "disk", "to_world": _frame(mi, radius * u, radius * v, w, centre)}
    elif kind == "Rectangle":
        found = _rectangle(mi, radius * u, shape["size_v"] * v, w, centre)
    else:
        raise ValueError(f"no shape of Mitsuba is known for {kind}")
    return found | {"bsdf": bsdf} | ({"emitter": emitter} if emitter else {})


def _room(mi: Any, frame: Frame, room: np.void) -> dict[str, Any]:
    low, high = room["low"], room["high"]
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    faces = {}
    for face in range(6):
        axis, upper = divmod(face, 2)
        w = np.zeros(3)
        w[axis] = -1.0 if upper else 1.0
        u, v = (half[k] * np.eye(3)[k] for k in range(3) if k != axis)
        centre = middle - half * w
        wall = _rectangle(mi, frame.vector(u), frame.vector(v), frame.vector(w), frame.point(centre))
        faces[f"wall_{face}"] = wall | {"bsdf": _lambertian(room["albedo"][face])}
    return faces


def _inside(material: np.void, alphas: np.ndarray) -> np.ndarray:
    """Hemispherical reflectance of the coat from within at every corner, (n, 3, 1)."""
    outside = np.interp(alphas, COAT_ALPHAS, material["reflected_evenly"])
    return np.asarray(1.0 - (1.0 - outside) / material["eta"] ** 2)[..., None]


def _sitter(mi: Any, frame: Frame, mesh: Mesh, materials: np.ndarray) -> dict[str, Any]:
    """A mesh for each material, corners exchanged since mirroring turns them round."""
    coat.register(mi)
    first, e1, e2 = (mesh.triangles[:, 3 * k : 3 * k + 3].astype(float) for k in range(3))
    corners = frame.point(np.stack([first, first + e2, first + e1], axis=1))
    normals, albedos = (
        table.reshape(-1, 3, 3).astype(float)[:, [0, 2, 1]] for table in (mesh.normals, mesh.albedos)
    )
    alphas = mesh.roughness.astype(float)[:, [0, 2, 1]]
    found = {}
    for number in np.unique(mesh.materials):
        own = mesh.materials == number
        eta = float(materials[number]["eta"])
        inside = _inside(materials[number], alphas[own]) if eta > 0.0 else 0.0
        gain = albedos[own] / (1.0 - albedos[own] * inside) / max(eta, 1.0) ** 2
        colours = {"albedo": albedos[own], "gain": gain, "alpha": alphas[own]}
        bsdf = coat.material(eta, bool(alphas[own].max() > 0.0))
        name = f"sitter_{number}"
        found[name] = _mesh(mi, name, corners[own], normals[own] * MIRROR, bsdf, None, colours)
    return found


def _sensor(mi: Any, frame: Frame, camera: np.void, sampler: str) -> dict[str, Any]:
    width, height = int(camera["width"]), int(camera["height"])
    up = -camera["step_down"] * MIRROR
    origin, forward = frame.point(camera["at"]), frame.vector(camera["forward"])
    step = np.linalg.norm(camera["step_right"]) / np.linalg.norm(camera["forward"])
    return {
        "type": "perspective",
        "fov_axis": "x",
        "fov": math.degrees(2.0 * math.atan(0.5 * width * float(step))),
        "near_clip": 0.1,
        "far_clip": 1e5,
        "to_world": mi.ScalarTransform4f().look_at(
            origin=origin.tolist(), target=(origin + forward).tolist(), up=(up / np.linalg.norm(up)).tolist()
        ),
        "film": {
            "type": "hdrfilm",
            "width": width,
            "height": height,
            "rfilter": {"type": "box"},
            "pixel_format": "rgb",
            "component_format": "float32",
        },
        "sampler": {"type": sampler, "sample_count": 16},
    }


def plain(world: World, coated: bool = False) -> World:
    """The world without what Mitsuba does not have: light that travels under the skin, and, unless
    `coated`, every coat; what was a coat's base is then seen bare. Strands of hair get normals of facets."""
    materials = world.packed.materials.copy()
    for name in ("scatter",) if coated else ("scatter", "eta"):
        if name in (materials.dtype.names or ()):
            materials[name] = 0.0
    mesh = _with_facets(world.packed.mesh)
    return replace(world, packed=world.packed._replace(materials=materials, mesh=mesh))


def _with_facets(mesh: Mesh) -> Mesh:
    """The mesh with strands of hair whose normals are those of their facets.

    Where a smooth one leans away from the viewer, at a twentieth of all looks at hair, we take the facet's,
    and Mitsuba shows black: 3 % of its light.
    """
    strands = np.isin(mesh.materials, (HAIR, FINE_HAIR))
    first, second = mesh.triangles[strands, 3:6], mesh.triangles[strands, 6:9]
    across = np.cross(first, second).astype(np.float64)
    across /= np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-30)
    smooth = mesh.normals[strands].reshape(-1, 3, 3).sum(axis=1)
    across *= np.where((across * smooth).sum(axis=1, keepdims=True) < 0.0, -1.0, 1.0)
    normals = mesh.normals.copy()
    normals[strands] = np.tile(across, 3)
    return mesh._replace(normals=normals)


def mitsuba_scene(
    mi: Any, world: World, mix: Mix, sampler: str = "multijitter", by_power: bool = False
) -> Any:
    """The world as a loaded Mitsuba scene whose radiance is linear RGB with its luminance in cd/m2.

    mix       level and colour of each light
    by_power  let Mitsuba choose lights by their power instead of all alike
    Paths end at random only (no greatest depth), as they do here when every path is followed.
    """
    packed, weights = world.packed, mix.weights()
    seated = bool(packed.mesh.triangles.any())
    frame = Frame(packed.mesh.triangles[:, :3].mean(axis=0).astype(float) if seated else np.zeros(3))
    scene: dict[str, Any] = {
        "type": "scene",
        "integrator": {"type": "path", "max_depth": -1},
        "sensor": _sensor(mi, frame, world.camera[0], sampler),
    }
    for number, shape in enumerate(packed.shapes):
        scene[f"shape_{number}"] = _shape(mi, frame, f"shape_{number}", shape, weights, by_power)
    if packed.room[0]["present"]:
        scene |= _room(mi, frame, packed.room[0])
    if seated:
        scene |= _sitter(mi, frame, packed.mesh, packed.materials)
    return mi.load_dict(scene)


def render(mi: Any, scene: Any, samples: int, seed: int = 0) -> np.ndarray:
    """Radiance (h, w, 3) float64, linear RGB.

    Mitsuba holds all paths of a pass in memory: passes of at most IN_FLIGHT paths, stratified together.
    """
    pixels = int(np.prod(np.array(scene.sensors()[0].film().size())))
    fitting = [n for n in range(1, samples + 1) if samples % n == 0 and n * pixels <= IN_FLIGHT]
    path = {"type": "path", "max_depth": -1, "samples_per_pass": max(fitting, default=1)}
    integrator = mi.load_dict(path)
    return np.array(mi.render(scene, integrator=integrator, spp=samples, seed=seed), dtype=np.float64)
