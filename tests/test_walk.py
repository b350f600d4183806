"""The potter's workshop set up step by step: each step does what practice expects of it.

Common practice, no source; what is asserted is the direction of an effect, by more than its error, and for
some how large it is at least. The scenes are invented; the figures are listed in scenes/README.md.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest

from renderer.meter.face.finding import Finding
from renderer.meter.numbers import Numbers
from renderer.preview import Preview
from renderer.scene.load import load

SCENES = Path(__file__).parents[1] / "scenes"
SEEDS = 6
EYES = ("sitter_left", "sitter_right")


@cache
def metered(name: str, seed: int = 1) -> Preview:
    return Preview.trace(load(SCENES / f"potter-{name}.toml"), within=0.02, picture=False, seed=seed)


def stops(numbers: Numbers) -> tuple[float, float]:
    ratio = numbers.measures["lighting_ratio_stops"]
    return ratio.value, ratio.error


def wall(numbers: Numbers) -> tuple[float, float]:
    """The back wall re the key-side cheek, incident, in stops."""
    back, cheek = numbers.marks["back_wall"].over_exposure, numbers.marks["key_cheek"].over_exposure
    return back.value - cheek.value, math.hypot(back.error, cheek.error)


def face(name: str, measure: str, seed: int = 1) -> Finding:
    found = metered(name, seed).numbers().face
    assert found is not None
    return found.findings[measure]


def repeated(name: str, measure: str, seeds: int) -> tuple[float, float]:
    """The mean of so many tracings, where one scatters too much beside what it is to show."""
    found = [face(name, measure, seed) for seed in range(1, seeds + 1)]
    error = math.hypot(*(it.error for it in found)) / seeds
    return sum(it.number for it in found) / seeds, error


def shade(name: str) -> tuple[float, float]:
    """The darker eye re the cheek below it, in stops, which scatter by a tenth."""
    return min(repeated(name, f"eye_shade.{eye}", SEEDS) for eye in EYES)


def rises(before: tuple[float, float], after: tuple[float, float], least: float = 0.0) -> None:
    """By more than `least` and three standard errors."""
    gain, error = after[0] - before[0], math.hypot(before[1], after[1])
    assert gain > least + 3.0 * error, (before, after)


def test_the_work_lamp_alone_leaves_the_eyes_dark() -> None:
    lamp, key = shade("15-work-lamp"), shade("11-diffuser")
    rises(lamp, key, 0.3)
    assert metered("15-work-lamp").numbers().marks["face"].over_exposure.value < -1.0


def test_a_diffuser_before_the_hard_head() -> None:
    """Wider shadow edges, a larger catchlight, more spill: the ratio falls in a pale room."""
    for edge in ("edge.nose", "edge.jaw"):
        hard, soft = face("7-hard-key", edge), face("11-diffuser", edge)
        rises((hard.number, hard.error), (soft.number, soft.error), 1.0)
    for eye in EYES:
        small, large = (face(name, f"catchlight_size.{eye}").number for name in ("7-hard-key", "11-diffuser"))
        assert large > 5.0 * small
    hard, soft = metered("7-hard-key").numbers(), metered("11-diffuser").numbers()
    rises(stops(soft), stops(hard), 1.0)
    rises(wall(hard), wall(soft), 1.0)


def test_a_card_opens_the_shadow_side_and_leaves_the_wall() -> None:
    without, with_card = metered("11-diffuser").numbers(), metered("12-diffuser-card").numbers()
    rises(stops(with_card), stops(without), 0.1)
    (a, ea), (b, eb) = wall(without), wall(with_card)
    assert abs(a - b) < 0.1 + 3.0 * math.hypot(ea, eb)
    assert face("12-diffuser-card", "catchlights").number == face("11-diffuser", "catchlights").number + 1.0


def test_an_unskirted_cylinder_behind_lifts_the_room_and_goes_with_its_dimmer() -> None:
    alone, full = metered("12-diffuser-card").numbers(), metered("13-cylinder-behind").numbers()
    dimmed = metered("13-cylinder-behind").mixed(dim={"behind": 0.25}).numbers()
    off = metered("13-cylinder-behind").mixed(mute=["behind"]).numbers()
    rises(stops(full), stops(dimmed), 0.2)
    rises(stops(dimmed), stops(off))
    rises(wall(dimmed), wall(full), 0.4)
    rises(wall(off), wall(dimmed))
    assert stops(off)[0] == pytest.approx(
        stops(alone)[0], abs=4.0 * math.hypot(stops(off)[1], stops(alone)[1])
    )
    rim = face("13-cylinder-behind", "rim_on_nose")
    assert "stays clear" in rim.why


def test_skirts_take_the_key_off_the_wall_and_give_the_room_less_to_fill_with() -> None:
    bare, one, two = (metered(name).numbers() for name in ("1-bare", "2-one-skirt", "3-two-skirts"))
    drop = metered("4-drop").numbers()
    rises(wall(one), wall(bare), 0.3)
    rises(wall(two), wall(one), 0.2)
    rises(wall(drop), wall(two), 0.5)
    rises(stops(bare), stops(one))
    rises(stops(one), stops(two))
    # the face keeps its light: silver sends back to the bottom what the side no longer lets out
    levels = [numbers.marks["key_cheek"].over_exposure.value for numbers in (bare, one, two)]
    assert max(levels) - min(levels) < 0.25


def test_a_breakup_patterns_the_wall_and_leaves_the_face_alone() -> None:
    plain, broken = metered("2-one-skirt").numbers(), metered("14-breakup").numbers()
    rises(wall(plain), wall(broken), 0.3)
    a, b = stops(plain), stops(broken)
    assert abs(a[0] - b[0]) < 0.15 + 3.0 * math.hypot(a[1], b[1])
    for eye in EYES:
        assert face("14-breakup", "catchlights").number >= face("2-one-skirt", "catchlights").number, eye


def test_moved_towards_the_camera_the_eyes_come_up() -> None:
    rises(shade("3-two-skirts"), shade("5-forward"), 0.1)
    for eye in EYES:
        assert (
            face("5-forward", f"brow_margin.{eye}").number
            > face("3-two-skirts", f"brow_margin.{eye}").number + 3.0
        )
    before, after = face("3-two-skirts", "under_chin"), face("5-forward", "under_chin")
    rises((before.number, before.error), (after.number, after.error))


def test_a_card_below_opens_chin_and_ratio() -> None:
    rises(repeated("3-two-skirts", "under_chin", 3), repeated("6-card", "under_chin", 3), 0.1)
    rises(stops(metered("6-card").numbers()), stops(metered("3-two-skirts").numbers()), 0.1)
    assert face("6-card", "catchlights").number == face("3-two-skirts", "catchlights").number + 1.0
