"""Names of shadow patterns for a small lamp walked round the face, against the angles of practice.

Where one pattern goes over into the next is common practice (no source); the angles here are those that
teachers give, and faces differ, so each comes with the tolerance that is stated beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import numpy as np
import pytest
from face_lab import THREADS, head, text, tracer, under

from renderer.film.pool import Pool
from renderer.meter.face import geometry, visibility
from renderer.meter.face.nose import nose_shadow
from renderer.meter.face.pattern import Pattern, by_angle, classify
from renderer.meter.face.points import without_sitter
from renderer.meter.face.region import label
from renderer.meter.face.surface import Grid, Head, front


@pytest.fixture(scope="module")
def pool() -> Iterator[Pool]:
    with Pool(THREADS) as threads:
        yield threads


@cache
def grid() -> Grid:
    return front(head(), Head.of(head()), visibility.STEP, visibility.WIDTH, visibility.HEIGHT)


def pattern(
    pool: Pool, azimuth: float, elevation: float, distance: float = 1.5, diameter: float = 0.04
) -> Pattern:
    world = under(text(azimuth, elevation, distance, diameter))
    frame, trace = Head.of(world), tracer(pool, world)
    place = geometry.key_place(trace, world, without_sitter(world.packed), frame, 0)
    assert place is not None
    assert place.azimuth == pytest.approx(azimuth, abs=0.3) and place.elevation == pytest.approx(
        elevation, abs=0.3
    )
    maps = visibility.shadows(trace, world, frame, grid(), 0)
    points = geometry.points_of(world, frame)
    nose = nose_shadow(maps, points, place.shadow_side)
    size = place.source.angular_size
    return classify(maps, points, nose, place.azimuth, place.elevation, size, place.shadow_side)


# The heart of each pattern, at least 8 degrees inside its borders.
HEART = [
    *((0.0, z, "flat") for z in (0.0, 10.0)),
    *((0.0, z, "butterfly") for z in (35.0, 45.0, 55.0)),
    *((y, z, "loop") for y, z in ((22.0, 35.0), (30.0, 35.0), (25.0, 45.0))),
    *((y, z, "triangle") for y, z in ((48.0, 40.0), (55.0, 40.0), (50.0, 45.0))),
    *((y, z, "split") for y, z in ((88.0, 0.0), (88.0, 15.0))),
    *((y, z, "under") for y, z in ((0.0, -20.0), (40.0, -20.0))),
    *((y, z, "rim") for y, z in ((150.0, 20.0), (170.0, 45.0))),
]


@pytest.mark.parametrize(("azimuth", "elevation", "name"), HEART)
def test_heart_of_a_pattern(pool: Pool, azimuth: float, elevation: float, name: str) -> None:
    found = pattern(pool, azimuth, elevation)
    assert found.name == name, found.why
    assert found.by == "shape" and by_angle(azimuth, elevation) == name


@pytest.mark.parametrize(
    ("azimuth", "elevation", "name"), [case for case in HEART if case[0] in (30.0, 48.0, 88.0)]
)
def test_other_side_of_the_face(pool: Pool, azimuth: float, elevation: float, name: str) -> None:
    assert pattern(pool, -azimuth, elevation).name == name


def test_walk_round_the_face(pool: Pool) -> None:
    """At 35 degrees up: butterfly to loop at 11 +-5, triangle from 41 +-8 to 67 +-8, split from 78 +-8."""
    walk = [*range(0, 21, 5), *range(30, 91, 5), 110]
    names = {azimuth: pattern(pool, float(azimuth), 35.0).name for azimuth in walk}
    by_name = {name: [a for a, n in names.items() if n == name] for name in set(names.values())}
    in_order = [name for i, name in enumerate(names.values()) if i == 0 or name != names[walk[i - 1]]]
    named = [name for name in in_order if name != "mixed"]
    assert named == ["butterfly", "loop", "triangle", "split"], names
    assert abs(by_name["loop"][0] - 2.5 - 11.0) <= 5.0, names
    assert abs(by_name["triangle"][0] - 2.5 - 41.0) <= 8.0, names
    assert abs(by_name["triangle"][-1] + 2.5 - 67.0) <= 8.0, names
    assert abs(by_name["split"][0] - 2.5 - 78.0) <= 8.0, names
    assert by_name["split"][-1] <= 110.0, names


def test_walk_up_the_middle(pool: Pool) -> None:
    """Straight ahead: under to flat at -10 +-5, flat to butterfly at 22 +-5, butterfly up to 65."""
    names = {z: pattern(pool, 0.0, float(z)).name for z in range(-20, 71, 10)}
    assert [names[z] for z in (-20, 0, 10)] == ["under", "flat", "flat"], names
    assert [names[z] for z in (30, 40, 50, 60)] == ["butterfly"] * 4, names


@pytest.mark.parametrize("azimuth", [0.0, 45.0])
def test_straight_overhead_is_no_pattern_of_a_key_before_the_face(pool: Pool, azimuth: float) -> None:
    """Dark sockets, a nose shadow over the mouth: practice has no name of its own for it."""
    found = pattern(pool, azimuth, 86.0)
    assert found.name == "mixed" and "over the head" in found.why


def test_walk_up_the_side(pool: Pool) -> None:
    """At 30 degrees round: no loop from the level of the eyes, a loop from 18 +-10 up to 50 +-10."""
    names = {z: pattern(pool, 30.0, float(z)).name for z in range(0, 71, 10)}
    loops = [z for z, name in names.items() if name == "loop"]
    assert 10 <= loops[0] <= 28 and 40 <= loops[-1] <= 60, names
    assert names[0] == "mixed" and names[70] == "mixed", names


def test_a_shadow_too_soft_is_named_by_angle() -> None:
    """A source over 40 degrees whose nose shadow has no core: the shape cannot name the pattern."""
    size = (len(grid().z), len(grid().y))
    face = grid().face(-0.11)
    even = visibility.Shadows(grid(), face, np.where(face, 0.8, 1.0), np.where(face, 100.0, 0.0))
    assert face.shape == size
    points = geometry.points_of(head(), Head.of(head()))
    nose = nose_shadow(even, points, -1.0)
    assert not nose.exists and nose.deepest == pytest.approx(0.8)
    found = classify(even, points, nose, 30.0, 35.0, 55.0, -1.0)
    assert (found.name, found.by) == ("loop", "angle")
    assert found.why == "by angle; shadow too soft to close (deepest V = 0.80)"
    assert classify(even, points, nose, 30.0, 35.0, 20.0, -1.0).name == "mixed"


def test_mixed_says_what_failed(pool: Pool) -> None:
    found = pattern(pool, 100.0, 20.0)
    assert found.name == "mixed" and "mm" in found.why and "nearest is" in found.why


def test_regions_are_those_of_a_library():
    """Against scipy.ndimage.label, which numbers them otherwise: the same nodes belong together."""
    from scipy import ndimage

    rng = np.random.default_rng(3)
    for share in (0.0, 0.35, 0.55, 0.65, 0.9, 1.0):
        for shape in ((40, 50), (1, 9), (9, 1), (3, 3)):
            mask = rng.random(shape) < share
            own, theirs = label(mask), ndimage.label(mask)[0]
            assert ((own > 0) == mask).all()
            pairs = set(zip(own[mask].tolist(), theirs[mask].tolist(), strict=True))
            assert len(pairs) == len(set(own[mask].tolist())) == theirs.max()
