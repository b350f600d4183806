"""What grows on the head, and what is worn: hair, brows and lashes, as vertices, normals, faces, shades."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .field.cloth import Cloth, near_collar
from .field.flow import Tufts, long_tufts, short_tufts
from .field.hair import STYLES, Hair, grain
from .field.head import Head
from .field.lash import brow, lashes
from .field.sitter import Sitter
from .surface.decimate import decimated
from .surface.grid import Axis, half_surface, mirrored
from .surface.tuft import tufts

BODY_TRIANGLES = 20_000
SHORT_TUFTS, LONG_TUFTS = 5_400, 2_500
HAIR_AXES = (
    Axis(0.0, 105.0, ((0, 1.3), (105, 1.3))),
    Axis(-98.3, 135.0, ((-92, 1.3), (135, 1.3))),
    Axis(-128.3, 115.0, ((-125, 1.3), (115, 1.3))),
)


class Solid(NamedTuple):
    """Vertices [mm], unit normals, triangles, shade as a byte (128: the colour as given)."""

    vertices: NDArray[np.float64]
    normals: NDArray[np.float64]
    faces: NDArray[np.int64]
    shade: NDArray[np.uint8]


def shade_byte(shade: NDArray[np.float64]) -> NDArray[np.uint8]:
    return np.clip(np.round(128.0 * shade), 0, 255).astype(np.uint8)


def body(field, axes, target: int, longest: float, fine=None):  # type: ignore[no-untyped-def]
    """A closed symmetric body: vertices, normals from its triangles (the field is rougher), faces.

    fine  function of vertices: True where the mesh stays as fine as its grid
    """
    v, f = half_surface(field, axes, 1.0, 6.0)
    kept = np.zeros(len(v), bool) if fine is None else fine(v)
    v, f = decimated(v, f[:, ::-1], np.where(kept, 30.0, 1.0), np.where(kept, 2.6, longest), target // 2)
    whole, faces, _ = mirrored(v, f)
    cross = np.cross(whole[faces[:, 1]] - whole[faces[:, 0]], whole[faces[:, 2]] - whole[faces[:, 0]])
    n = np.zeros_like(whole)
    for corner in range(3):
        np.add.at(n, faces[:, corner], cross)
    return whole, n / np.linalg.norm(n, axis=1, keepdims=True), faces


def solid_tufts(grown: Tufts, thickness: float) -> Solid:
    """Tufts made solid."""
    v, n, f = tufts(grown.line, grown.outward, grown.width, thickness)
    shade = np.concatenate([np.repeat(grown.shade[:, :-1], 3, axis=1), grown.shade[:, -1:]], axis=1)
    return Solid(v, n, f, shade_byte(shade.ravel()))


def joined(*solids: Solid) -> Solid:
    """Several closed bodies in one mesh."""
    starts = np.cumsum([0] + [len(s.vertices) for s in solids])
    faces = [s.faces + start for s, start in zip(solids, starts, strict=False)]
    return Solid(
        np.concatenate([s.vertices for s in solids]),
        np.concatenate([s.normals for s in solids]),
        np.concatenate(faces),
        np.concatenate([s.shade for s in solids]),
    )


def build_hair(sitter: Sitter, style: str) -> Solid:
    """Body and tufts of one style."""
    hair = Hair(sitter, style)
    v, n, f = body(hair, HAIR_AXES, BODY_TRIANGLES, 5.0)
    dark = 0.62 + 0.16 * grain(*sitter.canonical(np.abs(v[:, 0]), v[:, 1], v[:, 2]))
    under = Solid(v, n, f, shade_byte(dark))
    grown = long_tufts(hair, LONG_TUFTS) if STYLES[style].long else short_tufts(hair, SHORT_TUFTS)
    return joined(under, solid_tufts(grown, 0.55))


CLOTH_AXES = (
    Axis(0.0, 262.0, ((0, 1.1), (95, 1.1), (120, 3.0), (250, 4.5))),
    Axis(-291.7, -118.0, ((-290, 3.5), (-245, 3.0), (-230, 1.1), (-118, 1.1))),
    Axis(-158.3, 78.0, ((-150, 3.0), (-125, 1.2), (40, 1.1), (78, 1.7))),
)
CLOTH_TRIANGLES = 14_000


def build_cloth(sitter: Sitter) -> Solid:
    """The garment."""
    v, n, f = body(Cloth(sitter), CLOTH_AXES, CLOTH_TRIANGLES, 9.0, lambda v: near_collar(v, sitter))
    return Solid(v, n, f, np.full(len(v), 128, np.uint8))


def build_fine(head: Head) -> tuple[Solid, NDArray[np.uint8]]:
    """Brows and lashes of both eyes, and the region of each vertex: 2 brow, 3 lashes."""
    made = [solid_tufts(brow(head), 0.9), solid_tufts(lashes(head), 0.9)]
    region = np.concatenate(
        [np.full(len(s.vertices), number) for s, number in zip(made, (2, 3), strict=True)]
    )
    left = joined(*made)
    flip = np.array([-1.0, 1.0, 1.0])
    right = Solid(left.vertices * flip, left.normals * flip, left.faces[:, ::-1], left.shade)
    return joined(left, right), np.tile(region, 2).astype(np.uint8)
