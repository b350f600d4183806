"""Catchlights against the convex mirror: where they sit, how large they are, when there is none."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest
from face_lab import EYES, THREADS, eyes_alone, text, tracer, under

from renderer.film.pool import Pool
from renderer.meter.face.catchlight import CELL, CORNEA, Catchlight, catchlights, clock_of
from renderer.meter.face.points import without_sitter
from renderer.scene.place import camera_place
from renderer.units import clock_words
from renderer.world.build import World

FAR = f"at = [0.0, 49.0, {EYES}]\naim = [0.0, 0.0, {EYES}]\n"


@pytest.fixture(scope="module")
def pool() -> Iterator[Pool]:
    with Pool(THREADS) as threads:
        yield threads


def glints(pool: Pool, world: World, side: str = "l") -> list[Catchlight]:
    mark = world.landmarks[f"pupil_{side}"]
    return catchlights(
        tracer(pool, world),
        world.packed,
        without_sitter(world.packed),
        camera_place(world.scene.camera),
        [layer.name for layer in world.layers],
        world.boards,
        side,
        mark.position,
        mark.normal,
    )


@pytest.mark.parametrize(
    ("angle", "offset"), [(15, 1.0181), (30, 2.0188), (45, 2.9849), (60, 3.9), (75, 4.7483), (90, 5.5154)]
)
def test_offset(pool: Pool, angle: float, offset: float) -> None:
    """R sin(A / 2) for a far camera on the axis and a far light at A: law of reflection on a sphere."""
    assert offset == pytest.approx(1000 * CORNEA * math.sin(math.radians(angle / 2)), abs=2e-4)
    world = eyes_alone(under(text(angle, 0.0, 20.0, 2.0, FAR)))
    (found,) = glints(pool, world)
    assert found.offset_mm == pytest.approx(offset, abs=0.5e3 * CELL)
    assert found.clock == pytest.approx(3.0, abs=0.05)


def test_last_angle_with_a_glint(pool: Pool) -> None:
    """2 asin(5.85 / 7.8) = 97.18 deg for an 11.7 mm cornea (same mirror)."""
    assert glints(pool, eyes_alone(under(text(94.0, 0.0, 20.0, 2.0, FAR))))
    assert not glints(pool, eyes_alone(under(text(100.0, 0.0, 20.0, 2.0, FAR))))


@pytest.mark.parametrize(
    ("azimuth", "elevation", "clock"),
    [(45, 30, "1:40"), (30, 35, "1:10"), (60, 20, "2:10"), (0, 45, "12:00")],
)
def test_clock(pool: Pool, azimuth: float, elevation: float, clock: str) -> None:
    """Own computation from the half vector of light and lens; five minutes either way are rounding."""
    world = eyes_alone(under(text(azimuth, elevation, 20.0, 2.0, FAR)))
    (found,) = glints(pool, world)
    hours, minutes = clock.split(":")
    wanted = int(hours) % 12 + int(minutes) / 60
    assert (found.clock - wanted + 6) % 12 - 6 == pytest.approx(0.0, abs=5.1 / 60)


def test_clock_words() -> None:
    assert clock_words(clock_of(0.0, 1.0)) == "12:00" and clock_words(clock_of(1.0, 0.0)) == "3:00"
    assert (
        clock_words(clock_of(-1.0, 0.0)) == "9:00"
        and clock_words(1.66) == "1:40"
        and clock_words(11.99) == "12:00"
    )


def mirrored_area(
    world: World, centre: np.ndarray, across: np.ndarray, upward: np.ndarray, radius: float
) -> float:
    """Area [m2] of the image of a round disc in the left cornea, square to the line of sight: the law of
    reflection solved for every point of the rim by the half vector."""
    mark = world.landmarks["pupil_l"]
    ball = mark.position - CORNEA * mark.normal
    lens = np.array(world.scene.camera.at)
    turn = np.linspace(0.0, 2.0 * math.pi, 721)
    rim = centre + radius * (np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * upward)
    point = np.broadcast_to(mark.position, rim.shape)
    for _ in range(60):
        half = (lens - point) / np.linalg.norm(lens - point, axis=1)[:, None]
        half = half + (rim - point) / np.linalg.norm(rim - point, axis=1)[:, None]
        point = ball + CORNEA * half / np.linalg.norm(half, axis=1)[:, None]
    sight = (lens - ball) / np.linalg.norm(lens - ball)
    u = np.cross(sight, [0.0, 0.0, 1.0])
    u /= np.linalg.norm(u)
    v = np.cross(sight, u)
    x, y = (point - ball) @ u, (point - ball) @ v
    return 0.5 * abs(float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])))


@pytest.mark.parametrize(
    ("diameter", "distance", "percent"),
    [(0.6, 1.2, 16.0), (0.9, 0.9, 31.0), (0.3, 1.8, 6.0), (0.06, 1.4, 1.4)],
)
def test_size(pool: Pool, diameter: float, distance: float, percent: float) -> None:
    """Against the exact image; the parts of the iris are those of a source square to the eye (own table)."""
    lift = math.radians(32.0)
    at = np.array([0.0315, distance * math.cos(lift), EYES + distance * math.sin(lift)])
    scene = (
        f"[sitter]\neye_height = {EYES}\n[camera]\n[light.key]\n"
        f'source = "disc"\ndiameter = {diameter}\nlumens = 1000\n'
        f"at = [{at[0]}, {at[1]}, {at[2]}]\naim = [0.0315, 0.0, {EYES}]\n"
    )
    world = eyes_alone(under(scene))
    (found,) = glints(pool, world)
    normal = np.array([0.0, -math.cos(lift), -math.sin(lift)])
    upward = np.cross([1.0, 0.0, 0.0], normal)
    area = mirrored_area(world, at, np.array([1.0, 0.0, 0.0]), upward, diameter / 2)
    exact = 2000.0 * math.sqrt(area / math.pi)
    assert found.size_mm == pytest.approx(exact, abs=min(1e3 * CELL / 2, 0.1 * exact))
    assert found.iris_percent == pytest.approx(percent, abs=1.5 + 0.03 * percent)


def test_the_lid_clips_what_stands_high(pool: Pool) -> None:
    """A soft source at 50 degrees stands partly under the lid (glint over 4 mm up), one at 15 does not."""
    low = glints(pool, under(text(0.0, 15.0, 1.2, 0.3)))
    high = glints(pool, under(text(0.0, 52.0, 1.2, 0.3)))
    assert low[0].clipped < 0.02
    assert not high or high[0].clipped > 0.2


def test_a_card_is_seen_in_the_eye(pool: Pool) -> None:
    """A white card below is a second, weaker image under the pupil; by Lambert its luminance is rho E / pi,
    and E of a ball of even luminance is I cos / d^2 at any distance."""
    lamp = text(0.0, 35.0, 3.0, 0.3)
    reflectance = 0.8
    card = (
        f"[card.fill]\nwidth = 0.5\nheight = 0.4\nat = [0.0, 0.45, {EYES - 0.35}]\naim = [0.0, 0.45, 3.0]\n"
        f"reflectance = {reflectance}\n"
    )
    world = eyes_alone(under(lamp + card))
    images = {it.light: it for it in glints(pool, world)}
    assert set(images) == {"key", "card.fill"}
    fill = images["card.fill"]
    assert 4.5 < fill.clock < 7.5 and images["key"].clock == pytest.approx(12.0, abs=0.5)
    shape = next(number for number, name in world.boards.items() if name == "card.fill")
    it = world.packed.shapes[shape]
    lift = math.radians(35.0)
    to_lamp = np.array([0.0, 3.0 * math.cos(lift), EYES + 3.0 * math.sin(lift)]) - it["centre"]
    d = float(np.linalg.norm(to_lamp))
    lux = 1000.0 / (4.0 * math.pi) * float(it["w"] @ to_lamp) / d**3
    # over the part of the card that is mirrored the distance to the lamp changes by a few per cent
    assert fill.luminance[0] == pytest.approx(reflectance * lux / math.pi, rel=0.1)
    black = under(lamp + card.replace(f"{reflectance}", "0.04"))
    assert {it.light for it in glints(pool, eyes_alone(black))} == {"key"}
