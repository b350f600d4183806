"""Developing: middle grey exact, highlights rolled off, colours brought into gamut."""

from __future__ import annotations

import numpy as np
import pytest

from renderer.colour import luminance, rgb_of_cct, srgb_decode, srgb_encode
from renderer.errors import InputError
from renderer.kernels.develop import rolled_off
from renderer.picture.develop import FAULT_COLOUR, auto_grey_luminance, develop


def flat(*rgb: float, size: tuple[int, int] = (2, 3)) -> np.ndarray:
    return np.broadcast_to(np.array(rgb, dtype=np.float32), (*size, 3)).copy()


def roll_off(linear: np.ndarray) -> np.ndarray:
    return np.array([rolled_off(tuple(rgb)) for rgb in linear])


@pytest.mark.parametrize("shoulder", ["gentle", "none"])
@pytest.mark.parametrize("grey", [0.37, 7.02, 4096.0])
def test_grey_luminance_becomes_code_118(shoulder: str, grey: float) -> None:
    # IEC 61966-2-1: .18 linear is .461356 of 255, 117.6.
    assert (develop(flat(grey, grey, grey), grey, shoulder=shoulder) == 118).all()  # type: ignore[arg-type]


def test_every_code_up_to_the_shoulder_is_the_srgb_formula() -> None:
    linear = np.linspace(0.0, 0.5, 100_001)
    exact = 255.0 * srgb_encode(linear)
    clear = np.abs(exact % 1.0 - 0.5) > 0.02  # where a 1/50 code decides, rounding may go either way
    pixels = develop(np.repeat(linear[None, :, None], 3, axis=2), 0.18)
    np.testing.assert_array_equal(pixels[0, clear, 1], np.rint(exact[clear]))
    assert len(np.unique(pixels)) == 189  # codes 0 to 188, none left out


def test_without_shoulder_white_is_where_the_camera_curve_ends() -> None:
    pixels = develop(flat(1.0, 0.98, 2.0), 0.18, shoulder="none")
    assert tuple(pixels[0, 0]) == (255, 253, 255)


def test_shoulder() -> None:
    x = np.linspace(0.0, 8.0, 4001, dtype=np.float32)
    y = roll_off(np.repeat(x[:, None], 3, axis=1))
    np.testing.assert_array_equal(y[:, 0], y[:, 2])
    np.testing.assert_array_equal(y[x <= 0.5, 0], x[x <= 0.5])
    slope = np.diff(y[:, 0]) / np.diff(x)
    assert (slope > -1e-4).all()
    assert (np.diff(slope) < 1e-3).all()  # never steeper again: no bump in a highlight
    assert y.max() <= 1.0
    # 0.5 + 0.5 (1 - 1/e) at clip, closed form.
    assert float(roll_off(np.ones((1, 3), np.float32))[0, 0]) == pytest.approx(0.81606, abs=1e-5)


def test_shoulder_keeps_hue_of_a_warm_highlight_and_turns_a_bare_lamp_white() -> None:
    warm = np.array([[1.2, 0.8, 0.4]], dtype=np.float32)
    r, g, b = roll_off(warm)[0]
    assert r > g > b
    # Position of the middle channel between the outer two, 0.5 before, is kept to a tenth.
    assert (g - b) / (r - b) == pytest.approx(0.5, abs=0.1)
    # Strongest 48, so the curve leaves 1/48 of it; blue is (1/48)(16/48) + (47/48) 1, closed form.
    assert float(roll_off(warm * 40.0).min()) == pytest.approx(16 / 48**2 + 47 / 48, abs=1e-6)


def test_white_balance_makes_the_lamps_white_grey() -> None:
    lamp = 5.0 * rgb_of_cct(3200.0)
    assert (develop(flat(*lamp), 5.0, 3200.0) == 118).all()
    r, _, b = develop(flat(*lamp), 5.0)[0, 0]
    assert int(r) - int(b) > 60


def test_colours_outside_the_primaries_keep_their_luminance() -> None:
    flame = 0.2 * rgb_of_cct(1500.0)
    assert flame[2] < 0.0
    pixel = develop(flat(*flame), 0.18, shoulder="none")[0, 0]
    assert pixel.min() == 0  # no more is taken from the colour than need be
    linear = srgb_decode(pixel / 255.0)
    # Rounding to 8 bits: half a code is under 2 % of this level.
    assert luminance(linear) == pytest.approx(0.2, rel=0.02)
    assert (develop(flat(-0.3, -0.1, 0.1), 0.18) == 0).all()


def test_a_pixel_that_is_no_number_is_seen() -> None:
    radiance = flat(0.18, 0.18, 0.18)
    radiance[0, 1, 2] = np.nan
    radiance[1, 2, 0] = np.inf
    before = radiance.copy()
    pixels = develop(radiance, 0.18)
    np.testing.assert_array_equal(radiance, before)
    assert tuple(pixels[0, 1]) == tuple(pixels[1, 2]) == FAULT_COLOUR
    assert (pixels[0, 0] == 118).all()


def test_automatic_exposure() -> None:
    radiance = flat(10.0, 10.0, 10.0, size=(40, 50))
    radiance[:5] = 40.0
    radiance[0, :30] = 1e6  # a lamp in shot: 1.5 % of the picture
    face = np.zeros((40, 50), dtype=bool)
    face[2:4, 10:30] = True
    assert auto_grey_luminance(radiance, face) == pytest.approx(40.0)
    assert auto_grey_luminance(radiance, face, stops_over_grey=1.0) == pytest.approx(20.0)
    # (220 at 40 + 1750 at 10) / 1970: the lamp is left out.
    assert auto_grey_luminance(radiance) == pytest.approx((220 * 40 + 1750 * 10) / 1970, rel=1e-3)
    with pytest.raises(InputError, match="no light"):
        auto_grey_luminance(np.zeros((4, 4, 3)))


def test_wrong_arguments_are_refused() -> None:
    with pytest.raises(ValueError, match=r"expected \(h, w, 3\)"):
        develop(np.zeros((4, 4)), 1.0)
    with pytest.raises(ValueError, match="more than 0"):
        develop(flat(1, 1, 1), 0.0)
