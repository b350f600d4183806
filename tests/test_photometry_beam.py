"""Beams from two angles, and candela from lux at distances."""

from __future__ import annotations

import math

import numpy as np
import pytest

from renderer.errors import InputError
from renderer.photometry.angle import beam_angle, field_angle
from renderer.photometry.lux_fit import fit_lux
from renderer.photometry.table import CandelaTable
from renderer.photometry.two_angle import FINE, beam_of_angles, curve, even_cone

PAIRS = [(3.0, 5.0), (15.0, 16.0), (24.0, 60.0), (55.0, 55.2), (55.0, 95.64), (90.0, 120.0), (120.0, 170.0)]


@pytest.mark.parametrize(("beam", "field"), PAIRS)
def test_both_angles_are_met(beam: float, field: float) -> None:
    """Half the peak at half the beam angle, a tenth at half the field angle: the definitions (ANSI/IES LS-1,
    from memory). Between, the curve falls without a step up, and it ends at 90 degrees."""
    table = beam_of_angles(beam, field, candela=1000.0)
    assert beam_angle(table) == pytest.approx(beam, rel=1e-12)
    assert field_angle(table) == pytest.approx(field, rel=1e-12)
    assert table.value(0.0, [0.0, beam / 2, field / 2, 90.0]) == pytest.approx([1000.0, 500.0, 100.0, 0.0])
    assert (np.diff(table.candela[0]) <= 0.0).all()
    assert (np.diff(table.gammas) > 0.0).all()
    assert len(table.gammas) < 2000


@pytest.mark.parametrize(("beam", "field"), PAIRS)
def test_the_table_follows_the_formula(beam: float, field: float) -> None:
    """The formula of the file, written out anew: I0 exp(-ln 2 (ln cos t / ln cos b)^q)."""
    table = beam_of_angles(beam, field, candela=1.0)
    depth = [-math.log(math.cos(math.radians(angle / 2))) for angle in (beam, field)]
    q = math.log(math.log(10) / math.log(2)) / math.log(depth[1] / depth[0])
    theta = np.radians(np.linspace(0.01, 89.9, 7001))
    with np.errstate(over="ignore"):
        expected = np.exp(-math.log(2) * (-np.log(np.cos(theta)) / depth[0]) ** q)
    # Off by FINE half way between gammas, elsewhere by a little more where the curve bends unevenly.
    assert table.value(0.0, np.degrees(theta)) == pytest.approx(expected, abs=3 * FINE)


@pytest.mark.parametrize(
    ("beam", "field", "n", "peak"),
    [(55.0, 95.64, 5.7811, 10_792.5), (36.0, 64.34, 13.8127, 23_575.0), (120.0, 168.52, 1.0, 3183.1)],
)
def test_a_beam_angle_alone_is_a_cosine_lobe(beam: float, field: float, n: float, peak: float) -> None:
    """n = ln 0.5 / ln cos(beam / 2), I0 = flux (n + 1) / 2 pi, by integration; 120 degrees is Lambertian,
    I0 = flux / pi. Figures for 10 000 lm, by hand."""
    table = beam_of_angles(beam, lumens=10_000.0)
    assert table.lumens == pytest.approx(10_000.0, rel=1e-12)
    assert table.maximum()[0] == pytest.approx(peak, rel=1e-4)
    exact = math.log(0.5) / math.log(math.cos(math.radians(beam / 2)))
    assert exact == pytest.approx(n, abs=1e-4)
    assert table.maximum()[0] == pytest.approx(10_000.0 * (exact + 1) / (2 * math.pi), rel=2e-4)
    assert field_angle(table) == pytest.approx(field, abs=0.01)
    # The field angle of that lobe, given too, changes nothing: the exponent comes out as 1.
    wide = 2 * math.degrees(math.acos(0.1 ** (1 / exact)))
    assert beam_of_angles(beam, wide, lumens=10_000.0).maximum()[0] == pytest.approx(
        table.maximum()[0], rel=2e-5
    )


def test_the_flux_of_the_curve_by_quadrature() -> None:
    """2 pi Integral I sin, by Simpson's rule in 20 000 steps, against the exact flux of the table."""
    for beam, field in PAIRS:
        q = math.log(math.log(10) / math.log(2)) / math.log(
            math.log(math.cos(math.radians(field / 2))) / math.log(math.cos(math.radians(beam / 2)))
        )
        theta = np.linspace(0.0, math.pi / 2, 20_001)
        values = curve(np.degrees(theta), beam / 2, q) * np.sin(theta)
        total = (values[0] + values[-1] + 4 * values[1::2].sum() + 2 * values[2:-1:2].sum()) * theta[1] / 3
        assert beam_of_angles(beam, field, candela=1.0).lumens == pytest.approx(2 * math.pi * total, rel=4e-4)


def test_an_even_cone() -> None:
    """10 000 lm in an even cone of 55 degrees: 10 000 / (2 pi (1 - cos 27.5)) = 14 085.9 cd; 360 degrees is a
    bulb, 4 pi I."""
    cone = even_cone(55.0, lumens=10_000.0)
    assert cone.maximum()[0] == pytest.approx(14_085.9, abs=0.05)
    assert beam_angle(cone) == field_angle(cone) == 55.0
    assert cone.value(0.0, [27.5, 27.6]) == pytest.approx([14_085.9, 0.0], abs=0.05)
    assert even_cone(360.0, candela=7.0).lumens == pytest.approx(28 * math.pi, rel=1e-14)
    # A very sharp edge comes close to it.
    sharp = beam_of_angles(55.0, 55.06, lumens=10_000.0)
    assert sharp.maximum()[0] == pytest.approx(14_085.9, rel=2e-3)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: beam_of_angles(0.0, 10.0, lumens=1.0), "beam angle: expected 0.5 to 179"),
        (lambda: beam_of_angles(math.nan, lumens=1.0), "beam angle: expected 0.5 to 179.*got nan"),
        (lambda: beam_of_angles(60.0, 180.0, lumens=1.0), "field angle: expected 0.5 to 179.*got 180"),
        (lambda: beam_of_angles(60.0, 40.0, lumens=1.0), "more than the beam angle, 60 degrees.*got 40"),
        (lambda: beam_of_angles(60.0, 60.0, lumens=1.0), "more than the beam angle"),
        (lambda: beam_of_angles(60.0), "expected lumens or peak candela; got neither"),
        (lambda: beam_of_angles(60.0, lumens=1.0, candela=1.0), "got both"),
        (lambda: beam_of_angles(60.0, lumens=0.0), "lumens: expected a number above 0"),
        (lambda: beam_of_angles(60.0, candela=math.inf), "peak candela: expected a number above 0"),
        (lambda: even_cone(361.0, lumens=1.0), "angle of the cone: expected 0.5 to 360"),
        (lambda: fit_lux([]), "expected at least one"),
        (lambda: fit_lux([(1.0, 0.0)]), "reading 1: lux: expected a number above 0; got 0"),
        (lambda: fit_lux([(1.0, 9.0), (math.nan, 1.0)]), "reading 2: distance"),
        (lambda: fit_lux([(1.0, 9.0), (1.0, 8.0)]), "reading 2: 1 m is there already"),
        (lambda: fit_lux([(1.0, 9.0), (2.0, 9.0)]), "expected less at 2 m than at 1 m; got 9 and 9"),
        (lambda: fit_lux([(1.0, 9.0), (2.0, 8.9999)]), "hardly do"),
    ],
)
def test_bad_numbers_are_one_clear_line(call, text: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=text) as caught:
        call()
    assert "\n" not in str(caught.value)


def test_a_single_reading_is_inverse_square() -> None:
    """38 000 cd give 500 lx at 8.718 m (E = I / d^2)."""
    fit = fit_lux([(8.718, 500.0)])
    assert (fit.kind, fit.position, fit.radius, fit.residual) == ("point", 0.0, 0.0, 0.0)
    assert fit.candela == pytest.approx(38_000.0, rel=1e-4)
    assert "single" not in fit.words()
    assert "too few" in fit.words()


@pytest.mark.parametrize("position", [-0.8, -0.05, 0.3])
def test_a_source_behind_or_before_its_front(position: float) -> None:
    """Readings made by E = I / (d - z)^2."""
    fit = fit_lux([(d, 30_000.0 / (d - position) ** 2) for d in (5.0, 1.0, 3.0, 2.0)])
    assert fit.kind == "position"
    assert fit.position == pytest.approx(position, abs=1e-6)
    assert fit.candela == pytest.approx(30_000.0, rel=1e-6)
    assert fit.residual < 1e-6
    assert ("behind" if position < 0 else "before") in fit.words()


@pytest.mark.parametrize("radius", [0.1, 0.45, 1.5])
def test_a_lambertian_disc(radius: float) -> None:
    """On its axis E = pi L r^2 / (d^2 + r^2), exactly; far off that is I / d^2 with I = pi r^2 L."""
    luminance = 12_000.0
    readings = [(d, math.pi * luminance * radius**2 / (d**2 + radius**2)) for d in (0.5, 1.0, 2.0, 3.0, 5.0)]
    fit = fit_lux(readings)
    assert fit.kind == "size"
    assert fit.radius == pytest.approx(radius, rel=1e-6)
    assert fit.candela == pytest.approx(math.pi * luminance * radius**2, rel=1e-6)
    assert fit.lux(4.0) == pytest.approx(math.pi * luminance * radius**2 / (16.0 + radius**2), rel=1e-6)
    assert fit_lux(readings, "position").residual > fit.residual


def test_the_residual_says_how_wrong_the_readings_are() -> None:
    """Errors that no inverse square can follow stay in the residual: +4, -4, -4, +4 % about a point leave
    0.04 / ln 2 = 0.058 stop at most, and hardly less (two numbers are fitted)."""
    wrong = [1.04, 0.96, 0.96, 1.04]
    distances = [1.0, 1.5, 2.5, 4.0]
    fit = fit_lux([(d, 1000.0 * k / d**2) for d, k in zip(distances, wrong, strict=True)])
    most = float(np.log(wrong).std()) / math.log(2)
    assert 0.3 * most < fit.residual <= most
    assert fit.residual == pytest.approx(float(np.log1p(fit.off).std()) / math.log(2))
    assert f"{max(abs(x) for x in fit.off):.1%}" in fit.words()
    assert fit_lux([(d, 1000.0 / d**2) for d in distances]).position == pytest.approx(0.0, abs=1e-6)


def test_the_fit_is_a_least_one() -> None:
    """No neighbour of the fitted position or radius does better."""
    readings = [(1.0, 5000.0), (2.0, 1400.0), (3.0, 690.0), (5.0, 250.0)]
    for kind in ("position", "size"):
        fit = fit_lux(readings, kind)  # type: ignore[arg-type]
        for near in (-1e-3, 1e-3):
            z = fit.position + near * (kind == "position")
            r = fit.radius + near * (kind == "size")
            logs = np.log([lux * ((d - z) ** 2 + r**2) for d, lux in readings])
            assert float(logs.std()) / math.log(2) >= fit.residual


def test_lux_and_angles_make_a_beam() -> None:
    """A data sheet whole: lux at distances give the candela, two angles the shape."""
    fit = fit_lux([(1.0, 30_200.0), (3.0, 30_200.0 / 9)])
    table = beam_of_angles(55.0, candela=fit.candela)
    assert isinstance(table, CandelaTable)
    assert table.lumens == pytest.approx(28_000.0, rel=2e-3)  # cos^n of 55 degrees: 28 klm make 30 200 cd
