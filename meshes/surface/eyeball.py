"""Eyeball: the globe with its clear corneal window, the iris behind it, the tears along the lower lid.

Each is a closed surface. The iris lies free inside the globe, where only a ray through the window meets it.
Iris and pupil behind the apex of the cornea: front of the lens at 3.6 mm (Gullstrand's exact eye, from
memory); the iris rests on it. The pupil of 3.4 mm looks 3.8 mm wide through the cornea.
"""

import numpy as np
from numpy.typing import NDArray

from ..field.eye import APEX, CORNEA, CORNEA_OFFSET, GLOBE, LIMBUS, Eye
from .ring import Mesh, joined, ringed, turned

SCLERA, WINDOW, IRIS, PUPIL, TEARS = range(5)
PUPIL_RADIUS = 1.7  # mm
IRIS_RADIUS = 6.3  # mm: its edge is hidden behind the limbus
LENS_DEPTH = 3.6  # mm behind the apex of the cornea
TEAR_RADIUS = 0.22  # mm: height of the strip of tears, 0.2 to 0.3 mm (from memory)
GLOBE_SEGMENTS, IRIS_SEGMENTS, TEAR_SEGMENTS = 72, 160, 8


def globe() -> Mesh:
    """Sclera and cornea about the globe's centre, z along the gaze."""
    inner = np.linspace(0.0, LIMBUS - 0.03, 17)[1:]
    rim = float(np.arcsin(LIMBUS / GLOBE))
    polar = np.concatenate([np.linspace(rim, 1.15, 16), np.linspace(1.15, np.pi, 18)[1:-1]])
    radius = np.concatenate([inner, GLOBE * np.sin(polar)])
    depth = np.concatenate([CORNEA_OFFSET + np.sqrt(CORNEA**2 - inner**2), GLOBE * np.cos(polar)])
    centre = np.concatenate([np.full(len(inner), CORNEA_OFFSET), np.zeros(len(polar))])
    region = np.where(np.arange(len(radius)) < len(inner), WINDOW, SCLERA)
    normal = np.stack([radius, depth - centre], axis=1)
    return turned(radius, depth, normal, region, (APEX, -GLOBE), GLOBE_SEGMENTS)


def iris() -> Mesh:
    """A thin disc, its front raised at the collarette, with a sunken black pupil."""
    ring = np.concatenate(
        [[0.9, PUPIL_RADIUS - 0.1], np.linspace(PUPIL_RADIUS, 2.9, 8), np.linspace(3.1, IRIS_RADIUS, 17)]
    )
    raised = 0.28 * np.exp(-(((ring - 2.6) / 0.55) ** 2)) - 0.05 * (ring - 2.6) - 0.1
    front = APEX - LENS_DEPTH + np.where(ring < PUPIL_RADIUS, -0.35, raised)
    slope = np.gradient(front, ring)
    slope[:3] = 0.0
    back = np.array([IRIS_RADIUS, 3.0])
    radius, depth = np.concatenate([ring, back]), np.concatenate([front, np.full(2, front[0] - 0.3)])
    normal = np.concatenate([np.stack([-slope, np.ones_like(slope)], axis=1), [[0.0, -1.0]] * 2])
    region = np.where(radius < PUPIL_RADIUS, PUPIL, IRIS)
    return turned(radius, depth, normal, region, (front[0], front[0] - 0.3), IRIS_SEGMENTS)


def tears(eye: Eye) -> Mesh:
    """The strip of tears where the lower lid meets the globe, pointed at both ends."""
    (inner, _), (outer, _) = eye.inner, eye.outer
    x = np.linspace(inner + 4.5, outer - 3.0, 48)
    y = eye.lids(x + eye.centre[0])[1] - eye.centre[1] + 0.1
    reach = x**2 + y**2
    ball = np.sqrt(np.maximum(GLOBE**2 - reach, 0.0))
    bulge = CORNEA_OFFSET + np.sqrt(np.maximum(CORNEA**2 - reach, 0.0))
    path = np.stack([x, y, np.where(reach < LIMBUS**2, bulge, ball)], axis=1)
    along = np.gradient(path, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    out = path / np.linalg.norm(path, axis=1, keepdims=True)
    side = np.cross(along, out)
    taper = np.sqrt(np.clip(1.0 - np.linspace(-1.0, 1.0, len(x)) ** 4, 0.0, 1.0))[1:-1, None, None]
    turn = np.arange(TEAR_SEGMENTS)[None, :, None] * (2.0 * np.pi / TEAR_SEGMENTS)
    normal = np.cos(turn) * out[1:-1, None] + np.sin(turn) * side[1:-1, None]
    rings = path[1:-1, None] + TEAR_RADIUS * taper * normal
    ends = np.stack([path[0], path[-1]])
    return ringed(rings, normal, ends, np.stack([-along[0], along[-1]]), np.full(len(rings), TEARS, np.uint8))


def shade(vertices: NDArray[np.float64], region: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Brightness of the surface in 128ths of its mean: fibres and rings of the iris, a duller rim."""
    radius, turn = np.hypot(vertices[:, 0], vertices[:, 1]), np.arctan2(vertices[:, 1], vertices[:, 0])
    source = np.random.default_rng(7)
    fibres = np.zeros(len(vertices))
    for waves in (9, 14, 23, 37, 52, 71):
        phase, twist, fade = (
            source.uniform(0.0, 2.0 * np.pi),
            source.normal(0.0, 0.5),
            source.uniform(2.0, 4.0),
        )
        fibres += np.cos(waves * turn + phase + twist * radius) * (0.6 + 0.4 * np.cos(fade * radius)) / 6.0
    inward = np.exp(-(((radius - 2.5) / 0.7) ** 2))  # the paler zone about the pupil
    limbal = 1.0 - 0.55 / (1.0 + np.exp(-(radius - 5.15) / 0.2))
    margin = 1.0 - 0.5 * np.exp(-(((radius - PUPIL_RADIUS) / 0.18) ** 2))
    iris_shade = (0.92 + 0.9 * fibres + 0.45 * inward) * limbal * margin
    sclera = 1.0 - 0.18 * np.clip((radius - 7.0) / 5.0, 0.0, 1.0)
    sclera *= 1.0 - 0.25 * np.exp(-(((radius - LIMBUS) / 0.45) ** 2))
    level = np.where(region == IRIS, iris_shade, np.where(region == SCLERA, sclera, 1.0))
    return np.clip(np.round(128.0 * level), 0, 255).astype(np.uint8)


def eyeball(eye: Eye) -> tuple[Mesh, NDArray[np.uint8]]:
    """The sitter's left eye about the globe's centre, z along the gaze [mm]; shade of its vertices."""
    whole = joined(globe(), iris(), tears(eye))
    return whole, shade(whole[0], whole[3])
