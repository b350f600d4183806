"""Reading the project's own PLY files: binary, little-endian, vertices then triangles.

Only for the meshes that come with the program, whose properties (normal, region, patch) are wanted as
written, and at once: a general reader takes a second and a half to load. A person's own meshes go through
trimesh. source  Turk, The PLY Polygon File Format, 1994
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from renderer.errors import InputError

TYPES = {"float": "<f4", "uchar": "u1", "int": "<i4"}


def read_ply(path: Path) -> tuple[np.ndarray, np.ndarray]:
    """Vertices as a record array (fields named as in the file) and faces (n, 3) int32.

    Raises InputError where the file is missing, of another layout, or cut short.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror}") from None
    head, mark, body = data.partition(b"end_header\n")
    lines = [line.split() for line in head.decode("ascii", "replace").splitlines()]
    if not mark or lines[:2] != [["ply"], ["format", "binary_little_endian", "1.0"]]:
        raise InputError(f"{path}: expected a binary little-endian PLY file")
    counts = {line[1]: int(line[2]) for line in lines if line[0] == "element"}
    fields = [(line[2], TYPES[line[1]]) for line in lines if line[0] == "property" and line[1] != "list"]
    vertex, face = np.dtype(fields), np.dtype([("count", "u1"), ("corner", "<i4", 3)])
    split = counts["vertex"] * vertex.itemsize
    if len(body) != split + counts["face"] * face.itemsize:
        raise InputError(f"{path}: is cut short or holds other things than vertices and triangles")
    return np.frombuffer(body[:split], vertex), np.frombuffer(body[split:], face)["corner"]
