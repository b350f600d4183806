"""Whites: the Planckian and daylight loci, Duv, and their inverse, against CIE tables and colour-science."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from renderer import colour
from renderer.errors import InputError

with warnings.catch_warnings():  # it would rather have matplotlib
    warnings.simplefilter("ignore")
    import colour as reference  # colour-science

CMFS = reference.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]  # 360 to 830 nm, 1 nm
TEMPERATURES = np.geomspace(1500.0, 20000.0, 24)


def planck_uv(cct: float) -> np.ndarray:
    """colour-science's integral of Planck's law, CIE 1960 u, v."""
    return np.asarray(reference.temperature.CCT_to_uv_Planck1900(cct, cmfs=CMFS))


@pytest.mark.parametrize("cct", TEMPERATURES)
def test_planckian_locus_is_the_integral_of_plancks_law(cct: float) -> None:
    # colour-science 0.4.7. Tolerance: the fit's stated 1.9e-6, and 1e-6 for the reference's newer c2.
    np.testing.assert_allclose(colour.planck_xy(cct), reference.UCS_uv_to_xy(planck_uv(cct)), atol=2.9e-6)


@pytest.mark.parametrize("cct", [4000.0, 5000.0, 6504.0, 7000.0, 7000.1, 10000.0, 20000.0, 25000.0])
def test_daylight_locus_is_cies(cct: float) -> None:
    # CIE 15 method D as in colour-science 0.4.7: the same formula, so to rounding.
    expected = reference.temperature.CCT_to_xy_CIE_D(cct)
    np.testing.assert_allclose(colour.daylight_xy(cct), expected, atol=1e-12)


@pytest.mark.parametrize(
    ("nominal", "x", "y"),
    [(5000, 0.34567, 0.35850), (5500, 0.33242, 0.34743), (6500, 0.31272, 0.32903), (7500, 0.29902, 0.31485)],
)
def test_daylight_illuminants(nominal: float, x: float, y: float) -> None:
    # CIE 15, table of illuminants D50, D55, D65, D75, CIE 1931 observer. The tables come from spectra whose
    # weights are rounded to three decimals, which moves y by up to 1.2e-4 against the formula.
    np.testing.assert_allclose(colour.daylight_xy(nominal * 1.4388 / 1.4380), [x, y], atol=1.3e-4)


def test_illuminant_a_is_a_black_body() -> None:
    # CIE 15: x .44758, y .40745; 2848 K on the c2 = 1.4350e-2 scale. Tolerance: half a last digit, the fit's
    # 1.9e-6, and 8e-6 by which summing from 380 to 780 nm instead of 360 to 830 nm moves y.
    found = colour.planck_xy(2848.0 * 1.4388 / 1.4350)
    np.testing.assert_allclose(found, [0.44758, 0.40745], atol=1.5e-5)


@pytest.mark.parametrize(
    ("name", "cct"), [("A", 2855.5), ("D50", 5000.7), ("D55", 5502.4), ("D65", 6504.3), ("D75", 7505.0)]
)
def test_cct_of_the_standard_illuminants(name: str, cct: float) -> None:
    # Ohno's method in colour-science 0.4.7; the tabulated x, y have five digits at most.
    xy = reference.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"][name]
    found, duv = colour.cct_and_duv(xy)
    assert found == pytest.approx(cct, rel=3e-5)
    expected = reference.temperature.uv_to_CCT_Ohno2013(reference.xy_to_UCS_uv(xy), cmfs=CMFS)
    assert found == pytest.approx(expected[0], rel=3e-5)
    assert duv == pytest.approx(expected[1], abs=3e-6)


@pytest.mark.parametrize("duv", [-0.006, -0.003, 0.0, 0.003, 0.006])
def test_cct_and_duv_are_ohnos(duv: float) -> None:
    # Y. Ohno, Leukos 10(1), 2014, in colour-science 0.4.7. Tolerance: the stated 0.01 mired, and the fit's
    # 1.9e-6 in x, y, which is no more in u, v.
    for cct in TEMPERATURES:
        xy = colour.xy_of_cct(cct, duv=duv)
        expected = reference.temperature.uv_to_CCT_Ohno2013(reference.xy_to_UCS_uv(xy), cmfs=CMFS)
        found = colour.cct_and_duv(xy)
        assert 1e6 / found[0] == pytest.approx(1e6 / expected[0], abs=0.01)
        assert found[1] == pytest.approx(expected[1], abs=2e-6)


@pytest.mark.parametrize("duv", [-0.02, 0.02])
@pytest.mark.parametrize("cct", [2000.0, 3200.0, 5600.0, 12000.0])
def test_the_nearest_black_body_is_found_far_off_the_line(cct: float, duv: float) -> None:
    # Brute force: the least distance to colour-science's own integral, in mired, by scipy.
    xy = colour.xy_of_cct(cct, duv=duv)
    uv = np.asarray(reference.xy_to_UCS_uv(xy))
    nearest = minimize_scalar(
        lambda mired: float(((planck_uv(1e6 / mired) - uv) ** 2).sum()),
        bounds=(0.9e6 / cct, 1.1e6 / cct),
        method="bounded",
        options={"xatol": 1e-7},
    )
    found, found_duv = colour.cct_and_duv(xy)
    assert found == pytest.approx(1e6 / nearest.x, rel=1e-4)
    assert abs(found_duv) == pytest.approx(nearest.fun**0.5, abs=3e-6)


def test_duv_is_positive_to_green_and_negative_to_pink() -> None:
    # CIE 1960 u, v: green has the larger v. Daylight lies above the black bodies, at 5600 K by .00331 (Ohno's
    # method in colour-science 0.4.7).
    for cct in TEMPERATURES:
        green, pink = colour.xy_of_cct(cct, duv=0.006), colour.xy_of_cct(cct, duv=-0.006)
        assert colour.uv_of_xy(green)[1] > colour.uv_of_xy(pink)[1]
        np.testing.assert_allclose(np.hypot(*(colour.uv_of_xy(green) - colour.uv_of_xy(pink))), 0.012)
        excess = colour.rgb_of_xy(green)[1] - colour.rgb_of_xy(pink)[1]
        assert excess > 0.0
    assert colour.cct_and_duv(colour.daylight_xy(5600.0))[1] == pytest.approx(0.00331, abs=5e-6)


@pytest.mark.parametrize("cct", [1500.0, 2700.0, 3200.0, 4300.0, 5600.0, 6504.0, 10000.0, 20000.0])
@pytest.mark.parametrize("duv", [-0.05, -0.01, 0.0, 0.01, 0.05])
def test_there_and_back(cct: float, duv: float) -> None:
    found = colour.cct_and_duv(colour.xy_of_cct(cct, duv=duv))
    assert found[0] == pytest.approx(cct, rel=1e-8)
    assert found[1] == pytest.approx(duv, abs=1e-10)


def test_chromaticity_diagrams_there_and_back() -> None:
    for xy in ([0.44758, 0.40745], [0.3127, 0.3290], [0.64, 0.33]):
        np.testing.assert_allclose(colour.uv_of_xy(xy), reference.xy_to_UCS_uv(xy), atol=1e-14)
        np.testing.assert_allclose(colour.xy_of_uv(colour.uv_of_xy(xy)), xy, atol=1e-14)
        np.testing.assert_allclose(colour.xy_of_rgb(3.0 * colour.rgb_of_xy(xy)), xy, atol=1e-14)


def test_which_line_a_white_is_on() -> None:
    np.testing.assert_array_equal(colour.xy_of_cct(5600.0, "planckian"), colour.planck_xy(5600.0))
    for locus in ("daylight", "blend"):
        np.testing.assert_array_equal(colour.xy_of_cct(5600.0, locus), colour.daylight_xy(5600.0))
        np.testing.assert_array_equal(colour.xy_of_cct(3999.0, locus), colour.planck_xy(3999.0))
    np.testing.assert_array_equal(colour.xy_of_cct(4000.0, "daylight"), colour.daylight_xy(4000.0))
    # A reading off a colour meter stands above the choice.
    np.testing.assert_array_equal(colour.xy_of_cct(5600.0, "daylight", 0.0), colour.xy_of_cct(5600.0, duv=0))
    np.testing.assert_allclose(colour.xy_of_cct(5600.0, duv=0.0), colour.planck_xy(5600.0), atol=1e-15)


@pytest.mark.parametrize(("locus", "duv"), [("planckian", None), ("daylight", None), ("blend", -0.004)])
def test_white_balance_of_any_white(locus: colour.Locus, duv: float | None) -> None:
    for cct in (2800.0, 5600.0, 9000.0):
        matrix = colour.white_balance_matrix(cct, locus, duv)
        np.testing.assert_allclose(matrix @ colour.rgb_of_cct(cct, locus, duv), 1.0, atol=1e-9)


def test_white_balance_is_the_reference_bradford_adaptation() -> None:
    # colour-science 0.4.7, von Kries adaptation with the Bradford transform, on a warm white under 3200 K.
    lamp, object_colour = colour.rgb_of_cct(3200.0), np.array([0.5, 0.4, 0.2])
    adapted = reference.adaptation.chromatic_adaptation_VonKries(
        colour.RGB_TO_XYZ @ object_colour, colour.RGB_TO_XYZ @ lamp, colour.D65_XYZ, transform="Bradford"
    )
    found = colour.RGB_TO_XYZ @ colour.white_balance_matrix(3200.0) @ object_colour
    np.testing.assert_allclose(found, adapted, atol=1e-12)


@pytest.mark.parametrize(
    ("xy", "line"),
    [
        ((0.3, 0.6), "xy: [0.3, 0.6] has no colour temperature: it lies 0.099 to the green side"),
        ((0.7, 0.3), "xy: [0.7, 0.3] has no colour temperature: it lies beyond 1000 K"),
        ((0.2, 0.18), "xy: [0.2, 0.18] has no colour temperature: it lies beyond 100000 K"),
        ((float("nan"), 0.3), "xy: expected a chromaticity [x, y]; got [nan, 0.3]"),
    ],
)
def test_colours_that_are_no_white(xy: tuple[float, float], line: str) -> None:
    with pytest.raises(InputError) as caught:
        colour.cct_and_duv(xy)
    assert caught.value.lines[0].startswith(line)


@pytest.mark.parametrize(("duv", "end"), [(0.06, "; nearest is 0.05"), (-1.0, "; nearest is -0.05")])
def test_duv_out_of_range(duv: float, end: str) -> None:
    with pytest.raises(InputError) as caught:
        colour.xy_of_cct(5600.0, duv=duv)
    assert caught.value.lines == (f"duv: {duv:g} is outside -0.05 to 0.05{end}",)
