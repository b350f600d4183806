"""A lit cylinder as a whole: what must hold whatever its shape, and what sleeves must do."""

from __future__ import annotations

import math
import time
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from renderer.enclosure.beam import CosineBeam, Head, TableBeam
from renderer.enclosure.cylinder import FabricCylinder, solve
from renderer.enclosure.fabric import BLACK, SILVER, WALLS, Fabric, Sleeve, fate
from renderer.enclosure.gain import sleeve_gains
from renderer.enclosure.glow import Glow
from renderer.enclosure.grid import coverage, make_grid

CLOTH = Fabric(0.5, 0.4)
DRUM = FabricCylinder(0.25, 0.6, CLOTH, CLOTH, CLOTH)
HEAD = Head(10_000.0, CosineBeam.of_angle(60.0))
HALF = Sleeve(SILVER, covers=(90.0, 270.0))
FRONT = Sleeve(SILVER, covers=(-60.0, 60.0), height=(0.33, 0.6))
LID = Sleeve(0.8, on="top", outside=False)


@pytest.mark.parametrize("head", [HEAD, Head(3.0, TableBeam([0.0, 180.0], [2.0, 1.0]))])
@pytest.mark.parametrize("sectors", [None, 24])
@pytest.mark.parametrize(("tau", "rho"), [(0.5, 0.4), (0.2, 0.79), (0.9, 0.0), (0.05, 0.1)])
def test_one_fabric_all_round_passes_tau_over_one_minus_rho(
    head: Head, sectors: int | None, tau: float, rho: float
) -> None:
    """Each time light meets a wall, tau passes and rho returns: tau (1 + rho + rho^2 ...) = tau / (1 - rho),
    whatever the shape; and the mean light on the walls is that of an integrating sphere, flux / (A (1 -
    rho)) (Ulbricht 1900; the sphere multiplier, from memory)."""
    drum = FabricCylinder(0.25, 0.6, *[Fabric(tau, rho)] * 3)
    glow = solve(drum, head, 0.5, sectors=sectors)
    assert glow.efficiency == pytest.approx(tau / (1.0 - rho), rel=1e-12)
    area = 2 * math.pi * 0.25 * (0.25 + 0.6)
    mean = float((glow.areas * glow.incident).sum()) / area
    assert mean == pytest.approx(head.lumens / (area * (1.0 - rho)), rel=1e-12)
    assert glow.emitted() == pytest.approx(tau * area * mean, rel=1e-12)
    assert abs(glow.balance_error) <= 1e-12


@pytest.mark.parametrize(
    "sleeves",
    [(), (HALF,), (HALF, FRONT), (HALF, FRONT, LID), (Sleeve(0.04, covers=(10.3, 77.7)), HALF)],
)
@pytest.mark.parametrize("cloth", [CLOTH, Fabric(0.02, 0.97), Fabric(1.0, 0.0)])
def test_flux_balance(sleeves: tuple[Sleeve, ...], cloth: Fabric) -> None:
    """Out and absorbed make up the head's flux: conservation of energy, to rounding."""
    drum = FabricCylinder(0.25, 0.6, cloth, Fabric(0.3, 0.6), CLOTH, sleeves)
    glow = solve(drum, HEAD, 0.55)
    assert abs(glow.balance_error) <= 1e-12
    for total in (glow.emitted, glow.absorbed_by_fabric, glow.absorbed_by_sleeves):
        assert sum(total(wall) for wall in WALLS) == pytest.approx(total(), rel=1e-13, abs=1e-9)
    # What a camera would integrate from outside is the same flux: pi L over the bare area.
    outside = math.pi * float((glow.luminance * glow.areas * glow.bare).sum())
    assert outside == pytest.approx(glow.emitted(), rel=1e-13)


def test_nothing_lost_comes_out() -> None:
    """Fabric that keeps nothing under sleeves that return everything: all light leaves where it can."""
    clear = Fabric(0.3, 0.7)
    sleeves = (Sleeve(1.0, covers=(20.0, 300.0)), Sleeve(1.0, on="top", outside=False))
    glow = solve(FabricCylinder(0.25, 0.6, clear, clear, clear, sleeves), HEAD, 0.5)
    assert glow.efficiency == pytest.approx(1.0, rel=1e-12)
    assert glow.absorbed_by_sleeves() == pytest.approx(0.0, abs=1e-9)


def test_fabric_behind_a_sleeve_by_summing_reflections() -> None:
    """Stokes' pile of plates: 200 terms of the series to and fro, summed."""
    t, r, s = 0.5, 0.4, 0.85
    meets = sum(t * (r * s) ** k for k in range(200))
    found = fate(Fabric(t, r), Sleeve(s))
    assert found.returned == pytest.approx(r + t * s * meets, rel=1e-14)
    assert found.in_sleeve == pytest.approx((1 - s) * meets, rel=1e-14)
    assert found.passed == 0.0
    in_fabric = (1 - t - r) * (1 + s * meets)  # on the way in, and of all that comes back from the sleeve
    assert 1 - found.returned - found.in_sleeve == pytest.approx(in_fabric, rel=1e-12)


def test_a_sleeve_that_returns_what_the_fabric_returns_changes_nothing_inside() -> None:
    same = Sleeve(CLOTH.reflectance, covers=(30.0, 200.0), outside=False)
    gains = sleeve_gains(DRUM, [same], HEAD, 0.5)
    assert set(gains[1].stops) == set(WALLS)
    assert max(abs(stop) for stop in gains[1].stops.values()) <= 1e-12
    assert np.allclose(gains[1].glow.incident, gains[0].glow.incident, rtol=1e-12)


def test_silver_brightens_the_open_part_and_black_hardly() -> None:
    """What can be said without solving: outside, a sleeve returns light that would have left, so nothing
    open gets darker and a whiter one gives more; the flux falls, for part of the way out is shut."""
    stops = {}
    for name, reflectance in (("black", BLACK), ("silver", SILVER)):
        first = Sleeve(reflectance, covers=(90.0, 270.0))
        second = Sleeve(reflectance, covers=(60.0, 90.0))
        none, one, two = sleeve_gains(DRUM, [first, second], HEAD, 0.55)
        assert set(none.stops.values()) == {0.0} and none.flux == 0.0
        assert min(one.stops.values()) > 0.0
        for wall in ("bottom", "top"):  # wholly bare in both
            assert two.stops[wall] > one.stops[wall]
        assert 0.0 > one.flux > two.flux
        stops[name] = one.stops
    assert all(stops["silver"][wall] > stops["black"][wall] for wall in WALLS)
    # A sleeve inside that returns less than the fabric did takes light away.
    dark = sleeve_gains(DRUM, [Sleeve(BLACK, covers=(90.0, 270.0), outside=False)], HEAD, 0.55)[1]
    assert max(dark.stops.values()) < 0.0


def test_one_sector_is_enough_where_all_goes_round() -> None:
    drum = DRUM.with_sleeves([Sleeve(SILVER, height=(0.35, 0.6))])
    one, many = solve(drum, HEAD, 0.5), solve(drum, HEAD, 0.5, sectors=24)
    assert one.grid.sectors == 1
    assert np.allclose(many.incident, one.incident, rtol=1e-11)


def test_left_and_right_mirror_each_other() -> None:
    """A sleeve about 0 degrees lights both flanks alike, and its mirror image mirrors the light."""
    glow = solve(DRUM.with_sleeves([Sleeve(SILVER, covers=(-45.0, 45.0))]), HEAD, 0.5)
    assert np.allclose(glow.incident, glow.incident[:, ::-1], rtol=1e-12)
    right, left = (
        solve(DRUM.with_sleeves([Sleeve(SILVER, covers=span, height=(0.1, 0.4))]), HEAD, 0.5)
        for span in ((15.0, 105.0), (-105.0, -15.0))
    )
    assert np.allclose(right.incident, left.incident[:, ::-1], rtol=1e-12)
    assert not np.allclose(right.incident, left.incident, rtol=1e-4)


def test_upside_down() -> None:
    """Turned over with its head, a cylinder shines the other way up."""
    up = replace(DRUM, bottom=Fabric(0.1, 0.6), sleeves=(replace(HALF, height=(0.0, 0.2)),))
    over = replace(up, bottom=up.top, top=up.bottom, sleeves=(replace(HALF, height=(0.4, 0.6)),))
    a, b = solve(up, HEAD, 0.5, "down"), solve(over, HEAD, 0.1, "up")
    assert np.allclose(a.luminance_of("side"), b.luminance_of("side")[::-1], rtol=1e-11)
    assert np.allclose(a.luminance_of("bottom"), b.luminance_of("top"), rtol=1e-11)


def test_a_turned_sleeve_turns_the_light() -> None:
    a, b = (
        solve(DRUM.with_sleeves([Sleeve(SILVER, covers=(low, low + 75.0))]), HEAD, 0.5)
        for low in (0.0, 120.0)
    )
    assert a.grid.sectors == 24
    assert np.allclose(np.roll(a.incident, 8, axis=1), b.incident, rtol=1e-11)


def test_all_sizes_alike() -> None:
    """Twice as large, a quarter of the luminance: no length stands in the equations."""
    large = FabricCylinder(0.5, 1.2, CLOTH, CLOTH, CLOTH, (replace(FRONT, height=(0.66, 1.2)),))
    a, b = solve(DRUM.with_sleeves([FRONT]), HEAD, 0.5), solve(large, HEAD, 1.0)
    assert np.allclose(a.luminance, 4.0 * b.luminance, rtol=1e-11)


def test_sleeves_on_the_grid() -> None:
    """Bands and sectors end where sleeves end; a sector that cannot is shared out by its width."""
    grid = solve(DRUM.with_sleeves([replace(FRONT, covers=(-50.0, 50.0))]), HEAD, 0.5).grid
    assert grid.sectors == 36 and 0.33 in grid.heights
    grid = make_grid(0.25, 0.6, [FRONT], 24, 8, 10)  # sectors 36 degrees wide; -60 and 60 cut two of them
    bare, under = coverage(grid, [FRONT])
    assert np.allclose(bare + under, 1.0)
    turned = under[grid.bands - 1]
    assert np.allclose(turned, [1, 24 / 36, 0, 0, 0, 0, 0, 0, 24 / 36, 1])
    assert under[0].max() == 0.0 and under[grid.bands :].max() == 0.0
    # Two that overlap: the earlier is the inner one.
    both = coverage(grid, [FRONT, Sleeve(0.8, covers=(0.0, 36.0))])
    assert both[2][grid.bands - 1, 0] == 0.0 and both[2][0, 0] == 1.0


def profile_gap(coarse: Glow, fine: Glow) -> float:
    """Largest difference of the side's profile, where the coarse bands have their middles."""
    z, low = coarse.side_profile()
    height, high = fine.side_profile()
    return float(np.max(np.abs(np.interp(z, height, high) / low - 1.0)))


def test_profiles_settle_as_the_grid_grows() -> None:
    """Halved patches leave a smaller error each time."""
    glows = [solve(DRUM, HEAD, 0.5, bands=n, rings=n // 3) for n in (12, 24, 48, 96)]
    gaps = [profile_gap(a, b) for a, b in pairwise(glows)]
    assert gaps[0] > gaps[1] > gaps[2]
    for wall in ("side", "top"):
        steps = np.abs(np.diff([glow.emitted(wall) for glow in glows]))
        assert steps[1] < steps[0] / 2.0 and steps[2] < steps[1] / 2.0  # better than first order
    turns, mean = glows[0].turn_profile()
    assert turns.shape == mean.shape == (1,)
    assert mean[0] == pytest.approx(glows[0].mean_luminance("side"), rel=1e-12)


def test_it_is_fast() -> None:
    """24 bands x 24 sectors and 8 rings at either end in well under 0.2 s of CPU, factors and all."""
    drum = FabricCylinder(0.2512345, 0.6, CLOTH, CLOTH, CLOTH, (HALF,))  # a size that is not kept yet
    before = time.process_time()
    solve(drum, HEAD, 0.5)
    assert time.process_time() - before < 0.2
