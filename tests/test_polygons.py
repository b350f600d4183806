"""Lambert's formula for any polygon, against rectangles as sources and triangles as black obstacles.

source  Lambert, Photometria, 1760; Baum, Rushmeier, Winget, SIGGRAPH 1989 (from memory)
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from light_lab import LIMIT, Reading, box_of_rectangles, deviation, flat, meshed, read, rectangle
from view_factor import polygon

from renderer.scene.parts import BLACK

LUMINANCE = 1000.0
UP, ORIGIN = (0.0, 0.0, 1.0), (0.0, 0.0, 0.0)
# corners, F by quadrature (element at the origin, normal +z)
TRIANGLES = {
    "large": (((1.0, 0.0, 2.0), (0.0, 1.0, 2.0), (0.0, 0.0, 1.0)), 0.03413879),
    "askew": (((0.4, -0.3, 1.2), (1.1, 0.2, 0.8), (0.5, 0.6, 1.6)), 0.05063430),
}


def in_any_place(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Centre, two half sides and normal of a rectangle that looks at the origin, and may cross z = 0."""
    rng = np.random.default_rng(seed)
    centre = rng.normal(size=3)
    centre *= rng.uniform(0.5, 1.5) / np.linalg.norm(centre)
    centre[2] = abs(centre[2]) * 0.5
    axes, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    u, v, w = axes.T
    return centre, rng.uniform(0.05, 0.6) * u, rng.uniform(0.05, 0.6) * v, -math.copysign(1.0, centre @ w) * w


@pytest.mark.parametrize("name", TRIANGLES)
def test_the_formula_gives_the_digits_of_the_quadrature(name: str) -> None:
    corners, expected = TRIANGLES[name]
    assert polygon(corners, ORIGIN, UP) == pytest.approx(expected, abs=6e-9)


@pytest.mark.parametrize("seed", range(16))
def test_rectangle_in_any_place(seed: int) -> None:
    centre, u, v, normal = in_any_place(seed)
    corners = [centre + a * u + b * v for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    expected = math.pi * LUMINANCE * polygon(corners, ORIGIN, UP)
    reading = read([[rectangle(centre, u, v, normal)]], flat(ORIGIN, UP), samples=2048, seed=seed)
    assert expected > 0.0
    assert abs(reading.off(expected)) <= LIMIT


def behind(corners: tuple[tuple[float, float, float], ...], samples: int) -> Reading:
    """The light lost behind a black triangle under an even sky (the upper half of a glowing shell)."""
    mesh = meshed(np.array(corners), np.tile(UP, (3, 1)), [[0, 1, 2]], BLACK)
    shell = [box_of_rectangles(5.0, LUMINANCE, 0.0)]
    return read(shell, flat(ORIGIN, UP), mesh=mesh, samples=samples)


@pytest.mark.parametrize("name", TRIANGLES)
def test_triangle_hides_its_own_share_of_an_even_sky(name: str) -> None:
    corners, expected = TRIANGLES[name]
    hidden = math.pi * LUMINANCE - behind(corners, 8192).totals()[:, 0]
    off = deviation(hidden, math.pi * LUMINANCE * expected)
    print(f"{name}: {off:+.2f} standard errors; hidden share {hidden.mean() / math.pi / LUMINANCE:.5f}")
    assert abs(off) <= LIMIT


def test_two_triangles_that_share_an_edge_hide_a_rectangle_without_a_gap() -> None:
    """A source wholly behind a quadrilateral of two triangles sends nothing at all."""
    corners = np.array([(-1.0, -1.0, 1.0), (1.0, -1.0, 1.0), (1.0, 1.0, 1.0), (-1.0, 1.0, 1.0)])
    mesh = meshed(corners, np.tile(UP, (4, 1)), [[0, 1, 2], [0, 2, 3]], BLACK)
    source = rectangle((0, 0, 2), (0.9, 0, 0), (0, 0.9, 0), (0, 0, -1))
    reading = read([[source]], flat(ORIGIN, UP), mesh=mesh, samples=2048)
    assert reading.totals().max() == 0.0
