"""Colour against CIE and IEC tables and independent integrals."""

from __future__ import annotations

import numpy as np
import pytest

from renderer import colour
from renderer.errors import InputError


@pytest.mark.parametrize(
    ("linear", "code"), [(0.01, 0.099853), (0.09, 0.331830), (0.18, 0.461356), (0.5, 0.735357), (1.0, 1.0)]
)
def test_srgb_curve(linear: float, code: float) -> None:
    # IEC 61966-2-1; values computed with colour-science 0.4.7.
    assert colour.srgb_encode(linear) == pytest.approx(code, abs=5e-7)
    assert colour.srgb_decode(code) == pytest.approx(linear, abs=2e-6)


@pytest.mark.parametrize(
    ("code", "linear"),
    [(10, 0.003035), (64, 0.051269), (118, 0.181164), (128, 0.215861), (188, 0.502886), (200, 0.577580)],
)
def test_srgb_eight_bit_codes(code: int, linear: float) -> None:
    # IEC 61966-2-1; values computed with colour-science 0.4.7.
    assert colour.srgb_decode(code / 255) == pytest.approx(linear, abs=5e-7)


@pytest.mark.parametrize(
    ("linear", "signal"), [(0.09, 0.272883), (0.18, 0.409008), (0.5, 0.705515), (1.0, 1.0)]
)
def test_bt709_signal(linear: float, signal: float) -> None:
    # ITU-R BT.709; values computed with colour-science 0.4.7.
    assert colour.bt709_signal(linear) == pytest.approx(signal, abs=5e-7)


def test_lightness() -> None:
    # CIE 15: L* = 116 Y^(1/3) - 16.
    assert colour.lightness(0.18) == pytest.approx(49.496, abs=5e-4)
    assert colour.lightness(0.184187) == pytest.approx(50.0, abs=5e-4)
    assert colour.lightness(0.001) == pytest.approx(0.9033, abs=5e-5)


@pytest.mark.parametrize(
    ("cct", "x", "y"),
    [(2700, 0.45986, 0.41060), (3000, 0.43693, 0.40407), (3200, 0.42336, 0.39895), (4000, 0.38044, 0.37675)]
    + [
        (4300, 0.36811, 0.36869),
        (5000, 0.34510, 0.35161),
        (5600, 0.33020, 0.33908),
        (6500, 0.31353, 0.32363),
    ],
)
def test_planck_locus(cct: float, x: float, y: float) -> None:
    # Planck's law (c2 = 1.4388e-2) integrated with the CIE 1931 observer; luxpy 1.12.5 gives the same five
    # digits at 3200 and 5600 K. Tolerance: the fit's stated 1.9e-6 and half a last digit.
    np.testing.assert_allclose(colour.planck_xy(cct), [x, y], atol=6.9e-6)


@pytest.mark.parametrize(
    ("cct", "x", "y"),
    [(4000, 0.38234, 0.38377), (5000, 0.34574, 0.35867), (5600, 0.33016, 0.34555), (6500, 0.31278, 0.32918)]
    + [(7500, 0.29909, 0.31503)],
)
def test_daylight_locus(cct: float, x: float, y: float) -> None:
    # CIE 15 daylight formula; values computed with colour-science 0.4.7.
    np.testing.assert_allclose(colour.daylight_xy(cct), [x, y], atol=1.01e-5)


@pytest.mark.parametrize(
    ("cct", "x", "y"),
    # CIE 1931 x, y of the standard illuminants, CIE 15; the formula takes 1.4388 / 1.4380 of the nominal T.
    [(5000 * 1.4388 / 1.4380, 0.3457, 0.3585), (5500 * 1.4388 / 1.4380, 0.3324, 0.3474)]
    + [(6500 * 1.4388 / 1.4380, 0.3127, 0.3290)],
)
def test_standard_daylight_illuminants(cct: float, x: float, y: float) -> None:
    # The tables come from spectra whose weights are rounded to three decimals, which moves y by 1e-4
    # against the formula; half a last digit is added.
    np.testing.assert_allclose(colour.xy_of_cct(cct), [x, y], atol=1.5e-4)


def test_illuminant_a() -> None:
    # CIE standard illuminant A: x .44757, y .40745 at 2855.5 K on the c2 = 1.4388e-2 scale. Half a last
    # digit, and 8e-6 by which summing from 380 to 780 nm instead of 360 to 830 nm moves y.
    np.testing.assert_allclose(colour.xy_of_cct(2855.5), [0.44757, 0.40745], atol=1.5e-5)


def test_white_goes_from_lamp_to_daylight_without_a_step() -> None:
    np.testing.assert_allclose(colour.xy_of_cct(4000.0), colour.planck_xy(4000.0), atol=1e-12)
    np.testing.assert_allclose(colour.xy_of_cct(5000.0), colour.daylight_xy(5000.0), atol=1e-12)
    np.testing.assert_allclose(colour.xy_of_cct(4000.001), colour.planck_xy(4000.0), atol=1e-6)
    np.testing.assert_allclose(colour.xy_of_cct(4999.999), colour.daylight_xy(5000.0), atol=1e-6)
    # Half way in mired, 4444.4 K, the white is half way between the two loci: y over Planck's by half.
    between = colour.xy_of_cct(1e6 / 225.0)
    low, high = colour.planck_xy(1e6 / 225.0), colour.daylight_xy(1e6 / 225.0)
    assert (between[1] - low[1]) / (high[1] - low[1]) == pytest.approx(0.5, abs=0.01)


def test_white_in_linear_rgb() -> None:
    # Integral of Planck's law with the CIE 1931 observer, Y = 1. Bound: the stated error of the fit, 1.9e-6
    # in x and in y, moves red, the most sensitive, by 0.3e-4; the reference's matrix, with more decimals
    # than the four printed in IEC 61966-2-1, by 0.8e-4.
    np.testing.assert_allclose(colour.rgb_of_cct(3200.0), [1.67959, 0.86611, 0.32588], atol=1.1e-4)
    black_body = colour.rgb_of_xy(colour.planck_xy(5600.0))
    np.testing.assert_allclose(black_body, [1.13221, 0.97276, 0.88119], atol=1.1e-4)
    for cct in (1000.0, 1900.0, 3200.0, 4300.0, 5600.0, 25000.0):
        assert colour.luminance(colour.rgb_of_cct(cct)) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("cct", [1500.0, 2700.0, 3200.0, 4300.0, 5600.0, 10000.0])
def test_white_balance_makes_its_white_neutral_and_keeps_its_luminance(cct: float) -> None:
    np.testing.assert_allclose(colour.white_balance_matrix(cct) @ colour.rgb_of_cct(cct), 1.0, atol=1e-9)


def test_white_balance_is_the_published_bradford_matrix() -> None:
    # Bradford from D50 to D65 in XYZ as tabulated by B. Lindbloom, brucelindbloom.com (from memory).
    expected = [
        [0.9555766, -0.0230393, 0.0631636],
        [-0.0282895, 1.0099416, 0.0210077],
        [0.0122982, -0.0204830, 1.3299098],
    ]
    # Whites of ASTM E308 as he uses them: D50 and D65.
    found = colour.bradford([0.96422, 1.0, 0.82521], [0.95047, 1.0, 1.08883])
    np.testing.assert_allclose(found, expected, atol=2e-6)


@pytest.mark.parametrize(("cct", "nearest"), [(900.0, "nearest is 1000"), (30000.0, "nearest is 25000")])
def test_colour_temperature_out_of_range(cct: float, nearest: str) -> None:
    with pytest.raises(InputError, match=f"cct: {cct:g} K is outside 1000 to 25000 K; {nearest}"):
        colour.rgb_of_cct(cct)
    with pytest.raises(InputError, match="cct: nan K"):
        colour.rgb_of_cct(float("nan"))
