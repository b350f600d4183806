"""Gels: mired arithmetic and stacking, their way from the scene into the mix, one line for each fault."""

from __future__ import annotations

import json
from itertools import pairwise

import numpy as np
import pytest

from renderer import colour
from renderer.errors import InputError
from renderer.film.mix import Fader
from renderer.scene.caution import cautions
from renderer.scene.gel import CLEAR, GRADES, WHITES, Gel, shift, stacked
from renderer.scene.layer import layers
from renderer.scene.load import loads
from renderer.scene.models import Scene
from renderer.scene.summary import summary

LAMP = '[light.key]\nsource = "bulb"\nat = [0, 1.5, 2]\ndiameter = 0.1\nlumens = 500\n'
ROOM = "[room]\nwidth = 4\ndepth = 5\nheight = 2.4\nback_wall = 2\n"
WINDOW = '[room.window.north]\nwall = "back"\ncentre = [0, 1]\nwidth = 1\nheight = 1\nlux = 10\n'
NAMES = ", ".join(GRADES)


def test_mired_shift_between_lamp_and_daylight() -> None:
    # Definition: 1e6 / 3200 = 312.5, 1e6 / 5600 = 178.571.
    assert shift(5600.0, 3200.0) == pytest.approx(133.929, abs=5e-4)
    assert Gel(shift(5600.0, 3200.0)).behind(5600.0) == pytest.approx(3200.0, abs=1e-9)
    assert Gel(-200.0).behind(5600.0) == float("inf")
    assert CLEAR.behind(5600.0) == 5600.0


@pytest.mark.parametrize(("name", "cct"), [("full_cooling", 5700), ("half_cooling", 4300)])
def test_cooling_grades(name: str, cct: float) -> None:
    # controlbooth.com, "CTB": 3200 K to 5700 and 4300 K, rounded to hundreds. Its 3300 K for an eighth would
    # be -9.5 mired; common practice has it twice as strong.
    assert GRADES[name].behind(3200.0) == pytest.approx(cct, abs=50.0)


def test_other_sourced_grades() -> None:
    assert GRADES["quarter_cooling"].behind(3200.0) == pytest.approx(3600.0, abs=50.0)  # controlbooth.com
    # J. Holben, TV Technology, "Color Temperature: The Battle Rages On": +159; so 5600 K comes to 2962 K.
    assert GRADES["full_warming"].behind(5600.0) == pytest.approx(2962.0, abs=0.5)


def test_grades_are_in_order() -> None:
    for way, sign in (("warming", 1.0), ("cooling", -1.0)):
        ladder = [GRADES[f"{step}_{way}"] for step in ("eighth", "quarter", "half", "full")]
        for weaker, stronger in pairwise(ladder):
            assert 0.0 < sign * weaker.mired < sign * stronger.mired
            assert 0.0 < weaker.stops < stronger.stops


def test_stacked_gels_add() -> None:
    both = stacked(["quarter_warming", Gel(20.0, 0.5)])
    assert both.mired == GRADES["quarter_warming"].mired + 20.0
    behind_one_then_the_other = Gel(20.0).behind(GRADES["quarter_warming"].behind(5600.0))
    assert both.behind(5600.0) == pytest.approx(behind_one_then_the_other, rel=1e-12)
    once, other = GRADES["quarter_warming"].transmission(), Gel(stops=0.5).transmission()
    assert both.transmission() == pytest.approx(once * other)
    assert stacked([]) == CLEAR
    assert Gel(stops=2.0).transmission() == 0.25


def fader_of(text: str) -> Fader:
    (layer,) = layers(loads(text))
    return Fader.of(layer)


def test_a_gel_reaches_the_mix() -> None:
    """Luminance falls by its stops alone, and the white is that of the shifted colour temperature."""
    plain = fader_of(LAMP + "dim = 0.5\n").weight()
    gelled = fader_of(LAMP + 'dim = 0.5\ngel = ["full_warming", { mired = 10, stops = 1 }]\n').weight()
    assert colour.luminance(plain) / colour.luminance(gelled) == pytest.approx(2.0 ** (2 / 3 + 1.0))
    cct = 1e6 / (1e6 / 5600.0 + 169.0)
    np.testing.assert_allclose(gelled, 0.5 * 2.0 ** -(5 / 3) * colour.rgb_of_cct(cct), rtol=1e-12)


def test_a_gel_and_factors_multiply() -> None:
    weight = fader_of(LAMP + "colour = [1, 0.5, 0.25]\ngel = { stops = 1 }\n").weight()
    np.testing.assert_allclose(weight, [0.5, 0.25, 0.125] * colour.rgb_of_cct(5600.0), rtol=1e-12)


def test_a_window_takes_a_gel() -> None:
    (layer,) = layers(loads(ROOM + WINDOW + 'gel = "full_warming"\n'))
    assert layer.white.behind == pytest.approx(1e6 / (1e6 / 6500.0 + 159.0))
    assert layer.white.factors == pytest.approx((2.0 ** -(2 / 3),) * 3)


def test_no_gel_changes_nothing() -> None:
    (layer,) = layers(loads(LAMP))
    assert (layer.white.behind, layer.white.factors) == (5600.0, (1.0, 1.0, 1.0))


def test_a_recorded_scene_is_the_same_scene() -> None:
    scene = loads(LAMP + 'gel = ["half_cooling", { mired = 10, stops = 1 }]\n')
    record = json.loads(json.dumps(scene.model_dump(mode="json", exclude_none=True)))
    assert Scene.model_validate(record).light["key"].gel == scene.light["key"].gel


def test_the_summary_says_what_it_does() -> None:
    text = " ".join(" ".join(summary(loads(LAMP + 'gel = "quarter_warming"\n'))).split())
    assert "5600 K through quarter_warming: 4122 K, 0.33 stop less" in text


def test_the_eye_is_spared_what_a_gel_costs() -> None:
    near = LAMP.replace("[0, 1.5, 2]", "[0.2, 1.5, 1.2]").replace("500", "1000")  # 10 100 cd/m2
    assert any("hard to look past" in line for line in cautions(loads(near)))
    assert not any("hard to look past" in line for line in cautions(loads(near + "gel = { stops = 0.5 }\n")))


def test_whites_are_those_of_the_colour_package() -> None:
    assert WHITES == colour.CCT_RANGE


FAULTS = {
    '"quater_warming"': f'expected {NAMES} or {{ mired, stops }}; got "quater_warming";'
    ' did you mean "quarter_warming"?',
    '["full_cooling", 3]': f"gel 2: expected {NAMES} or {{ mired, stops }}; got 3",
    "{ mired = 900 }": "mired: expected mired from -500 to 500; got 900",
    "{ stop = 1 }": 'unknown key "stop"; did you mean "stops"? (a gel has: mired, stops)',
    "{}": "expected mired, stops or both in the table; got none",
    '["full_cooling", "eighth_cooling"]': "leaves no white that is known (1000 to 25000 kelvin):"
    " expected -138 to 821 mired in all on 5600 kelvin; got -155",
}


@pytest.mark.parametrize("written", FAULTS)
def test_faults(written: str) -> None:
    with pytest.raises(InputError) as caught:
        loads(LAMP + f"gel = {written}\n", "s")
    assert caught.value.lines == (f"s:6: light.key.gel: {FAULTS[written]}",)


def test_a_fault_of_a_window() -> None:
    with pytest.raises(InputError) as caught:
        loads(ROOM + WINDOW + "gel = { mired = -200 }\n", "s")
    (line,) = caught.value.lines
    assert line.startswith("s:12: room.window.north.gel: leaves no white that is known")
