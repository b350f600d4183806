"""Light in the eyes: the brow's cut-off, shade by height, and what the head hides."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from face_lab import THREADS, head, text, tracer, under

from renderer.film.pool import Pool
from renderer.meter.face import measure
from renderer.meter.face.eye import OFF_EYE, brow_margin, cut_off
from renderer.meter.face.points import without_sitter
from renderer.meter.face.surface import Head


@pytest.fixture(scope="module")
def pool() -> Iterator[Pool]:
    with Pool(THREADS) as threads:
        yield threads


def cornea(side: str) -> np.ndarray:
    mark = head().landmarks[f"pupil_{side}"]
    return mark.position + OFF_EYE * mark.normal


@pytest.mark.parametrize("side", ["l", "r"])
def test_cut_off_of_a_usual_brow(pool: Pool, side: str) -> None:
    """60 to 68 degrees for a brow 20 mm up and 8 to 10 mm out (from that geometry: atan(20 / 9) = 66)."""
    world = head()
    found = cut_off(tracer(pool, world), world.packed, Head.of(world), cornea(side), 0.0)
    assert 58.0 <= found <= 70.0


@pytest.mark.parametrize("side", ["l", "r"])
@pytest.mark.parametrize("azimuth", [-30.0, 0.0, 30.0])
def test_cut_off_is_where_the_light_goes(pool: Pool, side: str, azimuth: float) -> None:
    """A small lamp just under the cut-off lights the cornea, one just above does not."""
    world = head()
    frame = Head.of(world)
    at, gaze = cornea(side), world.landmarks[f"pupil_{side}"].normal
    limit = cut_off(tracer(pool, world), world.packed, frame, at, azimuth)
    for step, lit in ((-3.0, True), (2.0, False)):
        shone = under(text(azimuth, limit + step, 40.0, 0.2))
        share, _ = tracer(pool, shone).visibility(shone.packed, 0, at[None], gaze[None], 32)
        assert bool(share[0] > 0.5) is lit


def test_margin_counts_the_lower_edge(pool: Pool) -> None:
    """A ball of 0.5 m at 1.5 m and 40 degrees: its lower edge stands asin(0.25 / 1.5) = 9.6 degrees lower."""
    world = under(text(0.0, 40.0, 1.5, 0.5))
    frame, bare = Head.of(world), without_sitter(world.packed)
    found = brow_margin(
        tracer(pool, world), world.packed, bare, frame, 0, world.landmarks["pupil_l"].position
    )
    assert found is not None
    assert found.lower_edge == pytest.approx(40.0 - 9.6, abs=1.0)
    assert found.margin == found.cut_off - found.lower_edge


def test_eyes_darken_as_the_lamp_rises(pool: Pool) -> None:
    """Lit (over -1) at 30 degrees, dark (under -2) at 75: common practice, no source."""
    shade = []
    for elevation in (15.0, 30.0, 50.0, 75.0):
        found = measure(under(text(0.0, elevation)), pool)
        assert found is not None
        shade.append(found.findings["eye_shade.sitter_left"].number)
    assert shade == sorted(shade, reverse=True)
    assert shade[1] > -1.0 and shade[3] < -2.0


def test_chin_shadow_deepens_as_the_lamp_rises(pool: Pool) -> None:
    """Nothing under the chin is darker than the chin at 0 degrees; a high lamp leaves it dark."""
    levels = []
    for elevation in (0.0, 30.0, 60.0):
        found = measure(under(text(0.0, elevation)), pool)
        assert found is not None
        levels.append(found.findings["under_chin"].number)
    assert levels == sorted(levels, reverse=True) and levels[0] > -0.7 and levels[2] < -2.0
