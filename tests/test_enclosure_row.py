"""Flat diffusers before a head: closed forms, limits, and photons traced one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from enclosure_lab import LIMIT, off, trace_row
from view_factor import coaxial_discs, disc_on_axis, parallel_rectangles

from renderer.enclosure.beam import CosineBeam, Head
from renderer.enclosure.diffusion import Diffusion
from renderer.enclosure.outline import Outline, Rectangular, Round
from renderer.enclosure.row import Diffuser, solve_row
from renderer.enclosure.row_glow import RowGlow

BEAM = CosineBeam.of_angle(60.0)
HEAD = Head(10_000.0, BEAM)
ENDS = ("scattered_out", "straight_out", "to_head", "beside", "missed", "absorbed")
PHOTONS = 200_000


def row(outline: Outline, *cloths: Diffusion, first: float = 0.3, gap: float = 0.1) -> list[Diffuser]:
    return [Diffuser(cloth, outline, first + gap * i) for i, cloth in enumerate(cloths)]


@pytest.mark.parametrize(
    ("grade", "stops"), [("eighth", 0.25), ("quarter", 0.33), ("half", 0.75), ("full", 1.5)]
)
def test_grades_are_losses_in_stops(grade: str, stops: float) -> None:
    """Common practice, no source; a stop is a factor of 2."""
    cloth = Diffusion.of_grade(grade, straight=0.25)
    assert math.log2(cloth.transmittance) == pytest.approx(-stops, rel=1e-12)
    assert cloth.direct + cloth.scattered + cloth.reflectance + cloth.absorbed == pytest.approx(1.0)
    assert cloth.direct / cloth.transmittance == pytest.approx(0.25)


def test_one_round_diffuser_before_a_lambertian_head() -> None:
    """It takes the view factor R^2 / (R^2 + d^2) of the flux (Howell, section B) and shares it out."""
    cloth = Diffusion(0.5, 0.4, 0.2)
    glow = solve_row(Head(1000.0, CosineBeam(1.0)), row(Round(0.6), cloth))
    lands = 1000.0 * disc_on_axis(0.3, 0.3)
    found = {name: getattr(glow, name) / lands for name in ENDS[:4]}
    assert found == pytest.approx({"scattered_out": 0.4, "straight_out": 0.1, "to_head": 0.4, "beside": 0.0})
    assert glow.absorbed == pytest.approx(0.1 * lands)
    assert glow.missed == pytest.approx(1000.0 - lands)


@pytest.mark.parametrize("outline", [Round(0.6), Rectangular(0.6, 0.6)])
def test_hot_centre_fades_with_distance(outline: Outline) -> None:
    """Near, the middle is hot: E = I cos(theta) / d^2 falls like cos^(n + 3); far off it is even."""
    cloth = Diffusion.of_grade("full")
    hot = [
        solve_row(HEAD, row(outline, cloth, first=d)).sheets[0].hot_centre() for d in (0.15, 0.3, 0.6, 30.0)
    ]
    assert hot[0] > hot[1] > hot[2] > hot[3]
    assert hot[3] < 7.8 * (0.3 * math.sqrt(2) / 30.0) ** 2 / math.log(2)  # k / 2 tan^2 at either end
    # Between the middle and the middle of an edge, in stops: k log2(1 / cos), k = n + 3.
    lux = solve_row(HEAD, row(Rectangular(0.6, 0.6), cloth), cells=64).sheets[0].illuminance
    step = 0.6 / 64
    x = 0.3 - step / 2
    expected = (BEAM.exponent + 3) * math.log2(math.hypot(0.3, x) / 0.3)
    # The mean over a cell of side h is off by h^2 / 24 of the Laplacian, below k (k + 2) / d^2 of E there.
    bound = 2 * step**2 / 24 * 7.8 * 9.8 / 0.3**2 / math.log(2) + 7.8 / math.log(2) * (step / 0.6) ** 2
    assert math.log2(lux[32, 32] / lux[32, 63]) == pytest.approx(expected, abs=bound)


def even_pair(outline: Outline, gap: float, one: Diffusion, two: Diffusion) -> RowGlow:
    return solve_row(HEAD, row(outline, one, two, first=99.0, gap=gap))


@pytest.mark.parametrize("gap", [0.002, 0.02, 0.2])
@pytest.mark.parametrize("outline", [Round(0.5), Rectangular(0.5, 0.4)])
def test_two_facing_planes(outline: Outline, gap: float) -> None:
    """Evenly lit infinite planes pass t1 t2 (1 + r1 r2 + ...) = t1 t2 / (1 - r1 r2) (Stokes 1862). Finite
    ones, with view factor F between them, less; but at least t1 t2 F / (1 - r1 r2 F^2): the exchange
    K is symmetric and positive, so the mean of K^m over an even start is at least F^m (Jensen). F: Siegel &
    Howell, 4th ed., p. 845 and 843. From 99 m the light is even to the bound below."""
    one, two = Diffusion(0.5, 0.45), Diffusion(0.6, 0.35)
    glow = even_pair(outline, gap, one, two)
    lands = glow.sheets[0].flux(glow.sheets[0].direct)
    is_round = isinstance(outline, Round)
    f = coaxial_discs(0.25, 0.25, gap) if is_round else parallel_rectangles(0.5, 0.4, gap)
    bounce = one.reflectance * two.reflectance
    least, most = (0.5 * 0.6 * x / (1 - bounce * x * x) for x in (f, 1.0))
    uneven = 7.8 / 2 * (0.33 / 99.0) ** 2
    assert least * (1 - 2 * uneven) <= glow.scattered_out / lands <= most * (1 + 1e-12)
    back = one.reflectance + 0.5**2 * two.reflectance / (1 - bounce)  # Stokes again, towards the head
    assert glow.to_head / lands <= back * (1 + 1e-12)
    if gap == 0.002:
        assert glow.scattered_out / lands == pytest.approx(most, rel=2 * (1 - f))  # the limit is near
        assert glow.to_head / lands == pytest.approx(back, rel=2 * (1 - f))


def test_a_second_diffuser_evens_the_first_out() -> None:
    cloth = Diffusion.of_grade("half")
    one, two = (solve_row(HEAD, row(Round(0.6), *[cloth] * n)) for n in (1, 2))
    assert two.sheets[-1].hot_centre() < one.sheets[-1].hot_centre()
    assert two.to_head > one.to_head
    assert two.sheets[0].front.min() > 0.0 == two.sheets[1].front.max()


ROWS = {
    "one": row(Round(0.5), Diffusion(0.6, 0.3, 0.2)),
    "pair": row(Round(0.5), Diffusion(0.6, 0.35), Diffusion(0.4, 0.5)),
    "pair, straight": row(Rectangular(0.6, 0.3), Diffusion(0.6, 0.3, 0.5), Diffusion(0.7, 0.2, 0.3)),
    "small before large": [
        Diffuser(Diffusion(0.6, 0.3, 0.4), Round(0.3), 0.3),
        Diffuser(Diffusion(0.5, 0.45, 0.1), Round(0.8), 0.45),
    ],
    "small before large, oblong": [
        Diffuser(Diffusion(0.6, 0.3, 0.4), Rectangular(0.3, 0.2), 0.3),
        Diffuser(Diffusion(0.5, 0.45, 0.1), Rectangular(0.8, 0.4), 0.45),
    ],
    "large before small": [
        Diffuser(Diffusion(0.6, 0.3, 0.4), Rectangular(0.8, 0.5), 0.3),
        Diffuser(Diffusion(0.5, 0.45, 0.1), Rectangular(0.2, 0.3), 0.35),
    ],
    "three, straight": row(Round(0.5), *[Diffusion(0.7, 0.25, 0.5)] * 3),
    "three": row(Rectangular(0.5, 0.4), *[Diffusion(0.6, 0.3)] * 3),
}


@pytest.mark.parametrize("name", ROWS)
def test_a_row_against_traced_photons(name: str) -> None:
    """Every end of the light; the solver errs by its cells, by less than halving them changes."""
    coarse, fine = (solve_row(HEAD, ROWS[name], cells=cells) for cells in (16, 32))
    trace = trace_row(ROWS[name], BEAM.exponent, PHOTONS, 5)
    assert sum(getattr(trace, end) for end in ENDS) == PHOTONS
    for end in ENDS:
        a, b = (getattr(glow, end) / HEAD.lumens for glow in (coarse, fine))
        assert abs(a - b) < 0.002, end  # or the test would say little
        assert off(getattr(trace, end) / PHOTONS, b, PHOTONS, abs(a - b)) <= LIMIT, end


@pytest.mark.parametrize("name", ROWS)
def test_flux_balance_of_a_row(name: str) -> None:
    glow = solve_row(HEAD, ROWS[name])
    assert abs(glow.balance_error) <= 1e-12
    assert min(getattr(glow, end) for end in ENDS) >= -1e-9 * HEAD.lumens
    last = glow.sheets[-1]
    area = last.grid.picture(last.onward).size
    assert area >= len(last.onward)
    assert math.pi * last.luminance.max() == pytest.approx(last.onward.max(), rel=1e-12)


def test_a_rectangle_is_symmetric_and_alike_when_turned() -> None:
    """Left-right and up-down; and on its side it is the same, transposed."""
    wide, tall = (
        solve_row(HEAD, row(Rectangular(*size), Diffusion(0.5, 0.4), Diffusion(0.5, 0.4))).sheets[1].luminance
        for size in ((0.6, 0.3), (0.3, 0.6))
    )
    assert wide.shape == (8, 16)
    assert np.array_equal(wide, wide[:, ::-1]) and np.array_equal(wide, wide[::-1])
    assert np.allclose(wide, tall.T, rtol=1e-9)  # cells hold still to 1e-9
