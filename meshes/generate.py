"""Make the committed meshes and landmark files: `python -m meshes.generate [name ...]`.

Deterministic: the committed files came byte for byte from Python 3.11, numpy 2.4.6, scipy 1.17.1, scikit-image 0.26.0
and numba 0.68.1 on x86-64; other versions may differ in the last bits of a float32. Files and frame: README.md here.
"""

import argparse
import sys
from pathlib import Path

import numpy as np

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    __package__ = "meshes"

from meshes.field.eye import APEX
from meshes.field.hair import cropped
from meshes.field.head import Head
from meshes.field.landmark import landmarks
from meshes.field.paint import patches, regions
from meshes.surface.decimate import decimated
from meshes.surface.eyeball import eyeball
from meshes.surface.grid import Axis, gradient, half_surface, mirrored
from meshes.surface.ply import write_ply

HERE = Path(__file__).resolve().parent
HEAD_AXES = (
    Axis(0.0, 232.0, ((0, 0.7), (48, 0.7), (56, 1.0), (88, 1.0), (110, 3), (235, 4.5))),
    Axis(-289.3, 122.0, ((-290, 4), (-230, 3.5), (-120, 1.6), (-82, 0.7), (26, 0.7), (50, 1.6), (122, 3))),
    Axis(-150.3, 121.0, ((-150, 4), (-60, 2.4), (-40, 1.0), (16, 1.0), (50, 1.0), (60, 0.7), (121, 0.7))),
)
HAIR_AXES = (
    Axis(0.0, 100.0, ((0, 1.6), (100, 1.6))),
    Axis(-92.3, 135.0, ((-92, 1.6), (135, 1.6))),
    Axis(-125.3, 110.0, ((-125, 1.6), (110, 1.6))),
)


def to_head_frame(p: np.ndarray, head: Head) -> np.ndarray:
    """Sculptor's mm to head-frame metres: x out of the nose, y to the sitter's left, z up, 0 between the pupils."""
    _, cy, cz = head.eye.centre
    return np.stack([p[:, 2] - cz - APEX, p[:, 0], p[:, 1] - cy], axis=1) * 1e-3


def settle(field, p: np.ndarray) -> np.ndarray:  # type: ignore[no-untyped-def]
    """Move decimated vertices back onto the field by a few guarded Newton steps; x = 0 stays x = 0."""
    q = p.copy()
    for _ in range(3):
        n = gradient(field, q)
        f = field(q[:, 0], q[:, 1], q[:, 2])
        a = q + 0.05 * n
        slope = np.maximum((field(a[:, 0], a[:, 1], a[:, 2]) - f) / 0.05, 0.3)
        q = q - np.clip(f / slope, -0.25, 0.25)[:, None] * n
        q[:, 0] = np.where(p[:, 0] == 0.0, 0.0, np.maximum(q[:, 0], np.minimum(0.02, p[:, 0])))
    return q


def build_head(head: Head, target: int, factor: float = 1.0):  # type: ignore[no-untyped-def]
    """Whole head: vertices [mm], normals, faces, labels; `target` triangles in all."""
    v, f = half_surface(head, HEAD_AXES, factor, 8.0)
    f = f[:, ::-1]
    label, cover = regions(v, head.eye)
    cx, cy, cz = head.eye.centre
    far = np.linalg.norm((v - (cx, cy, cz + 8)) * (0.9, 1.1, 0.6), axis=1)
    weight = 1.0 + 40.0 * np.exp(-((far / 15.0) ** 2))
    weight += 14.0 * np.exp(-(((v - (8, -40, 100)) / (22, 34, 30)) ** 2).sum(axis=1))
    weight += 8.0 * (v[:, 0] > 66) * (v[:, 1] < 18) * (v[:, 1] > -50) * (v[:, 2] < 5)
    longest = np.where(v[:, 1] < -130, 7.0, 4.5)
    painted = (label > 0) & ((cover < 0.97) | (label == 3))
    longest[painted] = np.where(label[painted] == 2, 1.5, 1.15)
    v, f = decimated(v, f, weight, longest, target // 2)
    return finish(head, v, f, head.eye)


def finish(field, v, f, eye):  # type: ignore[no-untyped-def]
    """Settle, mirror, normals and labels."""
    v = settle(field, v)
    n = gradient(field, v)
    n[v[:, 0] == 0.0, 0] = 0.0
    n /= np.linalg.norm(n, axis=1, keepdims=True)
    label, cover = regions(v, eye)
    patch = patches(v, n, eye)
    whole, faces, source = mirrored(v, f)
    normal = n[source]
    normal[len(v) :, 0] *= -1.0
    labels = {"region": label[source], "cover": np.round(255 * cover).astype(np.uint8)[source], "patch": patch[source]}
    return whole, normal, faces, labels


def face_normals(v: np.ndarray, f: np.ndarray) -> np.ndarray:
    """Area-weighted vertex normals, for surfaces whose field is rougher than the mesh (hair)."""
    cross = np.cross(v[f[:, 1]] - v[f[:, 0]], v[f[:, 2]] - v[f[:, 0]])
    n = np.zeros_like(v)
    for corner in range(3):
        np.add.at(n, f[:, corner], cross)
    return n / np.linalg.norm(n, axis=1, keepdims=True)


def main(argv: list[str] | None = None) -> int:
    """Write every file named, or all."""
    parser = argparse.ArgumentParser(description="Make the sitter's meshes.")
    parser.add_argument("names", nargs="*", help="head, hair, eyes, landmarks; all when left out")
    parser.add_argument("--folder", type=Path, default=HERE, help="where to write")
    options = parser.parse_args(argv)
    names = options.names or ["head", "hair", "eyes", "landmarks"]
    unknown = [n for n in names if n not in ("head", "hair", "eyes", "landmarks")]
    if unknown:
        parser.error(f"names: unknown part {unknown[0]!r}; choose from head, hair, eyes, landmarks")
    head = Head()
    if "eyes" in names:
        write_eyes(head, options.folder)
    if "landmarks" in names:
        write_landmarks(head, options.folder / "head.toml")
    if "hair" in names:
        v, f = half_surface(cropped, HAIR_AXES, 1.0, 6.0)
        longest = np.full(len(v), 5.0)
        v, f = decimated(v, f[:, ::-1], np.ones(len(v)), longest, 14_000)
        whole, _, faces, _ = finish(cropped, v, f, head.eye)
        normal = face_normals(whole, faces)
        label = {"region": np.zeros(len(whole), dtype=np.uint8)}
        write_ply(options.folder / "hair.ply", to_head_frame(whole, head), normal[:, [2, 0, 1]], faces, label, "hair, m")
    if "head" in names:
        whole, normal, faces, labels = build_head(head, 110_000)
        write_ply(options.folder / "head.ply", to_head_frame(whole, head), normal[:, [2, 0, 1]], faces, labels, "head, m")
    return 0


def write_eyes(head: Head, folder: Path) -> None:
    """Both eyeballs, each closed."""
    v, n, f, region = eyeball()
    for side, name in ((1.0, "eye_left"), (-1.0, "eye_right")):
        placed = v + np.array([side * head.eye.centre[0], head.eye.centre[1], head.eye.centre[2]])
        write_ply(folder / f"{name}.ply", to_head_frame(placed, head), n[:, [2, 0, 1]], f, {"region": region}, f"{name}, m")


def write_landmarks(head: Head, path: Path) -> None:
    """Landmarks as TOML, head frame, metres."""
    lines = ["# Landmarks on head.ply and the eyeballs: position [m] and outward unit normal, head frame",
             "# (+x out of the nose, +y to the sitter's left, +z up, origin midway between the pupils).",
             "# _l and _r: the sitter's left and right.", ""]
    for name, (p, n) in landmarks(head, head.eye).items():
        position = to_head_frame(p[None, :], head)[0] + 0.0
        lines.append(f"[landmark.{name}]")
        lines.append("position = [" + ", ".join(f"{c:.5f}" for c in position) + "]")
        lines.append("normal = [" + ", ".join(f"{c + 0.0:.4f}" for c in n[[2, 0, 1]]) + "]")
        lines.append("")
    path.write_text("\n".join(lines), encoding="ascii")


if __name__ == "__main__":
    raise SystemExit(main())
