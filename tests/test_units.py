"""Stops, exposure and meter constants against standards and published worked examples."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest

from renderer import units
from renderer.units import C_DOME, C_FLAT, MINUS, K


@pytest.mark.parametrize(
    ("value", "ratio"),
    # Arithmetic: 2 to the power of the stops, to the five decimals given.
    [(1 / 3, 1.25992), (0.5, 1.41421), (2 / 3, 1.58740), (1, 2), (1.5, 2.82843), (2.5, 5.65685), (3, 8)]
    + [(1.58496, 3), (2.32193, 5), (3.16993, 9)],
)
def test_stops_and_ratio(value: float, ratio: float) -> None:
    assert units.stops_to_ratio(value) == pytest.approx(ratio, rel=5e-6)
    assert units.ratio_to_stops(ratio) == pytest.approx(value, abs=1e-5)
    assert units.stops(10.0 * ratio, 10.0) == pytest.approx(value, abs=1e-5)


def test_no_light_is_minus_infinity_and_arrays_are_answered_in_kind() -> None:
    assert units.stops(0.0, 5.0) == -math.inf
    assert math.isnan(units.ratio_to_stops(-1.0))
    np.testing.assert_array_equal(units.ratio_to_stops(np.array([0.0, 1.0, 4.0])), [-np.inf, 0.0, 2.0])
    np.testing.assert_allclose(units.ev100_from_lux(np.array([80.0, 2560.0])), [5.0, 10.0], rtol=1e-12)


def test_lux_and_footcandles() -> None:
    # The international foot is 0.3048 m exactly (yard and pound agreement, 1959): 1 fc = 10.7639 lx.
    assert units.footcandles_to_lux(1.0) == pytest.approx(10.7639, abs=5e-5)
    assert units.lux_to_footcandles(1076.39) == pytest.approx(100.0, rel=1e-5)


def test_mired() -> None:
    # Definition, 1e6 / T; its two-way use is common practice, no source.
    assert units.mired(3200.0) == 312.5
    assert units.mired(5600.0) == pytest.approx(178.571, abs=5e-4)
    assert units.mired(units.mired(4300.0)) == pytest.approx(4300.0)


@pytest.mark.parametrize(
    ("ev", "luminance", "lux_flat", "lux_dome"),
    # ISO 2720:1974 meter laws with K 12.5, C 250, C 340: L = .125 2^EV, E = 2.5 2^EV, E = 3.4 2^EV.
    [(5, 4.0, 80.0, 108.8), (10, 128.0, 2560.0, 3481.6), (15, 4096.0, 81920.0, 111411.2)],
)
def test_exposure_value_tables(ev: int, luminance: float, lux_flat: float, lux_dome: float) -> None:
    assert units.ev100_from_luminance(luminance) == pytest.approx(ev, abs=1e-12)
    assert units.ev100_from_lux(lux_flat) == pytest.approx(ev, abs=1e-12)
    assert units.ev100_from_lux(lux_dome, C_DOME) == pytest.approx(ev, abs=1e-12)


def test_worked_exposures() -> None:
    # f/8, 1 s, ISO 100, C 250 -> 160 lx: example in the documentation of colour-hdri (ISO 2720:1974).
    assert units.lux_for_exposure(8.0, 100.0, 1.0) == pytest.approx(160.0)
    # The rest is arithmetic with the same law.
    assert units.ev100_from_lux(1000.0) == pytest.approx(8.6439, abs=5e-5)
    assert units.ev100_from_lux(1000.0, C_DOME) == pytest.approx(8.2002, abs=5e-5)
    assert units.lux_for_exposure(2.8, 800.0, 1 / 50) == pytest.approx(122.5)
    assert units.lux_for_exposure(2.8, 800.0, 1 / 50, C_DOME) == pytest.approx(166.6)
    assert units.ev100(16.0, 100.0, 1 / 100) == pytest.approx(14.6439, abs=5e-5)
    assert units.luminance_for_exposure(16.0, 100.0, 1 / 100) == pytest.approx(3200.0)
    assert units.lux_for_exposure(16.0, 100.0, 1 / 100) == pytest.approx(64000.0)
    assert units.t_stop_for_lux(122.5, 800.0, 1 / 50) == pytest.approx(2.8)


def test_apex_adds_up() -> None:
    # APEX: Av + Tv = Ev = Bv + Sv, Av = log2 N^2, Tv = -log2 t, Sv = log2(S / 3.125) (from memory).
    assert units.aperture_value(4.0) == 4.0
    assert units.time_value(1 / 64) == 6.0
    assert units.speed_value(100.0) == 5.0
    ev = units.aperture_value(5.6) + units.time_value(1 / 50) - (units.speed_value(800.0) - 5.0)
    assert units.ev100(5.6, 800.0, 1 / 50) == pytest.approx(ev)


def test_middle_grey_is_the_incident_meters() -> None:
    lux = units.lux_for_exposure(2.8, 800.0, 1 / 50)
    grey = units.grey_luminance(2.8, 800.0, 1 / 50)
    assert grey == pytest.approx(0.18 * lux / math.pi)
    assert units.lux_on_matte(grey) == pytest.approx(lux)
    # A spot meter of K 12.5 beside C 250 implies pi K / C = 15.7 % (published as .157 on yedlin.net).
    assert math.pi * K / C_FLAT == pytest.approx(0.15708, abs=5e-6)
    spot = units.luminance_for_exposure(2.8, 800.0, 1 / 50)
    assert units.stops(grey, spot) == pytest.approx(math.log2(0.18 / 0.15708), abs=5e-5)


@pytest.mark.parametrize(
    ("reflectance", "expected"), [(0.10, -0.85), (0.16, -0.17), (0.36, 1.0), (0.80, 2.15), (0.90, 2.32)]
)
def test_spot_of_a_surface_beside_the_incident_reading(reflectance: float, expected: float) -> None:
    # log2(reflectance / .18), closed form; the lens sees it that far from grey in the metered light.
    grey = units.grey_luminance(4.0, 400.0, 1 / 48)
    seen = units.luminance_of_matte(units.lux_for_exposure(4.0, 400.0, 1 / 48), reflectance)
    assert units.stops(seen, grey) == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize(
    ("t_stop", "text"),
    # Engraved stops go by sqrt 2 (5.6 stands for 5.657), thirds between: common practice, no source.
    [(1.0, "T1"), (2.8, "T2.8"), (3.2, "T2.8 +1/3"), (3.5, "T2.8 +2/3"), (5.6, "T5.6"), (6.35, "T5.6 +1/3")]
    + [
        (11.0, "T11"),
        (22.0, "T22"),
        (64.0, "T64"),
        (50.8, "T45 +1/3"),
        (0.7, "T0.7"),
        (0.1, "under T0.5"),
        (200.0, "over T64"),
        (0.0, "T-"),
    ],
)
def test_t_stop_in_thirds(t_stop: float, text: str) -> None:
    assert units.t_stop_in_thirds(t_stop) == text


def test_words() -> None:
    assert units.shutter_in_words(1 / 50) == "1/50 s"
    assert units.shutter_in_words(2.5) == "2.5 s"
    assert units.signed(1.26) == "+1.3"
    assert units.signed(-2.0, 0) == MINUS + "2"
    assert units.signed(-0.04) == "0.0"
    assert units.signed(-math.inf) == "no light"


def test_importing_units_does_not_load_numpy() -> None:
    code = "import sys, renderer.units; sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
