"""The sitter in the chair, packed; kept from one scene to the next, since to move a light moves no head."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np

from renderer.kernels import layout
from renderer.scene.models import Scene
from renderer.scene.place import head_to_world
from renderer.scene.sitter import landmarks_beside
from renderer.world.pack import pack_materials, pack_mesh
from renderer.world.sitter import SitterMesh, sitter_mesh

KEPT = 2  # a sitter and the one compared with; the arrays of a head take 0.1 GB


class Seat(NamedTuple):
    """sitter None for an empty chair; mesh, materials and lenses as in PackedScene."""

    sitter: SitterMesh | None
    mesh: layout.Mesh
    materials: np.ndarray
    lenses: np.ndarray


_kept: dict[tuple[object, ...], Seat] = {}


def seated(scene: Scene) -> Seat:
    """The placed mesh and its packed form. Raises InputError as `sitter_mesh`."""
    key = _key(scene)
    found = _kept.pop(key, None)
    if found is None:
        sitter = sitter_mesh(scene)
        triangles = sitter.triangles if sitter else None
        palette = triangles.palette if triangles else ()
        lenses = sitter.lenses if sitter else np.zeros(0, layout.LENS)
        found = Seat(sitter, pack_mesh(triangles), pack_materials(palette), lenses)
    _kept[key] = found
    while len(_kept) > KEPT:
        _kept.pop(next(iter(_kept)), None)
    return found


def _key(scene: Scene) -> tuple[object, ...]:
    """All that the mesh in the world depends on, files by the time they were written."""
    path = scene.mesh_path()
    files = [] if path is None else [path, landmarks_beside(path)]
    return (scene.sitter.model_dump_json(), head_to_world(scene.sitter, scene.camera), *map(_stamp, files))


def _stamp(path: Path) -> tuple[str, int, int]:
    try:
        found = path.stat()
    except OSError:
        return str(path), 0, 0
    return str(path.absolute()), found.st_mtime_ns, found.st_size
