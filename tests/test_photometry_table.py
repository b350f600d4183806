"""Lumens, angles and samples of tables, against closed forms and quadrature."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from photometry_lab import about_both, lobe, steps
from statistic import chi_square, normal_score

from renderer.errors import InputError
from renderer.photometry.angle import beam_angle, field_angle, half_angle
from renderer.photometry.table import CandelaTable

TENS = tuple(steps(0, 90, 10))


def made(intensity, planes=(0.0,), gammas=TENS) -> CandelaTable:  # type: ignore[no-untyped-def]
    return CandelaTable(planes, gammas, [[intensity(c, gamma) for gamma in gammas] for c in planes])


def power(n: float, peak: float = 1000.0, step: float = 10.0) -> CandelaTable:
    gammas = steps(0, 90, step)
    return CandelaTable([0.0], gammas, [[peak * max(math.cos(math.radians(g)), 0.0) ** n for g in gammas]])


BATWING = CandelaTable([0.0], [0.0, 30.0, 60.0, 90.0], [[400.0, 1000.0, 200.0, 0.0]])


def test_the_lumens_of_a_constant_are_those_of_the_solid_angle() -> None:
    """Isotropic: 4 pi I. Cone: 2 pi I (1 - cos). By the definition of intensity, flux per solid angle."""
    assert CandelaTable([0], [0, 180], [[1, 1]]).lumens == pytest.approx(4 * math.pi, rel=1e-15)
    assert CandelaTable([0], [0, 7, 180], [[5, 5, 5]]).lumens == pytest.approx(20 * math.pi, rel=1e-15)
    for half in (1e-3, 0.3, 27.5, 90.0, 140.0):
        solid = 4 * math.pi * math.sin(math.radians(half) / 2) ** 2
        assert CandelaTable([0], [0, half], [[1, 1]]).lumens == pytest.approx(solid, rel=1e-14)


@pytest.mark.parametrize("low", [0.0, 1e-4, 3.0, 89.0, 150.0])
@pytest.mark.parametrize("width", [1e-6, 1e-3, 0.1, 2.2, 2.4, 30.0])
def test_a_slope_by_quadrature(low: float, width: float) -> None:
    """Gauss' rule of 40 nodes is exact to rounding here; zones of any width must be."""
    table = CandelaTable([0], [low, low + width], [[3.0, 11.0]])
    x, weight = np.polynomial.legendre.leggauss(40)
    theta = math.radians(low) + math.radians(width) * (1 + x) / 2
    expected = 2 * math.pi * float(weight @ ((7 + 4 * x) * np.sin(theta))) * math.radians(width) / 2
    assert table.lumens == pytest.approx(expected, rel=2e-9 if width < 1e-5 else 1e-11)
    assert CandelaTable.flipped(table).lumens == pytest.approx(expected, rel=2e-9 if width < 1e-5 else 1e-11)


@pytest.mark.parametrize("n", [1.0, 2.0, 5.7811, 40.0])
def test_a_cosine_lobe(n: float) -> None:
    """2 pi I0 / (n + 1), by integration; straight lines h apart are off by h^2 / 8 of the second
    derivative, which for cos^n is n times the peak at most, over 2 pi of solid angle."""
    step = 0.25
    expected = 2 * math.pi * 1000.0 / (n + 1)
    bound = math.radians(step) ** 2 / 8 * n * 1000.0 * 2 * math.pi
    assert abs(power(n, step=step).lumens - expected) <= bound
    assert power(n, step=step).lumens != expected


@pytest.mark.parametrize(
    ("step", "places", "known"),
    [(10.0, 12, 3133.593), (5.0, 12, 3139.597), (10.0, 1, 3133.487), (5.0, 1, 3139.567)],
)
def test_a_lambertian_disc_in_coarse_steps(step: float, places: int, known: float) -> None:
    """pi I0 = 3141.593 lm. Straight lines every 10 degrees lose 0.25 % of it, and candela written to a tenth
    a little more: by quadrature of each zone, which also scipy.integrate.quad gives (`known`)."""
    gammas = steps(0, 90, step)
    candela = [round(1000 * max(math.cos(math.radians(gamma)), 0.0), places) for gamma in gammas]
    x, weight = np.polynomial.legendre.leggauss(40)
    share = (1 + x) / 2
    total = 0.0
    for (low, at_low), (high, at_high) in pairwise(zip(np.radians(gammas), candela, strict=True)):
        values = at_low + share * (at_high - at_low)
        theta = low + share * (high - low)
        total += 2 * math.pi * float(weight @ (values * np.sin(theta))) * (high - low) / 2
    assert CandelaTable([0], gammas, [candela]).lumens == pytest.approx(total, rel=1e-13)
    assert total == pytest.approx(known, abs=5e-4)


def test_zonal_constants() -> None:
    """Lumens of 1 cd in zones of 10 degrees, 2 pi (cos a - cos b), are the zonal constants of the IES
    Lighting Handbook: 0.095, 0.283, 0.463, 0.628, 0.774, 0.897, 0.993, 1.058, 1.091 (table from memory)."""
    zones = CandelaTable([0], [0, 90, 180], [[1, 1, 1]]).zonal_lumens(steps(0, 180, 10))
    printed = [0.095, 0.283, 0.463, 0.628, 0.774, 0.897, 0.993, 1.058, 1.091]
    assert zones[:9] == pytest.approx(printed, abs=6e-4)
    assert zones[9:] == pytest.approx(zones[8::-1], rel=1e-12)
    exact = [
        2 * math.pi * (math.cos(math.radians(a)) - math.cos(math.radians(a + 10))) for a in range(0, 180, 10)
    ]
    assert zones == pytest.approx(exact, rel=1e-12)
    assert zones.sum() == pytest.approx(4 * math.pi, rel=1e-14)


def test_lumens_by_zonal_constants() -> None:
    """The zonal method: intensity of a zone times its constant (IES Lighting Handbook). For a cosine the
    sum is known: pi I0 with the mean of both ends, pi I0 / cos(h / 2) with the middle of zones h wide."""
    zones = CandelaTable([0], [0, 180], [[1, 1]]).zonal_lumens(steps(0, 90, 10))
    fine = power(1.0, step=5.0)
    ends = fine.value(0.0, steps(0, 90, 10))
    assert float(zones @ (ends[:-1] + ends[1:]) / 2) == pytest.approx(math.pi * 1000.0, rel=1e-12)
    middle = float(zones @ fine.value(0.0, steps(5, 85, 10)))
    assert middle == pytest.approx(math.pi * 1000.0 / math.cos(math.radians(5.0)), rel=1e-12)


@pytest.mark.parametrize("intensity", [lobe, about_both])
def test_a_table_over_c_by_quadrature(intensity) -> None:  # type: ignore[no-untyped-def]
    """The flux of the bilinear table: 8 Gauss nodes a cell in C (linear there) and 20 in gamma."""
    planes = [0.0, 10.0, 45.0, 100.0, 180.0, 200.0, 310.0, 360.0]
    table = made(intensity, planes, [0.0, 3.0, 20.0, 65.0, 90.0])
    turn, turn_weight = np.polynomial.legendre.leggauss(8)
    x, weight = np.polynomial.legendre.leggauss(20)
    total = 0.0
    for first, last in pairwise(planes):
        c = first + (last - first) * (1 + turn) / 2
        for low, high in pairwise(table.gammas):
            gamma = low + (high - low) * (1 + x) / 2
            cell = table.value(c[:, None], gamma[None, :]) * np.sin(np.radians(gamma))
            area = math.radians(last - first) * math.radians(high - low) / 4
            total += area * float(turn_weight @ cell @ weight)
    assert table.lumens == pytest.approx(total, rel=1e-13)
    assert table.axial().lumens == pytest.approx(total, rel=1e-13)
    edges = [0.0, 12.0, 50.0, 88.0, 180.0]
    assert table.axial().zonal_lumens(edges) == pytest.approx(table.zonal_lumens(edges), rel=1e-13)
    assert table.zonal_lumens(edges).sum() == pytest.approx(total, rel=1e-13)


def test_values_are_bilinear() -> None:
    table = CandelaTable([0, 90, 360], [0, 90], [[100, 0], [100, 40], [100, 0]])
    assert table.value(45.0, 90.0) == pytest.approx(20.0)
    assert table.value(225.0, 45.0) == pytest.approx(60.0)
    assert table.value([0.0, 360.0, -270.0, 450.0], 90.0) == pytest.approx([0.0, 0.0, 40.0, 40.0])
    assert table.value(10.0, [90.0001, 180.0]).tolist() == [0.0, 0.0]
    assert table.value(np.zeros((2, 1)), np.zeros(3)).shape == (2, 3)


def test_values_along_a_direction() -> None:
    """Axes are given in full, so that neither handedness nor the length of a direction matters."""
    table = made(lobe, steps(0, 360, 15))
    axis, c0, c90 = [0.0, 0.0, -1.0], [0.0, 1.0, 0.0], [1.0, 0.0, 0.0]
    for c, gamma in [(0.0, 30.0), (90.0, 60.0), (195.0, 10.0), (345.0, 80.0)]:
        turn, lean = math.radians(c), math.radians(gamma)
        way = [math.sin(lean) * math.sin(turn), math.sin(lean) * math.cos(turn), -math.cos(lean)]
        for length in (1e-3, 1.0, 1e6):
            assert table.along(np.multiply(way, length), axis, c0, c90) == pytest.approx(
                lobe(c, gamma), rel=1e-9
            )
    assert table.along(np.zeros((4, 2, 3)) + axis, axis, c0, c90).shape == (4, 2)
    assert table.along([0.0, 0.0, 1.0], axis, c0, c90) == 0.0


def test_what_was_behind_is_in_front_when_flipped() -> None:
    """Half a turn about C0 takes (C, gamma) to (-C, 180 - gamma)."""
    table = made(lobe, steps(0, 360, 15))
    over = table.flipped()
    assert over.value(75.0, 140.0) == pytest.approx(float(table.value(-75.0, 40.0)))
    assert over.lumens == pytest.approx(table.lumens)


@pytest.mark.parametrize(
    ("beam", "field", "n"), [(55.0, 95.64, 5.7811), (36.0, 64.34, 13.8127), (120.0, 168.52, 1.0)]
)
def test_angles_of_cosine_lobes(beam: float, field: float, n: float) -> None:
    """cos^n = 1 / 2 and 1 / 10 at half the angles: n = ln 0.5 / ln cos(beam / 2), by definition."""
    table = power(n, step=0.1)
    assert beam_angle(table) == pytest.approx(beam, abs=0.01)
    assert field_angle(table) == pytest.approx(field, abs=0.01)
    assert beam_angle(table, of="axis") == beam_angle(table)


def test_a_batwing_is_wider_by_its_axis_than_by_its_maximum() -> None:
    """IES: shares of the largest intensity; CIE: of that on the axis. By hand: 500 cd of 1000 lie at 30 +
    30 x 5 / 8 degrees, 200 cd of 400 at 60."""
    assert beam_angle(BATWING) == pytest.approx(2 * (30 + 30 * 5 / 8))
    assert beam_angle(BATWING, of="axis") == pytest.approx(2 * 60.0)
    assert field_angle(BATWING) == pytest.approx(2 * 75.0)
    assert BATWING.maximum() == (1000.0, 0.0, 30.0)


def test_angles_of_lopsided_and_unbounded_tables() -> None:
    table = CandelaTable([0, 180, 360], [0, 90], [[100, 0], [100, 100], [100, 0]])
    assert half_angle(table, 0.5, 0.0) == pytest.approx(45.0)
    assert half_angle(table, 0.5, 180.0) == 90.0
    assert beam_angle(table) == beam_angle(table, 180.0) == pytest.approx(135.0)
    assert beam_angle(CandelaTable([0], [0, 180], [[1, 1]])) == 360.0
    side = CandelaTable([0, 180, 360], [0, 60, 90], [[1, 100, 0], [1, 1, 0], [1, 100, 0]])
    assert half_angle(side, 0.5, 180.0) == 0.0
    with pytest.raises(InputError, match="got 0 candela"):
        beam_angle(CandelaTable([0], [0, 45, 90], [[0, 1, 0]]), of="axis")


@pytest.mark.parametrize(
    "table", [power(20.0), BATWING, made(lobe, steps(0, 360, 15)), CandelaTable([0], [90, 180], [[0, 3]])]
)
def test_the_flux_table_is_ready_to_sample(table: CandelaTable) -> None:
    flux = table.flux_table(2.0)
    assert flux.lumens[0] == 0.0
    assert flux.lumens[-1] == pytest.approx(table.lumens, rel=1e-12)
    assert (np.diff(flux.lumens) >= 0.0).all()
    assert np.diff(flux.degrees).max() <= 2.0 + 1e-9
    assert set(table.gammas) <= set(flux.degrees)
    before = flux.lumens < flux.lumens[-1]  # a lobe's last zones may hold less than rounding does
    assert flux.gamma_at(flux.lumens / flux.lumens[-1])[before] == pytest.approx(
        flux.degrees[before], abs=1e-5
    )
    assert flux.degrees[before][-1] < flux.gamma_at(1.0) <= flux.degrees[-1]
    # A density over solid angle: 2 pi sin(gamma) times it has the integral 1.
    edges = np.radians(flux.degrees)
    at = np.degrees((edges[:-1] + edges[1:]) / 2)
    zones = 2 * math.pi * -np.diff(np.cos(edges))
    assert float(flux.pdf_solid_angle(at) @ zones) == pytest.approx(1.0, rel=1e-9)
    assert flux.pdf_solid_angle(flux.degrees[-1] + 1.0) == 0.0
    # Draws fall into zones as the lumens do (chi-square of 20 000 draws, five standard deviations).
    draws = flux.gamma_at(np.random.default_rng(5).random(20_000))
    cut = np.linspace(flux.degrees[0], flux.degrees[-1], 12)
    expected = 20_000 * table.zonal_lumens(cut) / table.lumens
    value, freedom = chi_square(np.histogram(draws, cut)[0], expected)
    assert abs(normal_score(value, freedom)) < 5.0


def test_levels() -> None:
    table = made(lobe, steps(0, 360, 15))
    assert table.with_lumens(123.0).lumens == pytest.approx(123.0)
    assert table.with_peak(9.0).maximum()[0] == pytest.approx(9.0)
    assert table.scaled(2.0).lumens == pytest.approx(2 * table.lumens)


@pytest.mark.parametrize(
    ("planes", "gammas", "candela"),
    [
        ([0], [0, 90], [[1, -1]]),
        ([0], [0, 90], [[0, 0]]),
        ([0], [0, 90], [[1, math.nan]]),
        ([0], [0, 90], [[1, math.inf]]),
        ([0], [0, 90], [[1]]),
        ([0], [0], [[1]]),
        ([0], [90, 0], [[1, 1]]),
        ([0], [0, 181], [[1, 1]]),
        ([0], [0, 0], [[1, 1]]),
        ([5], [0, 90], [[1, 1]]),
        ([0, 90], [0, 90], [[1, 1], [1, 1]]),
        ([0, 90, 90, 360], [0, 90], [[1, 1]] * 4),
        ([0, 360], [0, 90], [[1, 1], [1]]),
        ([0], [0, 90], [["x", 1]]),
    ],
)
def test_what_is_no_table_is_told_in_one_line(planes, gammas, candela) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=r"^candela table: expected [^\n]*$"):
        CandelaTable(planes, gammas, candela)
