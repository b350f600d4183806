"""What every lighting cameraman knows, on the bundled head. All of it common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from light_lab import LIMIT, Reading, flat, read_packed, standard_error

from renderer.scene.load import loads
from renderer.world.build import World, build

ROOM = """
[room]
width = 3.6
depth = 4.2
height = 2.4
back_wall = 1.5
[room.reflectance]
floor = 0.25
ceiling = 0.8
back = 0.6
front = 0.75
camera_left = 0.75
camera_right = 0.75
"""
LANTERN = """
[light.key]
source = "cylinder"
around = {{ azimuth = 45, distance = 0.9, height = 1.8 }}
diameter = 0.5
length = 0.4
lumens = 3000
{skirts}
"""
AWAY = "[[light.key.skirt]]\ncovers = [90, 270]\n"
TOWARDS = "[[light.key.skirt]]\ncovers = [-90, 90]\n"
CARD = """
[card.fill]
around = { azimuth = -60, distance = 0.45, height = 1.15 }
width = 0.8
height = 0.8
reflectance = 0.9
"""
OFF_SKIN = 0.003  # m


def disc_at(place: tuple[float, float, float], diameter: float = 0.4) -> str:
    return f"""
[light.key]
source = "disc"
at = {list(place)}
diameter = {diameter}
lumens = 3000
"""


@cache
def world_of(text: str) -> World:
    return build(loads(text))


@dataclass(frozen=True)
class Level:
    """Illuminance [lux], replicas."""

    replicas: np.ndarray

    def stops_over(self, other: Level) -> tuple[float, float]:
        """Difference in stops and its standard error."""
        relative = [standard_error(x.replicas) / x.replicas.mean() for x in (self, other)]
        return float(np.log2(self.replicas.mean() / other.replicas.mean())), float(
            np.hypot(*relative) / np.log(2.0)
        )


def more(one: Level, other: Level, stops: float) -> bool:
    """Whether one is over the other by more than `stops`, beyond the error."""
    gap, error = one.stops_over(other)
    print(f"{gap:+.2f} stops, standard error {error:.3f}")
    return gap - LIMIT * error > stops


def within(one: Level, other: Level, stops: float) -> bool:
    """Whether one is no further from the other than `stops`, beyond the error."""
    gap, error = one.stops_over(other)
    print(f"{gap:+.2f} stops, standard error {error:.3f}")
    return abs(gap) + LIMIT * error < stops


def levels(text: str, probes: list[np.ndarray], samples: int = 2048) -> tuple[Reading, list[Level]]:
    reading = read_packed(world_of(text).packed, probes, samples)
    return reading, [Level(reading.totals()[:, k]) for k in range(len(probes))]


def on_skin(text: str, *names: str) -> list[np.ndarray]:
    """Flat receptors just off the named landmarks, facing as the skin does there."""
    marks = world_of(text).landmarks
    return [flat(marks[n].position + OFF_SKIN * marks[n].normal, marks[n].normal) for n in names]


def shadow_edge(diameter: float) -> float:
    """Width [m] from 10 to 90 per cent of the outer edge of the head's shadow on a plane 0.5 m behind."""
    text = disc_at((1.2, 1.2, 1.5), diameter)
    places = np.linspace(-1.0, -0.2, 81)
    probes = [flat((x, -0.5, 1.1), (0, 1, 0)) for x in places]
    _, lit = levels(text, probes, 128)
    bare, _ = levels(text + '[sitter]\nmesh = "none"\n', probes, 128)
    share = np.array([level.replicas.mean() for level in lit]) / bare.totals().mean(axis=0)
    assert share[0] > 0.99  # from open light
    first_dark = int(np.argmax(share < 0.02))
    assert share[first_dark] < 0.02  # into the core of the shadow
    falling = share[: first_dark + 1][::-1]
    low, high = np.interp([0.1, 0.9], falling, places[: first_dark + 1][::-1])
    return float(low - high)


def test_a_larger_source_in_the_same_place_softens_the_edge_of_the_shadow() -> None:
    small, large = shadow_edge(0.1), shadow_edge(0.4)
    print(f"edge {small * 100:.1f} cm from 0.1 m, {large * 100:.1f} cm from 0.4 m")
    assert large > 2.0 * small


def test_light_from_straight_above_leaves_the_eyes_dark_and_coming_forward_lights_them() -> None:
    above, forward = disc_at((0.0, 0.0, 2.4)), disc_at((0.0, 1.0, 2.0))
    names = ("pupil_l", "pupil_r", "forehead_centre", "malar_l")
    eyes_above, right_above, forehead, cheek = levels(above, on_skin(above, *names))[1]
    eyes_forward, right_forward, forehead_forward, _ = levels(forward, on_skin(forward, *names))[1]
    for eye in (eyes_above, right_above):
        assert more(cheek, eye, 1.0)
    # the eyes come up against the forehead by more than two stops
    for dark, light in ((eyes_above, eyes_forward), (right_above, right_forward)):
        gap = forehead.stops_over(dark)[0] - forehead_forward.stops_over(light)[0]
        print(f"against the forehead the eye gains {gap:.2f} stops")
        assert gap > 2.0
        assert within(forehead_forward, light, 1.5)


def test_a_skirt_takes_light_off_the_wall_behind_it_and_leaves_the_key_side() -> None:
    """The half of the lantern that looks away from the sitter is covered."""
    bare, skirted = ROOM + LANTERN.format(skirts=""), ROOM + LANTERN.format(skirts=AWAY)
    wall = flat((1.79, 0.9, 1.6), (-1, 0, 0))
    found = [levels(text, [wall, *on_skin(text, "malar_l")])[1] for text in (bare, skirted)]
    (wall_bare, cheek_bare), (wall_skirted, cheek_skirted) = found
    assert more(wall_bare, wall_skirted, 1.0)
    assert within(cheek_bare, cheek_skirted, 1.0 / 3.0)


def test_two_skirts_leave_only_the_bottom() -> None:
    text = ROOM + LANTERN.format(skirts=AWAY + TOWARDS)
    lamp = np.array([0.9 * np.sin(np.pi / 4), 0.9 * np.cos(np.pi / 4), 1.8])
    around = [lamp + 0.6 * np.array(d) for d in ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0))]
    probes = [*(flat(at, lamp - at) for at in around), flat(lamp - (0, 0, 1.0), (0, 0, 1))]
    reading, _ = levels(text, probes)
    straight = reading.totals(0)
    assert straight[:, :4].max() == 0.0
    assert straight[:, 4].min() > 0.0
    assert reading.totals(1)[:, :4].min() > 0.0  # what comes back from the room


def test_a_white_card_opens_the_shadow_side() -> None:
    bare = ROOM + LANTERN.format(skirts=AWAY)
    found = [levels(text, on_skin(text, "malar_r", "malar_l"))[1] for text in (bare, bare + CARD)]
    (shadow, key), (shadow_carded, key_carded) = found
    assert more(shadow_carded, shadow, 0.3)
    assert within(key_carded, key, 0.15)


def test_half_the_distance_is_two_stops() -> None:
    """For a source small against its distance: a tenth of a stop off at five diameters."""
    far, near = disc_at((0.0, 2.1, 1.2), 0.1), disc_at((0.0, 1.1, 1.2), 0.1)
    meter = flat((0.0, 0.1, 1.2), (0, 1, 0))
    (one,), (other,) = (levels(text, [meter])[1] for text in (far, near))
    gap, error = other.stops_over(one)
    assert abs(gap - 2.0) <= LIMIT * error + 1.0 / (4.0 * 10.0**2) / np.log(2.0)
