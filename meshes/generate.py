"""Make the committed meshes and landmark files: `python -m meshes.generate [name ...]`.

Deterministic: the committed files came byte for byte from Python 3.11, numpy 2.4.6, scipy 1.17.1,
scikit-image 0.26.0 and numba 0.68.1 on x86-64; other versions and processors may differ in the last bits of a
float32.
Files and frame: README.md here.
"""

import argparse
import sys
from pathlib import Path

import numpy as np

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
    __package__ = "meshes"

from meshes.cast import CAST
from meshes.field.eye import APEX
from meshes.field.hair import STYLES
from meshes.field.head import Head
from meshes.field.landmark import landmarks
from meshes.field.paint import BROW, PATCHES, SCALP, patches, regions
from meshes.field.tone import tone
from meshes.growth import Solid, build_cloth, build_fine, build_hair, shade_byte
from meshes.surface.decimate import decimated
from meshes.surface.eyeball import eyeball
from meshes.surface.grid import Axis, gradient, half_surface, mirrored
from meshes.surface.ply import write_ply

HERE = Path(__file__).resolve().parent
HEAD_AXES = (
    Axis(0.0, 258.0, ((0, 0.7), (48, 0.7), (58, 0.9), (90, 0.9), (110, 3), (250, 4.5))),
    Axis(-289.3, 126.0, ((-290, 4), (-230, 3.5), (-120, 1.6), (-82, 0.7), (26, 0.7), (50, 1.6), (122, 3))),
    Axis(-150.3, 121.0, ((-150, 4), (-60, 2.4), (-40, 0.9), (8, 0.9), (50, 1.0), (60, 0.7), (121, 0.7))),
)
PARTS = ("eyes", "landmarks", "hair", "fine_hair", "garment", "head")


def to_head_frame(p: np.ndarray, head: Head) -> np.ndarray:
    """Sculptor's mm to head-frame metres: x out of the nose, y to the sitter's left, z up."""
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
    label, cover = regions(v, head.sitter)
    cx, cy, cz = head.eye.centre
    far = np.linalg.norm((v - (cx, cy, cz + 8)) * (0.9, 1.1, 0.6), axis=1)
    weight = 1.0 + 40.0 * np.exp(-((far / 15.0) ** 2))
    weight += 14.0 * np.exp(-(((v - (8, -40, 100)) / (22, 34, 30)) ** 2).sum(axis=1))
    weight += 10.0 * (v[:, 0] > 66) * (v[:, 1] < 18) * (v[:, 1] > -50) * (v[:, 2] < 5)
    longest = np.where(v[:, 1] < -130, 7.0, 4.5)
    border = (label > 0) & (cover > 0.15) & (cover < 0.85)
    longest[(label > 0) & (label != SCALP) & (cover > 0.02)] = 1.8
    longest[border] = np.select([label[border] == SCALP, label[border] == BROW], [1.7, 1.2], 0.9)
    v, f = decimated(v, f, weight, longest, target // 2)
    v = settle(head, v)
    n = gradient(head, v)
    n[v[:, 0] == 0.0, 0] = 0.0
    n /= np.linalg.norm(n, axis=1, keepdims=True)
    label, cover = regions(v, head.sitter)
    patch = patches(v, n, head.sitter)
    whole, faces, source = mirrored(v, f)
    normal = n[source]
    normal[len(v) :, 0] *= -1.0
    light, red = tone(v, head.sitter)
    labels = {
        "region": label[source],
        "cover": np.round(255 * cover).astype(np.uint8)[source],
        "patch": patch[source],
        "shade": shade_byte(light)[source],
        "flush": np.round(255 * red).astype(np.uint8)[source],
    }
    return whole, normal, faces, labels


def main(argv: list[str] | None = None) -> int:
    """Write every part of every sitter, or those named."""
    parser = argparse.ArgumentParser(description="Make the sitters' meshes.")
    parser.add_argument("names", nargs="*", help="sitters, all when left out: " + ", ".join(CAST))
    parser.add_argument("--part", action="append", choices=PARTS, help="only this part; may be repeated")
    parser.add_argument("--folder", type=Path, default=HERE, help="where to write")
    options = parser.parse_args(argv)
    for name in options.names:
        if name not in CAST:
            parser.error(f"names: unknown sitter {name!r}; choose from {', '.join(CAST)}")
    for name in options.names or CAST:
        folder = options.folder if name == "head" else options.folder / "sitters" / name
        folder.mkdir(parents=True, exist_ok=True)
        write_sitter(name, folder, options.part or PARTS)
    return 0


def write_sitter(name: str, folder: Path, parts: tuple[str, ...] | list[str]) -> None:
    """The files of one sitter."""
    sitter = CAST[name]
    head = Head(sitter)
    if "eyes" in parts:
        (v, n, f, region), shade = eyeball(head.eye)
        labels = {"region": region, "shade": shade}
        left = v + np.array(head.eye.centre)
        mirror = np.array([-1.0, 1.0, 1.0])
        put(folder / "eye_left.ply", left, n, f, labels, head)
        put(folder / "eye_right.ply", left * mirror, n * mirror, f[:, ::-1], labels, head)
    if "landmarks" in parts:
        write_landmarks(head, folder / "head.toml")
    if "hair" in parts:
        for style in ("cropped", "bob") if name == "head" else [sitter.hair] * (sitter.hair in STYLES):
            file = "hair.ply" if style == sitter.hair else f"hair_{style}.ply"
            put_solid(folder / file, build_hair(sitter, style), head)
    if "fine_hair" in parts:
        fine, region = build_fine(head)
        put_solid(folder / "fine_hair.ply", fine, head, region)
    if "garment" in parts:
        put_solid(folder / "garment.ply", build_cloth(sitter), head)
    if "head" in parts:
        v, n, f, labels = build_head(head, 94_000 if name == "head" else 80_000)
        put(folder / "head.ply", v, n, f, labels, head)


def put(path: Path, v, n, f, labels, head: Head) -> None:  # type: ignore[no-untyped-def]
    """Write one mesh in the head frame, metres."""
    comment = f"{path.stem}, metres, x out of the nose, y to the sitter's left, z up"
    write_ply(path, to_head_frame(v, head), n[:, [2, 0, 1]], f, labels, comment)


def put_solid(path: Path, solid: Solid, head: Head, region: np.ndarray | None = None) -> None:
    """Write hair or a garment; region 0 unless given."""
    if region is None:
        region = np.zeros(len(solid.vertices), dtype=np.uint8)
    put(path, solid.vertices, solid.normals, solid.faces, {"region": region, "shade": solid.shade}, head)


def write_landmarks(head: Head, path: Path) -> None:
    """Landmarks as TOML, head frame, metres."""
    lines = [
        "# Landmarks on head.ply and the eyeballs: position [m] and outward unit normal, head frame",
        "# (+x out of the nose, +y to the sitter's left, +z up, origin midway between the pupils).",
        "# _l and _r: the sitter's left and right. patches: what the numbers of the property `patch` mean.",
        "",
        "patches = [" + ", ".join(f'"{name}"' for name in PATCHES) + "]",
        "",
    ]
    for name, (p, n) in landmarks(head, head.sitter).items():
        position = to_head_frame(p[None, :], head)[0] + 0.0
        lines.append(f"[landmark.{name}]")
        lines.append("position = [" + ", ".join(f"{c:.5f}" for c in position) + "]")
        lines.append("normal = [" + ", ".join(f"{c + 0.0:.4f}" for c in n[[2, 0, 1]]) + "]")
        lines.append("")
    path.write_text("\n".join(lines), encoding="ascii")


if __name__ == "__main__":
    raise SystemExit(main())
