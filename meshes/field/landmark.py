"""Landmarks found on the field by shooting along an axis or seeking an extreme; mm, sculptor's frame."""

from collections.abc import Callable

import numpy as np

from .blend import Array
from .ear import frame
from .eye import APEX
from .mouth import BOW, HALF, SEAM
from .sitter import Sitter

Field = Callable[[Array, Array, Array], Array]


def landmarks(field: Field, sitter: Sitter) -> dict[str, tuple[Array, Array]]:
    """Position and outward unit normal of each landmark; `_l` and `_r` are the sitter's left and right."""
    from ..surface.grid import gradient

    eye = sitter.eye
    cx, cy, cz = eye.centre

    def at(x0: float, y0: float) -> Array:
        """Surface under a canonical point of the front of the face."""
        return _front(field, *sitter.actual(x0, y0))

    def heights(low: float, high: float, count: int) -> Array:
        return np.linspace(sitter.actual(0.0, low)[1], sitter.actual(0.0, high)[1], count)

    drop = sitter.actual(0.0, -114.0)[1] + 114.0
    middle = {
        "glabella": at(0, 20.0),
        "nasion": _extreme(field, np.linspace(0.0, 18.0, 91), deepest=True),
        "pronasale": _extreme(field, heights(-42.0, -24.0, 91), deepest=False),
        "subnasale": at(0, -45.6),
        "labiale_superius": at(0, float(BOW(0.0))),
        "stomion": at(0, float(SEAM(0.0))),
        "menton": _lowest(field, drop),
        "forehead_centre": at(0, 48.0),
        "chin_front": at(0, -98.0),
        "submental": _shoot(field, (0.0, -125.0 + drop, 48.0), (0.0, 1.0, 0.0), 40.0),
        "neck_front": at(0, -152.0),
        "sternum": at(0, -245.0),
        "vertex": _highest(field),
    }
    origin, axes = frame()
    notch = origin + axes.T @ np.array([1.5, 0.6, 0.0])
    notch[1] = sitter.actual(70.0, float(notch[1]))[1]
    jaw = sitter.actual(55.0, -77.0)[1]
    paired = {
        "endocanthion": _front(field, cx + eye.inner[0], cy + eye.inner[1]),
        "exocanthion": _front(field, cx + eye.outer[0], cy + eye.outer[1]),
        "pupil": np.array([cx, cy, cz + APEX]),
        "cheilion": at(HALF * sitter.mouth_breadth, float(SEAM(HALF))),
        "alare": _widest(field, heights(-42, -30, 25), np.linspace(93, 103, 21), start=32.0),
        "tragion": _side(field, float(notch[1]), float(notch[2]) + 2.0),
        "zygion": _widest(field, heights(-28, -6, 23), np.linspace(8, 45, 38), start=100.0),
        "gonion": _side(field, jaw, 4.0),
        "orbitale": at(30.0, -16.5),
        "malar": at(36.0, -25.0),
    }
    found = dict(middle)
    for name, p in paired.items():
        found[name + "_l"] = p
        found[name + "_r"] = p * np.array([-1.0, 1.0, 1.0])
    out = {}
    for name, p in found.items():
        normal = (
            np.array([0.0, 0.0, 1.0]) if name.startswith("pupil") else gradient(field, p[None, :], 0.4)[0]
        )
        if abs(p[0]) < 1e-9:
            normal[0] = 0.0
            normal /= np.linalg.norm(normal)
        out[name] = (p, normal)
    return out


def shoot(field: Field, start: Array, way: tuple[float, float, float], reach: float) -> Array:
    """First place where the field turns negative from each of (n, 3) starts; NaN where there is none."""
    s, d = np.atleast_2d(start), np.array(way)
    t = np.linspace(0.0, reach, int(reach / 1.5) + 2)
    line = s[:, None, :] + t[None, :, None] * d
    flat = line.reshape(-1, 3)
    inside = np.asarray(field(flat[:, 0], flat[:, 1], flat[:, 2]) < 0.0).reshape(len(s), len(t))
    first = np.argmax(inside, axis=1)
    lo, hi = t[np.maximum(first - 1, 0)], t[first]
    for _ in range(30):
        mid = 0.5 * (lo + hi)
        p = s + mid[:, None] * d
        deep = field(p[:, 0], p[:, 1], p[:, 2]) < 0.0
        lo, hi = np.where(deep, lo, mid), np.where(deep, mid, hi)
    return np.where(np.asarray(inside.any(axis=1))[:, None], s + hi[:, None] * d, np.nan)


def _shoot(
    field: Field, start: tuple[float, float, float], way: tuple[float, float, float], reach: float
) -> Array:
    found = shoot(field, np.array(start), way, reach)[0]
    if np.isnan(found).any():
        raise ValueError(f"no surface from {start} along {way} within {reach} mm")
    return np.asarray(found)


def _front(field: Field, x: float, y: float) -> Array:
    return _shoot(field, (x, y, 125.0), (0.0, 0.0, -1.0), 125.0)


def _side(field: Field, y: float, z: float) -> Array:
    return _shoot(field, (110.0, y, z), (-1.0, 0.0, 0.0), 85.0)


def _extreme(field: Field, heights: Array, deepest: bool) -> Array:
    start = np.stack([0.0 * heights, heights, 0.0 * heights + 125.0], axis=1)
    found = shoot(field, start, (0.0, 0.0, -1.0), 60.0)
    return np.asarray(found[np.nanargmin(found[:, 2]) if deepest else np.nanargmax(found[:, 2])])


def _lowest(field: Field, drop: float) -> Array:
    depth = np.linspace(66.0, 88.0, 45)
    found = shoot(
        field, np.stack([0 * depth, 0 * depth - 130.0 + drop, depth], axis=1), (0.0, 1.0, 0.0), 40.0
    )
    return np.asarray(found[np.nanargmin(found[:, 1])])


def _highest(field: Field) -> Array:
    depth = np.linspace(-30.0, 20.0, 51)
    found = shoot(field, np.stack([0 * depth, 0 * depth + 135.0, depth], axis=1), (0.0, -1.0, 0.0), 50.0)
    return np.asarray(found[np.nanargmax(found[:, 1])])


def _widest(field: Field, heights: Array, depths: Array, start: float) -> Array:
    h, d = (g.ravel() for g in np.meshgrid(heights, depths, indexing="ij"))
    found = shoot(field, np.stack([0 * h + start, h, d], axis=1), (-1.0, 0.0, 0.0), start - 2.0)
    return np.asarray(found[np.nanargmax(found[:, 0])])
