"""Configuration factors in closed form, from a small flat element to a Lambertian source: E = pi L F.

Written from the literature, apart from the renderer; `test_closed_forms.py` holds the digits against
values found by surface quadrature.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike


def disc_on_axis(radius: float, h: float) -> float:
    """Element facing the middle of a parallel disc. Howell, A Catalog of Radiation Heat Transfer
    Configuration Factors, section B; I. Martinez, Radiative view factors (UPM)."""
    return radius**2 / (radius**2 + h**2)


def disc_parallel(h: float, radius: float, a: float) -> float:
    """Element parallel to a disc, offset `a` from its axis. Howell's catalogue, section B (from memory)."""
    hh, r = h / a, radius / a
    z = 1 + hh**2 + r**2
    return 0.5 * (1 - (1 + hh**2 - r**2) / math.sqrt(z**2 - 4 * r**2))


def disc_perpendicular(h: float, radius: float, a: float) -> float:
    """Element square to a disc, facing its axis, offset a >= radius. Howell, section B (from memory)."""
    hh, r = h / a, radius / a
    z = 1 + hh**2 + r**2
    return hh / 2 * (z / math.sqrt(z**2 - 4 * r**2) - 1)


def rectangle_corner(a: float, b: float, c: float) -> float:
    """Element parallel to a rectangle a x b, distance c under a corner. Siegel & Howell, Thermal Radiation
    Heat Transfer, 4th ed., p. 842."""
    x, y = a / c, b / c
    first = x / math.sqrt(1 + x * x) * math.atan(y / math.sqrt(1 + x * x))
    second = y / math.sqrt(1 + y * y) * math.atan(x / math.sqrt(1 + y * y))
    return (first + second) / (2 * math.pi)


def rectangle_perpendicular(a: float, b: float, c: float) -> float:
    """Element at distance c before the lower corner of an upright rectangle, height a and width b, its
    normal parallel to the height. Siegel & Howell, 4th ed., p. 842."""
    x, y = a / b, c / b
    root = math.sqrt(x * x + y * y)
    return (math.atan(1 / y) - y / root * math.atan(1 / root)) / (2 * math.pi)


def sphere_cut(h: float, degrees: float) -> float:
    """Sphere at h = distance / radius, cut by the element's horizon; `degrees` between the normal and the
    centre. Hamilton & Morgan, NACA TN 2836, 1952; Martinez, Radiative view factors (both from memory)."""
    theta = math.radians(degrees)
    c, s = math.cos(theta), math.sqrt(h * h - 1)
    level = c * math.acos(-s / math.tan(theta)) - s * math.sqrt(1 - h * h * c * c)
    return 0.5 - math.asin(s / (h * math.sin(theta))) / math.pi + level / (math.pi * h * h)


def cylinder_facing(radius: float, length: float, h: float) -> float:
    """Side of a cylinder; element at the level of its foot, distance h from the axis, facing the axis.
    Howell, section B; in fire engineering Mudan 1984, NUREG-1805 chapter 5."""
    el, hh = length / radius, h / radius
    x, y = (1 + hh) ** 2 + el**2, (1 - hh) ** 2 + el**2
    inner = math.atan(math.sqrt(x * (hh - 1) / (y * (hh + 1)))) * (x - 2 * hh) / (hh * math.sqrt(x * y))
    outer = math.atan(math.sqrt((hh - 1) / (hh + 1))) / hh
    return math.atan(el / math.sqrt(hh**2 - 1)) / (math.pi * hh) + el / math.pi * (inner - outer)


def cylinder_level(radius: float, length: float, h: float) -> float:
    """As `cylinder_facing`, for an element whose normal is parallel to the axis."""
    el, hh = length / radius, h / radius
    x, y = (1 + hh) ** 2 + el**2, (1 - hh) ** 2 + el**2
    outer = math.atan(math.sqrt((hh + 1) / (hh - 1)))
    inner = math.atan(math.sqrt(x * (hh - 1) / (y * (hh + 1))))
    return (outer - (hh**2 - 1 + el**2) / math.sqrt(x * y) * inner) / math.pi


def polygon(corners: ArrayLike, at: ArrayLike, normal: ArrayLike) -> float:
    """Any flat polygon, cut at the element's horizon. Lambert, Photometria, 1760; Baum, Rushmeier, Winget,
    SIGGRAPH 1989 (from memory)."""
    n = np.asarray(normal, float) / np.linalg.norm(normal)
    points = _above(np.asarray(corners, float) - np.asarray(at, float), n)
    if len(points) < 3:
        return 0.0
    vector = np.zeros(3)
    for a, b in zip(points, np.roll(points, -1, axis=0), strict=True):
        across = np.cross(a, b)
        size = np.linalg.norm(across)
        if size > 0.0:
            vector += math.atan2(size, a @ b) * across / size
    return abs(float(vector @ n)) / (2 * math.pi)


def _above(points: np.ndarray, n: np.ndarray) -> np.ndarray:
    """The part of a polygon above the plane through the origin with normal n (Sutherland & Hodgman)."""
    kept = []
    for a, b in zip(points, np.roll(points, -1, axis=0), strict=True):
        p, q = a @ n, b @ n
        if p >= 0.0:
            kept.append(a)
        if (p >= 0.0) != (q >= 0.0):
            kept.append(a + p / (p - q) * (b - a))
    return np.array(kept)


def coaxial_discs(r1: float, r2: float, h: float) -> float:
    """From disc 1 to a parallel coaxial disc 2. Siegel & Howell, 4th ed., p. 845."""
    x = 1 + (1 + (r2 / h) ** 2) / (r1 / h) ** 2
    return 0.5 * (x - math.sqrt(x * x - 4 * (r2 / r1) ** 2))


def parallel_rectangles(a: float, b: float, c: float) -> float:
    """Between equal parallel rectangles a x b at distance c. Siegel & Howell, 4th ed., p. 843."""
    x, y = a / c, b / c
    p, q = math.sqrt(1 + x * x), math.sqrt(1 + y * y)
    return (
        2
        / (math.pi * x * y)
        * (
            math.log(p * q / math.sqrt(1 + x * x + y * y))
            + x * q * math.atan(x / q)
            + y * p * math.atan(y / p)
            - x * math.atan(x)
            - y * math.atan(y)
        )
    )
