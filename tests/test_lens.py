"""Lenses of spectacles against closed forms: what a plate mirrors and lets through, where it shows a lamp."""

from __future__ import annotations

import math

import numpy as np
import pytest
from light_lab import LIMIT, box_of_rectangles, cone, disc, flat, read_packed, rectangle, sphere

from renderer.kernels.layout import LENS, PackedScene
from renderer.kernels.lens import plate_reflectance
from renderer.scene.glasses import Glasses
from renderer.world.pack import pack

RADIUS, HALF = 0.105, 0.02
LENS_AT = np.array([0.0, 0.0, 0.0])  # its middle; it looks along +y
GLASS = Glasses().index


def lens(index: float = GLASS, radius: float = RADIUS) -> np.ndarray:
    """A round lens about LENS_AT (LENS, one)."""
    record = np.zeros(1, LENS)
    record["eta"], record["radius"], record["corner"] = index, radius, 2.0
    record["centre"] = LENS_AT - [0.0, radius, 0.0]
    record["u"], record["v"], record["w"] = (1, 0, 0), (0, 0, 1), (0, 1, 0)
    record["half_u"] = record["half_v"] = HALF
    record["middle"], record["reach"] = LENS_AT, 1.1 * HALF
    return record


def worn(scene: PackedScene, *lenses: np.ndarray) -> PackedScene:
    return scene._replace(lenses=np.concatenate(lenses))


def surface(cosine: float, index: float) -> tuple[float, float]:
    """Reflectance of one surface, along and across the plane of incidence, by the angles of Snell's law."""
    inside = math.sqrt(1.0 - (1.0 - cosine**2) / index**2)
    r_s = ((cosine - index * inside) / (cosine + index * inside)) ** 2
    r_p = ((index * cosine - inside) / (index * cosine + inside)) ** 2
    return r_p, r_s


def test_handbook_figures_of_a_plate() -> None:
    """n = 1.5: 4 % a surface, 92.3 % through a plate (optics handbooks); Brewster's angle passes all of one
    polarisation, whose plate then mirrors r / (1 + r) of the whole light; at grazing all is mirrored."""
    assert surface(1.0, 1.5)[0] == pytest.approx(0.04, abs=1e-12)
    assert 1.0 - plate_reflectance(1.5, 1.0) == pytest.approx(0.923, abs=5e-4)
    brewster = math.cos(math.atan(1.5))
    r_p, r_s = surface(brewster, 1.5)
    assert r_p == pytest.approx(0.0, abs=1e-12)
    assert plate_reflectance(1.5, brewster) == pytest.approx(r_s / (1.0 + r_s), rel=1e-12)
    assert plate_reflectance(1.5, 0.0) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("degrees", [0.0, 30.0, 60.0, 80.0])
def test_a_plate_is_its_two_surfaces_back_and_forth(degrees: float) -> None:
    """r + (1 - r) r (1 - r) + (1 - r) r^3 (1 - r) + ..., term by term."""
    cosine = math.cos(math.radians(degrees))
    total = 0.0
    for r in surface(cosine, 1.5):
        total += 0.5 * (r + sum((1.0 - r) ** 2 * r ** (2 * k + 1) for k in range(400)))
    assert plate_reflectance(1.5, cosine) == pytest.approx(total, rel=1e-9)


def test_words_for_a_coating_are_what_a_surface_mirrors() -> None:
    for word, share in (("uncoated", 0.04), ("coated", 0.005)):
        glasses = Glasses.model_validate({"lens_reflectance": word})
        assert surface(1.0, glasses.index)[0] == pytest.approx(share, rel=1e-12)
        assert plate_reflectance(glasses.index, 1.0) == pytest.approx(glasses.mirrors, rel=1e-12)


def test_uniform_light_hides_a_lens() -> None:
    """What it does not let through it mirrors: in light that is the same all round nothing of it is seen."""
    scene = worn(pack([box_of_rectangles(1.0, 500.0, 0.0)]), lens())
    looks = [cone((0.0, 0.5, 0.0), (x, -1.0, z), 0.0) for x, z in ((0, 0), (0.02, 0.01), (-0.03, 0.02))]
    found = read_packed(scene, looks, samples=4, replicas=2)
    for k in range(len(looks)):
        assert found.value(k) == pytest.approx(500.0, rel=1e-5)


def test_uniform_walls_hide_a_lens() -> None:
    """The same of light that has bounced, which some looks follow: white walls lit evenly."""
    scene = worn(pack([box_of_rectangles(1.0, 500.0, 0.5)]), lens())
    found = read_packed(scene, [cone((0.0, 0.5, 0.0), (0.02, -1.0, 0.01), 0.0)], samples=4096)
    assert abs(found.off(500.0 / (1.0 - 0.5))) < LIMIT


@pytest.mark.parametrize("degrees", [0.0, 40.0, 70.0])
def test_light_comes_through_straight_and_weakened(degrees: float) -> None:
    """A meter under a flat lens: the illuminance of a far small lamp, times what the plate lets through."""
    tilt = math.radians(degrees)
    way = np.array([math.sin(tilt), math.cos(tilt), 0.0])
    scene = pack([[sphere(100.0 * way, 0.5, 1e6)]])
    meter = flat((0.0, -0.001, 0.0), (0.0, 1.0, 0.0))
    bare = read_packed(scene, meter, samples=64)
    through = read_packed(worn(scene, lens(radius=100.0)), meter, samples=64)
    cosine = math.cos(tilt)
    passed = 1.0 - sum(r / (1.0 + r) for r in surface(cosine, 1.5))
    assert through.value() / bare.value() == pytest.approx(passed, rel=2e-3)


def test_two_lenses_let_through_the_square() -> None:
    second = lens()
    for name in ("centre", "middle"):
        second[name] += [0.0, -0.03, 0.0]
    lamp = [[disc((0.0, -1.0, 0.0), (0.0, 1.0, 0.0), 0.2, 800.0)]]
    look = cone((0.0, 0.5, 0.0), (0.0, -1.0, 0.0), 0.0)
    found = read_packed(worn(pack(lamp), lens(), second), look, samples=4, replicas=2)
    assert found.value() == pytest.approx(800.0 * (1.0 - plate_reflectance(1.5, 1.0)) ** 2, rel=1e-4)


def test_a_lamp_is_mirrored_with_its_luminance_times_that_of_the_plate() -> None:
    lamp = [[disc((0.0, 1.0, 0.0), (0.0, -1.0, 0.0), 0.3, 800.0)]]
    look = cone((0.0, 0.5, 0.0), (0.0, -1.0, 0.0), 0.0)
    found = read_packed(worn(pack(lamp), lens()), look, samples=4, replicas=2)
    assert found.value() == pytest.approx(800.0 * plate_reflectance(1.5, 1.0), rel=1e-5)


@pytest.mark.parametrize("away", [0.3, 1.0, 3.0])
def test_where_a_convex_mirror_shows_a_lamp(away: float) -> None:
    """1 / s + 1 / s' = -2 / R: the image of a lamp at s stands s R / (2 s + R) behind the mirror, and as much
    nearer to the axis as it is nearer to the mirror (textbook, paraxial)."""
    off, eye = 0.02 * away, 0.8
    scene = worn(pack([[sphere((off, away, 0.0), 0.001 * away, 1e4)]]), lens())
    behind = away * RADIUS / (2.0 * away + RADIUS)
    x = off * behind / away
    toward = x / (eye + behind)  # tangent of the angle at which the image is seen from the axis
    tangents = np.linspace(0.5 * toward, 1.5 * toward, 401)
    looks = np.concatenate([cone((0.0, eye, 0.0), (t, -1.0, 0.0), 0.0) for t in tangents])
    shown = read_packed(scene, looks, samples=1, replicas=2).totals()[0] > 0.0
    assert shown.any()
    assert float(tangents[shown].mean()) == pytest.approx(toward, rel=0.005)


def test_a_card_and_a_silvered_one_are_weakened_too() -> None:
    """Light thrown by a board through a lens onto a meter: all of it comes through the lens."""
    lamp = [[disc((0.0, 0.4, 0.3), (0.0, 1.0, -0.6), 0.05, 1e5)]]
    board = rectangle((0.0, 1.0, 0.0), (0.1, 0, 0), (0, 0, 0.1), (0, -1, 0), 0.0, reflectance=(0.8,) * 3)
    meter = flat((0.0, -0.0005, 0.0), (0.0, 1.0, 0.0))
    scene = pack(lamp, [board])
    bare = read_packed(scene, meter, samples=1024)
    through = read_packed(worn(scene, lens(radius=100.0)), meter, samples=1024)
    passed = 1.0 - plate_reflectance(1.5, 1.0)
    error = math.hypot(bare.error() / bare.value(), through.error() / through.value())
    assert abs(through.value() / bare.value() / passed - 1.0) < LIMIT * error + 2e-3
