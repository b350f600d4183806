"""What a head throws, and where it lands first."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from view_factor import disc_on_axis, rectangle_corner

from renderer.enclosure.beam import Beam, CosineBeam, Head, TableBeam
from renderer.enclosure.grid import make_grid
from renderer.enclosure.landing import Points, first_light
from renderer.enclosure.outline import RectangleCells, Rectangular, Round, RoundCells

LAMBERTIAN = CosineBeam(1.0)
TABLE = TableBeam([0.0, 15.0, 40.0, 75.0, 110.0], [900.0, 800.0, 350.0, 60.0, 0.0])


@pytest.mark.parametrize("degrees", [10.0, 60.0, 120.0])
def test_beam_angle_is_where_half_the_peak_is_left(degrees: float) -> None:
    """Definition of the beam angle, as in CIE S 017 (International Lighting Vocabulary), 'beam angle'."""
    beam = CosineBeam.of_angle(degrees)
    peak, edge = beam.intensity(np.radians([0.0, degrees / 2.0]))
    assert edge / peak == pytest.approx(0.5, rel=1e-12)
    if degrees == 120.0:
        assert beam.exponent == pytest.approx(1.0, rel=1e-12)  # Lambert's law: cos 60 = 1 / 2
        assert peak == pytest.approx(1.0 / math.pi, rel=1e-12)  # its flux is pi I0


@pytest.mark.parametrize("beam", [CosineBeam(0.0), LAMBERTIAN, CosineBeam.of_angle(25.0), TABLE])
def test_flux_in_a_cone_is_the_integral_of_intensity(beam: Beam) -> None:
    """Definition of intensity, flux per solid angle: 2 pi Integral I sin(theta) dtheta, by Gauss' rule
    between the corners of the table; 40 nodes leave rounding."""
    corners = np.radians([0.0, 15.0, 40.0, 75.0, 90.0, 110.0, 180.0])
    x, weight = np.polynomial.legendre.leggauss(40)
    total = 0.0
    for low, high in pairwise(corners):
        theta = low + (high - low) * (1 + x) / 2
        total += 2 * math.pi * float(weight @ (beam.intensity(theta) * np.sin(theta))) * (high - low) / 2
        assert float(beam.within(high)) == pytest.approx(total, abs=1e-12)
    assert total == pytest.approx(1.0, abs=1e-12)


def test_a_fine_table_of_a_cosine_beam_is_that_beam() -> None:
    """Straight lines between values h apart are off by h^2 / 8 of the second derivative at most: for
    cos^n that is n times the peak, or less; the flux then by no more over half a space, 2 pi."""
    n, step = 5.0, math.radians(0.5)
    exact = CosineBeam(n)
    degrees = np.arange(0.0, 90.25, 0.5)
    table = TableBeam(list(degrees), list(exact.intensity(np.radians(degrees))))
    peak = float(exact.intensity(np.array(0.0)))
    bound = step**2 / 8 * n * peak * 2 * math.pi
    theta = np.linspace(0.0, math.pi, 301)
    assert np.abs(table.within(theta) - exact.within(theta)).max() <= 2 * bound  # inside, and the total
    assert np.abs(table.within(theta) - exact.within(theta)).max() > 0.0


@pytest.mark.parametrize("at", [0.15, 0.55, 0.6])
@pytest.mark.parametrize("points", ["down", "up"])
def test_lambertian_head_in_a_cylinder(at: float, points: Points) -> None:
    """A Lambertian point throws the view factor of an element: R^2 / (R^2 + h^2) onto the end that it
    faces (Howell, section B), nothing behind itself, and the rest onto the side before it."""
    if points == "up":
        at = 0.6 - at
    grid = make_grid(0.25, 0.6, (), 24, 8, None)
    light = first_light(grid, Head(1000.0, LAMBERTIAN), at, points)[:, 0] * grid.row_areas()
    faced, other = ("bottom", "top") if points == "down" else ("top", "bottom")
    depth = at if points == "down" else 0.6 - at
    share = disc_on_axis(0.25, depth)
    assert light[grid.rows_of(faced)].sum() == pytest.approx(1000.0 * share, rel=1e-12)
    assert light[grid.rows_of(other)].sum() == pytest.approx(0.0, abs=1e-9)
    side = light[grid.rows_of("side")]
    assert side.sum() == pytest.approx(1000.0 * (1.0 - share), rel=1e-12)
    below = np.array(grid.heights[1:]) <= at + 1e-9
    behind = ~below if points == "down" else np.array(grid.heights[:-1]) < at - 1e-9
    assert side[behind & (side > 1e-9)].size <= 1  # the band that the head is level with
    assert light.sum() == pytest.approx(1000.0, rel=1e-12)


def test_a_head_that_throws_all_round() -> None:
    """An even point (I = flux / 4 pi) in the middle of a cylinder: each end takes the solid angle of its
    cap, (1 - cos) / 2; textbook."""
    even = TableBeam([0.0, 180.0], [1.0, 1.0])
    grid = make_grid(0.3, 0.8, (), 7, 3, None)
    light = first_light(grid, Head(500.0, even), 0.4, "down")[:, 0] * grid.row_areas()
    cap = (1.0 - 0.4 / 0.5) / 2.0
    for wall in ("bottom", "top"):
        assert light[grid.rows_of(wall)].sum() == pytest.approx(500.0 * cap, rel=1e-12)
    assert light[grid.rows_of("side")].sum() == pytest.approx(500.0 * (1 - 2 * cap), rel=1e-12)


def test_light_on_small_cells_obeys_inverse_square_and_cosine() -> None:
    """E = I cos(theta) / d^2 (Lambert 1760): the hot centre of a near diffuser, and its corner."""
    head, near = Head(10_000.0, CosineBeam.of_angle(60.0)), 0.3
    cells = RectangleCells(Rectangular(0.6, 0.4), [], 60)
    lux = cells.picture(cells.from_head(head, near))
    assert lux.shape == (40, 60)
    for row, column in ((20, 30), (39, 59), (5, 30)):
        x, y = (column + 0.5) * 0.01 - 0.3, (row + 0.5) * 0.01 - 0.2
        d = math.sqrt(x * x + y * y + near * near)
        theta = math.acos(near / d)
        point = 10_000.0 * float(head.beam.intensity(np.array(theta))) * math.cos(theta) / d**2
        # The mean over a cell of side h is off by h^2 / 24 of the Laplacian; E goes like a power of
        # cos(theta), k = n + 3 = 7.8, whose Laplacian is below k (k + 2) E0 / near^2.
        bound = 0.01**2 / 24 * 7.8 * 9.8 * lux.max() / near**2
        assert lux[row, column] == pytest.approx(point, abs=1.1 * bound)
    rings = RoundCells(Round(0.01), [], 2)
    assert rings.from_head(head, near)[0] == pytest.approx(
        10_000.0 * float(head.beam.intensity(np.array(0.0))) / near**2, rel=7.8 * (0.005 / near) ** 2
    )


@pytest.mark.parametrize(("width", "height", "near"), [(0.6, 0.4, 0.3), (1.2, 1.2, 0.1), (0.2, 0.9, 1.5)])
def test_lambertian_head_before_a_rectangle(width: float, height: float, near: float) -> None:
    """Four times the factor of an element under a corner (Siegel & Howell, 4th ed., p. 842); cells hold
    still to 1e-9 of the brightest."""
    cells = RectangleCells(Rectangular(width, height), [], 16)
    light = cells.from_head(Head(1.0, LAMBERTIAN), near)
    expected = 4.0 * rectangle_corner(width / 2.0, height / 2.0, near)
    assert light @ cells.areas == pytest.approx(expected, abs=1e-9 * light.max() * width * height)


def test_a_table_lands_as_the_beam_that_it_samples() -> None:
    """Corners of a table lie inside cells, where Gauss' rule converges slowly: cells are good to 1e-4."""
    n = 5.0
    degrees = np.arange(0.0, 90.25, 0.5)
    table = TableBeam(list(degrees), list(CosineBeam(n).intensity(np.radians(degrees))))
    cells = RectangleCells(Rectangular(0.6, 0.6), [], 16)
    exact, found = (cells.from_head(Head(1.0, beam), 0.25) for beam in (CosineBeam(n), table))
    line = math.radians(0.5) ** 2 / 8 * n  # of the peak, see above; again for the total
    assert np.abs(found - exact).max() <= (2 * line * 2 * math.pi + 1e-4) * exact.max()
