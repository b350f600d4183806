"""View factors inside a cylinder and between parallel rectangles, against published closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from view_factor import coaxial_discs, disc_on_axis, parallel_rectangles, rectangle_corner

from renderer.enclosure.coaxial import bands_to_bands, rings_to_rings, whole_rows
from renderer.enclosure.exchange import exchange_areas, raw_exchange
from renderer.enclosure.grid import Grid, make_grid
from renderer.enclosure.parallel import cells_to_cells
from renderer.enclosure.split import HALVINGS, triangle_rule

ROUNDING = 2.0**-52
SHAPES = [(0.25, 0.6), (0.3, 0.1), (1.0, 2.0), (0.2, 4.0)]


def grid_of(radius: float, height: float, bands: int = 12, rings: int = 5, sectors: int = 24) -> Grid:
    return make_grid(radius, height, (), bands, rings, sectors)


def test_base_of_a_tube_to_its_wall() -> None:
    """r = 1, h = 2: F = 1 - F(base to lid) = 2 sqrt(2) - 2 = 0.8284 (Siegel & Howell, two coaxial discs)."""
    grid = grid_of(1.0, 2.0)
    whole = whole_rows(grid)
    found = whole[grid.rows_of("bottom"), grid.rows_of("side")].sum() / math.pi
    assert found == pytest.approx(2.0 * math.sqrt(2.0) - 2.0, abs=100 * ROUNDING)
    assert f"{found:.4f}" == "0.8284"
    lid = whole[grid.rows_of("bottom"), grid.rows_of("top")].sum() / math.pi
    assert lid == pytest.approx(coaxial_discs(1.0, 1.0, 2.0), abs=100 * ROUNDING)


@pytest.mark.parametrize(("r1", "r2", "h"), [(0.2, 0.5, 0.3), (1.0, 0.1, 2.0), (0.4, 0.4, 0.01)])
def test_rings_add_up_to_unequal_discs(r1: float, r2: float, h: float) -> None:
    """Siegel & Howell, 4th ed., p. 845; the exchange of a tiny disc is that of an element on the axis."""
    inner, outer = np.linspace(0.0, r1, 6), np.linspace(0.0, r2, 4)
    area = math.pi * r1 * r1
    assert rings_to_rings(inner, outer, h).sum() / area == pytest.approx(coaxial_discs(r1, r2, h), abs=1e-13)
    # Off the axis by a: d(cos^2 terms) are of second order, (a / h)^2 at most.
    tiny = 1e-4 * h
    element = rings_to_rings(np.array([0.0, tiny]), np.array([0.0, r2]), h)[0, 0] / (math.pi * tiny**2)
    assert element == pytest.approx(disc_on_axis(r2, h), abs=4 * (tiny / h) ** 2)


@pytest.mark.parametrize(("radius", "height"), SHAPES)
def test_wall_of_a_tube_to_itself(radius: float, height: float) -> None:
    """F = 1 + H - sqrt(1 + H^2), H = h / (2 r). Howell, section C, inside of a right circular cylinder to
    itself (from memory)."""
    h = height / (2.0 * radius)
    area = 2.0 * math.pi * radius * height
    found = bands_to_bands(np.linspace(0.0, height, 9), radius).sum() / area
    assert found == pytest.approx(1.0 + h - math.sqrt(1.0 + h * h), abs=1000 * ROUNDING)


@pytest.mark.parametrize(("low", "high"), [(0.5, 0.8), (0.3, 0.35), (2.0, 3.0)])
def test_two_bands_of_a_tube(low: float, high: float) -> None:
    """Ring element to ring element of a tube, X = distance / (2 r):
    dF = [1 - (2 X^3 + 3 X) / (2 (X^2 + 1)^(3/2))] dX (Siegel & Howell, tube with ring elements), integrated
    over two bands by Gauss' rule. Its nearest poles lie at X = +-i, half an interval is at most b = 0.25
    wide in X: 20 nodes leave less than (1 / b)^-40, which is rounding."""
    radius, first = 1.0, 0.3
    x, weight = np.polynomial.legendre.leggauss(20)
    z1 = first / 2 * (1 + x)
    z2 = low + (high - low) / 2 * (1 + x)
    away = np.abs(z2[None, :] - z1[:, None]) / (2 * radius)
    kernel = 1 - (2 * away**3 + 3 * away) / (2 * (away**2 + 1) ** 1.5)
    expected = weight @ kernel @ weight / 4 * (high - low) / (2 * radius)
    edges = np.array([0.0, first, low, high]) if low > first else np.array([0.0, first, high])
    found = bands_to_bands(edges, radius)[0, -1] / (2 * math.pi * radius * first)
    assert found == pytest.approx(expected, abs=1e-13)


@pytest.mark.parametrize("sectors", [6, 23, 24])
def test_sectors_of_an_endless_tube_by_crossed_strings(sectors: int) -> None:
    """Between strips of a long tube, Hottel's crossed strings: two sectors of width w, m steps apart, give
    F = (2 / w) sin(m w / 2) (1 - cos(w / 2)), and one to itself 1 - sin(w / 2) / (w / 2). A short band in
    the middle of a tube of 100 radii lacks only what its ends take, which closure tells."""
    grid = Grid(1.0, (0.0, 49.9, 50.1, 100.0), (0.0, 1.0), sectors)
    area = grid.row_areas()[1] / sectors
    factors = exchange_areas(grid)[1] / area
    to_side, ends = factors[grid.rows_of("side")].sum(axis=0), factors[3:].sum()
    assert ends < 1e-3
    w = 2.0 * math.pi / sectors
    for m in range(sectors):
        strings = 2.0 / w * math.sin(m * w / 2) * (1 - math.cos(w / 2))
        if m == 0:
            strings = 1 - math.sin(w / 2) / (w / 2)
        assert -ends <= to_side[m] - strings <= 1e-8, m  # 1e-8: how much is scaled, see the test below


@pytest.mark.parametrize(("radius", "height"), SHAPES)
@pytest.mark.parametrize("sectors", [2, 7, 24, 48])
def test_sectors_by_quadrature_make_up_the_whole(radius: float, height: float, sectors: int) -> None:
    """Before any scaling: the kernel of two area elements, integrated, against differences of discs.

    Gauss' rule fails most at the rim, where the exchange of ring and band goes like R^2 / (2 pi) ln(phi)
    per angle. Its error for a logarithm is measured here on the unit interval; it enters with the width of
    the innermost piece, once for the logarithm and at most as much for the arc tangent beside it.
    """
    grid = grid_of(radius, height, sectors=sectors)
    x, weight = np.polynomial.legendre.leggauss(8)
    unit = (1 + x) / 2
    miss = abs(float(weight @ (2 * unit**3 * np.log(unit**4))) + 1.0)
    wide = 2 * math.pi / sectors
    innermost = min(wide, math.radians(15.0)) * 0.5**HALVINGS
    bound = 2 * 2 * miss * innermost * radius**2 / (2 * math.pi) * wide  # both sides of phi = 0
    gap = np.abs(raw_exchange(grid).sum(axis=2) - whole_rows(grid) / sectors)
    assert gap.max() <= bound + 1e-12 * radius**2
    rule = triangle_rule(sectors)[1]
    assert rule.sum() == pytest.approx(wide * 2 * math.pi, rel=1e-14)  # q = 1: the turn squared, by sector


def element_exchange(grid: Grid, one: tuple[int, int], two: tuple[int, int], nodes: int) -> float:
    """Exchange of two patches (row, sector) by definition, cos cos / (pi d^2), with Gauss' rule in 4-D."""
    x, weight = np.polynomial.legendre.leggauss(nodes)
    points, normals, areas = [], [], []
    for row, sector in (one, two):
        turn = (sector + (1 + x[None, :]) / 2) * 2 * math.pi / grid.sectors
        wide = math.pi / grid.sectors
        if row < grid.bands:
            low, high = grid.heights[row : row + 2]
            z = low + (high - low) * (1 + x[:, None]) / 2
            r, area = np.full_like(z, grid.radius), grid.radius * (high - low) / 2 * wide
            weights = np.outer(weight, weight) * area
            normal = np.stack(np.broadcast_arrays(-np.cos(turn), -np.sin(turn), 0 * z), axis=-1)
        else:
            ring, top = (row - grid.bands) % grid.rings, row >= grid.bands + grid.rings
            low, high = grid.radii[ring : ring + 2]
            r = low + (high - low) * (1 + x[:, None]) / 2
            z = np.full_like(r, grid.heights[-1] if top else 0.0)
            weights = np.outer(weight * r[:, 0], weight) * (high - low) / 2 * wide
            normal = np.broadcast_to((0.0, 0.0, -1.0 if top else 1.0), (nodes, nodes, 3))
        point = np.stack(np.broadcast_arrays(r * np.cos(turn), r * np.sin(turn), z), axis=-1)
        points.append(point.reshape(-1, 3))
        normals.append(normal.reshape(-1, 3))
        areas.append(weights.ravel())
    away = points[1][None] - points[0][:, None]
    squared = (away**2).sum(axis=-1)
    leaving = np.einsum("ijk,ik->ij", away, normals[0])
    landing = -np.einsum("ijk,jk->ij", away, normals[1])
    return float(areas[0] @ (leaving * landing / (math.pi * squared**2)) @ areas[1])


@pytest.mark.parametrize(
    ("one", "two"),
    [
        ((2, 0), (2, 5)),  # side to side, one band
        ((0, 3), (5, 9)),  # side to side, across
        ((3, 0), (6, 4)),  # side to a ring of the bottom
        ((1, 1), (11, 0)),  # side to a ring of the top
        ((7, 0), (10, 7)),  # bottom to top
        ((6, 2), (9, 2)),  # bottom to top, middles, one over the other
    ],
)
def test_patches_from_the_definition(one: tuple[int, int], two: tuple[int, int]) -> None:
    """Patches that do not touch; the error of the rule is at most its step from 8 to 12 nodes."""
    grid = grid_of(0.25, 0.6, bands=6, rings=3, sectors=12)
    coarse, fine = (element_exchange(grid, one, two, nodes) for nodes in (8, 12))
    found = exchange_areas(grid)[one[0], two[0], (two[1] - one[1]) % grid.sectors]
    assert abs(fine - coarse) < 1e-6 * fine
    assert abs(found - fine) <= abs(fine - coarse) + 1e-8 * fine  # 1e-8: the scaling to the whole


@pytest.mark.parametrize(("radius", "height"), SHAPES)
@pytest.mark.parametrize("sectors", [1, 2, 7, 24])
def test_reciprocity_and_closure(radius: float, height: float, sectors: int) -> None:
    """A_i F_ij = A_j F_ji, also from sector m back to 0; sum of F = 1; no factor below 0."""
    grid = grid_of(radius, height, bands=24, rings=8, sectors=sectors)
    exchange = exchange_areas(grid)
    back = exchange[:, :, -np.arange(sectors) % sectors].transpose(1, 0, 2)
    areas = grid.row_areas() / sectors
    assert np.abs(exchange - back).max() <= 1e-9 * areas.min()
    assert np.abs(exchange.sum(axis=(1, 2)) / areas - 1.0).max() <= 1e-9
    assert exchange.min() >= -1e-9 * areas.min()


def test_pairs_of_sectors_are_sectors_of_half_the_count() -> None:
    fine, coarse = (exchange_areas(grid_of(0.25, 0.6, sectors=n)) for n in (24, 12))
    joined = 2 * fine + np.roll(fine, 1, axis=2) + np.roll(fine, -1, axis=2)
    assert np.abs(joined[:, :, ::2] - coarse).max() <= 1e-8 * coarse.max()  # 1e-8: scaled to the whole


@pytest.mark.parametrize(("a", "b", "c"), [(0.6, 0.4, 0.3), (1.0, 0.2, 0.05), (0.5, 0.5, 3.0)])
def test_cells_of_parallel_rectangles(a: float, b: float, c: float) -> None:
    """Siegel & Howell, 4th ed., p. 843 (equal rectangles) and p. 842 (element under a corner)."""
    edges = [np.linspace(0.0, a, 5), np.linspace(0.0, b, 4)]
    found = cells_to_cells(edges, edges, c)
    # Differences of numbers as large as the squared sizes over 4 pi, each rounded.
    rounding = 64 * ROUNDING * (a * a + b * b + c * c)
    assert found.sum() / (a * b) == pytest.approx(parallel_rectangles(a, b, c), abs=rounding * 144 / (a * b))
    assert np.abs(found - found.T).max() <= rounding
    tiny = 1e-3 * c
    element = cells_to_cells([np.array([0.0, tiny])] * 2, [np.array([0.0, a]), np.array([0.0, b])], c)
    corner = rectangle_corner(a, b, c)
    # A step of tiny / 2 off the corner moves F by the slope of the kernel, 1 / (pi c) at most, each way.
    assert element[0, 0] / tiny**2 == pytest.approx(corner, abs=tiny / (math.pi * c) + rounding / tiny**2)


def test_cells_run_across_first() -> None:
    """The cell before a small one, alone, takes more than any other: it has to be found where it lies."""
    edges = [np.linspace(-0.6, 0.6, 4), np.linspace(-0.4, 0.4, 5)]
    for across, up, cell in ((0.25, 0.25, 3 * 3 + 2), (-0.35, -0.15, 1 * 3 + 0), (-0.05, 0.25, 3 * 3 + 1)):
        small = [np.array([across, across + 0.1]), np.array([up, up + 0.1])]
        assert int(np.argmax(cells_to_cells(small, edges, 0.1)[0])) == cell
