"""How far off is the point-source rule? Distance k times a dimension of the source, on its axis.

Deviations from E = I / d^2 in closed form; a disc at k diameters is -1 / (4 k^2 + 1). The rule of five
times the largest dimension: IES and CIE practice of photometric distance (from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from light_lab import LIMIT, deviation, disc, flat, read, rectangle, sphere, tube

from renderer.scene.load import loads
from renderer.scene.parts import Part
from renderer.world.build import build

LUMINANCE = 1000.0
ORIGIN, DOWN, UP = (0.0, 0.0, 0.0), (0.0, 0.0, -1.0), (0.0, 0.0, 1.0)
# k: per cent for a disc at k diameters and a square at k sides, k diagonals
PER_CENT = {
    2: (-5.882, -7.665, -3.992),
    3: (-2.703, -3.565, -1.817),
    5: (-0.9901, -1.315, -0.6620),
    10: (-0.2494, -0.3322, -0.1664),
    15: (-0.1110, -0.1479, -0.0740),
    20: (-0.0625, -0.0833, -0.0416),
}


def square(d: float) -> Part:
    return rectangle((0, 0, d), (0.5, 0, 0), (0, 0.5, 0), DOWN)


def short_of_point_rule(part: Part, intensity: float, d: float) -> np.ndarray:
    """Replicas of the deviation [per cent]."""
    reading = read([[part]], flat(ORIGIN, UP), samples=4096)
    return 100.0 * (reading.totals()[:, 0] * d**2 / intensity - 1.0)


def agrees(per_cent: np.ndarray, expected: float, digit: float) -> bool:
    """Within the limit of the standard error and half of the last printed digit."""
    return abs(deviation(100.0 + per_cent, 100.0 + expected, bias=digit / 200.0)) <= LIMIT


@pytest.mark.parametrize("k", PER_CENT)
def test_disc_and_square(k: int) -> None:
    disc_expected, side_expected, diagonal_expected = PER_CENT[k]
    digit = 1e-4 if k >= 5 else 1e-3
    d = float(k)
    found = short_of_point_rule(disc((0, 0, d), DOWN, 0.5), LUMINANCE * math.pi * 0.25, d)
    assert agrees(found, disc_expected, digit)
    assert agrees(found, -100.0 / (4 * k * k + 1), 0.0)
    assert agrees(short_of_point_rule(square(d), LUMINANCE, d), side_expected, 10 * digit)
    d = k * math.sqrt(2.0)
    assert agrees(short_of_point_rule(square(d), LUMINANCE, d), diagonal_expected, 10 * digit)


@pytest.mark.parametrize("k", [0.6, 1.0, 3.0])
def test_sphere_keeps_the_rule_at_every_distance(k: float) -> None:
    found = short_of_point_rule(sphere((0, 0, k), 0.5), LUMINANCE * math.pi * 0.25, k)
    assert agrees(found, 0.0, 0.0)


@pytest.mark.parametrize(("k", "expected"), [(5, 1.316), (10, 0.824)])
def test_cylinder_measured_from_its_axis_is_brighter_than_the_rule(k: int, expected: float) -> None:
    """Its near surface is closer than its axis. Diameter a quarter of the length."""
    d = float(k)
    part = tube((0, d, 0), 0.125, -0.5, 0.5)
    reading = read([[part]], flat(ORIGIN, (0, 1, 0)), samples=4096)
    per_cent = 100.0 * (reading.totals()[:, 0] * d**2 / (2.0 * 0.125 * LUMINANCE) - 1.0)
    assert agrees(per_cent, expected, 1e-3)


def test_lumens_of_a_lantern_become_lux() -> None:
    """10 000 lm out of side and bottom, radius 0.25 m, length 0.6 m: at mid height, 1.5 m from the axis,
    E = pi L 2 F_V, with L = flux / (pi area) = 2795.07 cd/m2: 416.926 lx. Howell's catalogue, section B."""
    scene = loads(
        """
        [sitter]
        mesh = "none"
        [light.key]
        source = "cylinder"
        at = [0.0, 3.0, 2.0]
        diameter = 0.5
        length = 0.6
        lumens = 10000
        """
    )
    world = build(scene)
    parts = world.layers[0].parts
    reading = read([parts], flat((0, 1.5, 2.0), (0, 1, 0)), samples=8192)
    # 416.926 is printed to six digits
    assert abs(reading.off(416.926, bias=0.0005 / 416.926)) <= LIMIT
