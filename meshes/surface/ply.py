"""Binary little-endian PLY with float32 positions and normals and named uchar properties."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray


def write_ply(
    path: Path,
    position_m: NDArray[np.float64],
    normal: NDArray[np.float64],
    faces: NDArray[np.int64],
    labels: dict[str, NDArray[np.uint8]],
    comment: str,
) -> None:
    """Write vertices (n, 3) [m], unit normals, triangles (m, 3) and one uchar per vertex for each label."""
    layout = [(name, "<f4") for name in ("x", "y", "z", "nx", "ny", "nz")] + [(name, "u1") for name in labels]
    rows = np.zeros(len(position_m), dtype=layout)
    for i, name in enumerate(("x", "y", "z")):
        rows[name] = position_m[:, i]
        rows["n" + name] = normal[:, i]
    for name, values in labels.items():
        rows[name] = values
    listed = np.zeros(len(faces), dtype=[("n", "u1"), ("v", "<i4", (3,))])
    listed["n"], listed["v"] = 3, faces
    head = ["ply", "format binary_little_endian 1.0", f"comment {comment}", f"element vertex {len(rows)}"]
    head += [f"property float {name}" for name in ("x", "y", "z", "nx", "ny", "nz")]
    head += [f"property uchar {name}" for name in labels]
    head += [f"element face {len(listed)}", "property list uchar int vertex_indices", "end_header"]
    path.write_bytes(("\n".join(head) + "\n").encode("ascii") + rows.tobytes() + listed.tobytes())


def read_ply(path: Path) -> tuple[NDArray[np.void], NDArray[np.int32]]:
    """Vertex records (fields as written) and triangles (m, 3) of a file made by `write_ply`."""
    raw = path.read_bytes()
    end = raw.index(b"end_header\n") + len(b"end_header\n")
    names = {"float": "<f4", "uchar": "u1"}
    layout, sizes = [], []
    for line in raw[:end].decode("ascii").splitlines():
        word = line.split()
        if word[0] == "element":
            sizes.append(int(word[2]))
        elif word[0] == "property" and word[1] != "list":
            layout.append((word[2], names[word[1]]))
    rows = np.frombuffer(raw, dtype=layout, count=sizes[0], offset=end)
    listed = np.frombuffer(
        raw, dtype=[("n", "u1"), ("v", "<i4", (3,))], count=sizes[1], offset=end + rows.nbytes
    )
    return rows, listed["v"]
