"""One element, one Lambertian source: readings against configuration factors in closed form.

The digits beside a formula were found apart from it, by quadrature over the surface of the source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
import view_factor as vf
from light_lab import LIMIT, disc, flat, read, rectangle, sphere, tube

from renderer.scene.parts import Part

LUMINANCE = 1000.0
UP, ORIGIN = (0.0, 0.0, 1.0), (0.0, 0.0, 0.0)
DOWN = (0.0, 0.0, -1.0)


def facing(degrees: float) -> tuple[float, float, float]:
    """A normal this far from +z."""
    return math.sin(math.radians(degrees)), 0.0, math.cos(math.radians(degrees))


def softbox(width: float, height: float, distance: float, degrees: float = 0.0) -> Part:
    """A rectangle aimed at the origin from `degrees` off +z."""
    away = np.array(facing(degrees))
    across = np.array([away[2], 0.0, -away[0]])
    return rectangle(distance * away, across * width / 2, (0.0, height / 2, 0.0), -away)


def lantern(x: float, bottom: float) -> list[Part]:
    """A hung cylinder, radius 0.25 and length 0.6, its side and its bottom lit."""
    return [tube((x, 0, 0), 0.25, bottom, bottom + 0.6), disc((x, 0, bottom), DOWN, 0.25)]


def skirted() -> list[Part]:
    """The side of a lantern about the level of the element, its upper 0.2 m under a black skirt."""
    return [tube((1.5, 0, 0), 0.25, -0.3, 0.1), tube((1.5, 0, 0), 0.25, 0.1, 0.3, 0.0)]


LANTERN_LEVEL = vf.cylinder_level(0.25, 1.6, 1.2) - vf.cylinder_level(0.25, 1.0, 1.2)
LANTERN_FACING = vf.cylinder_facing(0.25, 1.6, 1.2) - vf.cylinder_facing(0.25, 1.0, 1.2)
BOTTOM_LEVEL, BOTTOM_FACING = vf.disc_parallel(1.0, 0.25, 1.2), vf.disc_perpendicular(1.0, 0.25, 1.2)
LEVEL, FACING = LANTERN_LEVEL + BOTTOM_LEVEL, LANTERN_FACING + BOTTOM_FACING

# name: (sources, normal of the element at the origin, F by formula, F by quadrature)
CASES: dict[str, tuple[Sequence[Part], Sequence[float], float, float]] = {
    "disc on axis": ([disc((0, 0, 1.5), DOWN, 0.45)], UP, vf.disc_on_axis(0.45, 1.5), 0.08256881),
    "disc off axis": ([disc((1, 0, 2), DOWN, 0.6)], UP, vf.disc_parallel(2, 0.6, 1), 0.05589118),
    "disc off axis, near": ([disc((0.5, 0, 1), DOWN, 0.5)], UP, vf.disc_parallel(1, 0.5, 0.5), 0.1464466),
    "disc far off axis": ([disc((0, 2, 1), DOWN, 0.75)], UP, vf.disc_parallel(1, 0.75, 2), 0.02632971),
    "disc square to": ([disc((1, 0, 2), DOWN, 0.6)], (1, 0, 0), vf.disc_perpendicular(2, 0.6, 1), 0.02604452),
    "disc square to, wide": (
        [disc((0, 2, 1), DOWN, 0.75)],
        (0, 1, 0),
        vf.disc_perpendicular(1, 0.75, 2),
        0.04687785,
    ),
    "disc square to, near": (
        [disc((0, -1, 1), DOWN, 0.5)],
        (0, -1, 0),
        vf.disc_perpendicular(1, 0.5, 1),
        0.05815631,
    ),
    "rectangle over a corner": (
        [rectangle((0.3, 0.45, 1.5), (0.3, 0, 0), (0, 0.45, 0), DOWN)],
        UP,
        vf.rectangle_corner(0.6, 0.9, 1.5),
        0.05709950,
    ),
    "softbox": ([softbox(0.6, 0.9, 1.5)], UP, 4 * vf.rectangle_corner(0.3, 0.45, 1.5), 0.07034425),
    "square": ([softbox(1, 1, 1)], UP, 4 * vf.rectangle_corner(0.5, 0.5, 1), 0.2394565),
    "rectangle square to, 1 1 1": (
        [rectangle((0.5, 1, 0.5), (0.5, 0, 0), (0, 0, 0.5), (0, -1, 0))],
        UP,
        vf.rectangle_perpendicular(1, 1, 1),
        0.05573420,
    ),
    "rectangle square to": (
        [rectangle((0.45, 1.5, 0.3), (0.45, 0, 0), (0, 0, 0.3), (0, -1, 0))],
        UP,
        vf.rectangle_perpendicular(0.6, 0.9, 1.5),
        0.01090294,
    ),
    "rectangle across the horizon": (
        [rectangle((0, 1, 0), (0.5, 0, 0), (0, 0, 1), (0, -1, 0))],
        UP,
        2 * vf.rectangle_perpendicular(1, 0.5, 1),
        0.07109344,
    ),
    "softbox from 45 degrees": (
        [softbox(0.6, 0.9, 1.5, 45)],
        UP,
        4 * vf.rectangle_corner(0.3, 0.45, 1.5) * math.sqrt(0.5),
        0.04974090,
    ),
    # textbook: (R / d)^2 cos(theta)
    "sphere": ([sphere((0, 0, 1.5), 0.3)], UP, 0.2**2, 0.04),
    "sphere at 60 degrees": ([sphere((0, 0, 1.5), 0.3)], facing(60), 0.2**2 * 0.5, 0.02),
    "sphere cut at 75": ([sphere((0, 0, 1), 0.5)], facing(75), vf.sphere_cut(2, 75), 0.07041043),
    "sphere cut at 90": ([sphere((0, 0, 1), 0.5)], facing(90), vf.sphere_cut(2, 90), 0.02883444),
    "sphere cut at 110": ([sphere((0, 0, 1), 0.5)], facing(110), vf.sphere_cut(2, 110), 0.002149570),
    "small sphere cut at 90": ([sphere((0, 0, 1.5), 0.3)], facing(90), vf.sphere_cut(5, 90), 0.001718470),
    "cylinder, facing": ([tube((3, 0, 0), 1, 0, 2)], (1, 0, 0), vf.cylinder_facing(1, 2, 3), 0.1322371),
    "slim cylinder, facing": (
        [tube((0, 1.5, 0), 0.25, 0, 0.6)],
        (0, 1, 0),
        vf.cylinder_facing(0.25, 0.6, 1.5),
        0.04324161,
    ),
    "near cylinder, facing": (
        [tube((-0.8, 0, 0), 0.4, 0, 1)],
        (-1, 0, 0),
        vf.cylinder_facing(0.4, 1, 0.8),
        0.2419960,
    ),
    "cylinder, level": ([tube((3, 0, 0), 1, 0, 2)], UP, vf.cylinder_level(1, 2, 3), 0.05010478),
    "slim cylinder, level": (
        [tube((0, 1.5, 0), 0.25, 0, 0.6)],
        UP,
        vf.cylinder_level(0.25, 0.6, 1.5),
        0.00942231,
    ),
    "near cylinder, level": ([tube((-0.8, 0, 0), 0.4, 0, 1)], UP, vf.cylinder_level(0.4, 1, 0.8), 0.1381313),
    "lantern, side, level": (lantern(1.2, 1.0)[:1], UP, LANTERN_LEVEL, 0.01457157),
    "lantern, side, facing": (lantern(1.2, 1.0)[:1], (1, 0, 0), LANTERN_FACING, 0.01158591),
    "lantern, bottom, level": (lantern(1.2, 1.0)[1:], UP, BOTTOM_LEVEL, 0.01070328),
    "lantern, bottom, facing": (lantern(1.2, 1.0)[1:], (1, 0, 0), BOTTOM_FACING, 0.01251841),
    # vector rule: while the source is above the horizon, E(n) = n . (its three components)
    "lantern, whole": (lantern(1.2, 1.0), (1, 0.5, 1), (FACING + LEVEL) / 1.5, 0.03291946),
    "cylinder at mid height": (
        [tube((1.5, 0, 0), 0.25, -0.3, 0.3)],
        (1, 0, 0),
        2 * vf.cylinder_facing(0.25, 0.3, 1.5),
        0.04748071,
    ),
    "cylinder with a skirt": (
        skirted(),
        (1, 0, 0),
        vf.cylinder_facing(0.25, 0.3, 1.5) + vf.cylinder_facing(0.25, 0.1, 1.5),
        0.03190203,
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_the_formula_gives_the_digits_of_the_quadrature(name: str) -> None:
    *_, formula, quadrature = CASES[name]
    assert formula == pytest.approx(quadrature, rel=4e-7, abs=6e-9)  # their last digit


@pytest.mark.parametrize("name", CASES)
def test_reading_is_pi_l_f(name: str) -> None:
    parts, normal, formula, _ = CASES[name]
    reading = read([parts], flat(ORIGIN, normal), samples=4096)
    off = reading.off(math.pi * LUMINANCE * formula)
    print(f"{name}: {off:+.2f} standard errors of {reading.error() / reading.value():.1e}")
    assert abs(off) <= LIMIT


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_reading_is_pi_l_f_with_a_million_samples(name: str) -> None:
    parts, normal, formula, _ = CASES[name]
    reading = read([parts], flat(ORIGIN, normal), samples=32768, seed=2)
    assert abs(reading.off(math.pi * LUMINANCE * formula)) <= LIMIT
