"""Things that stand in each other's place: valid for the tracer, but no stand could put them there."""

from __future__ import annotations

import pytest

from renderer.scene.caution import cautions
from renderer.scene.load import loads

PANEL = '[light.key]\nsource = "panel"\nat = [0, 1.5, 1.8]\naim = [0, 0, 1.8]\nwidth = 0.6\nheight = 0.4\n'
PANEL += "lumens = 900\n"
BULB = '[light.top]\nsource = "bulb"\nat = {at}\ndiameter = 0.1\nlumens = 500\n'
CARD = "[card.white]\nat = {at}\naim = [0, 0, 1.8]\nwidth = 0.3\nheight = 0.3\n"
FLAG = "[flag.side]\nat = {at}\naim = [0, 0, 1.2]\ndiameter = 0.5\n"


@pytest.mark.parametrize(
    ("at", "warned"), [("[0, 1.5, 1.8]", True), ("[0.005, 1.5, 1.8]", True), ("[0.3, 1.5, 1.8]", False)]
)
def test_two_lights_in_one_place(at: str, warned: bool) -> None:
    expected = "light.top: stands where light.key does; move one of the two"
    assert (expected in cautions(loads(PANEL + BULB.format(at=at)))) == warned


@pytest.mark.parametrize(
    ("at", "aim", "warned"),
    [
        ("[0.1, 1.5, 1.9]", "[0.1, 0, 1.9]", True),  # in it
        ("[0.1, 1.45, 1.9]", "[0.1, 0, 1.9]", False),  # before it
        ("[0.7, 1.5, 1.8]", "[0.7, 0, 1.8]", False),  # in its plane, beside it
        ("[0.1, 1.5, 1.9]", "[2, 0, 1.9]", False),  # through it, askew
    ],
)
def test_a_card_in_the_face_of_a_light(at: str, aim: str, warned: bool) -> None:
    lines = cautions(loads(PANEL + CARD.format(at=at).replace("[0, 0, 1.8]", aim)))
    assert any("card.white: lies in the face of light.key" in line for line in lines) == warned


@pytest.mark.parametrize(
    ("at", "warned"), [("[0.1, 2.0, 1.2]", True), ("[0.1, 1.9, 1.2]", False), ("[0.6, 2, 1.2]", False)]
)
def test_a_flag_round_the_lens(at: str, warned: bool) -> None:
    """The lens stands at [0, 2, 1.2] unless told."""
    upright = PANEL + FLAG.format(at=at).replace("[0, 0, 1.2]", f"[{at[1:].split(',')[0]}, 0, 1.2]")
    assert any("flag.side: the lens is in it" in line for line in cautions(loads(upright))) == warned


def test_a_target_of_spectacles_that_nobody_wears() -> None:
    text = PANEL + "[target]\nglare_pupil_max = 0\n"
    told = "target.glare_pupil_max: the sitter wears no spectacles to judge it by; write [sitter.glasses]"
    assert told in cautions(loads(text))
    assert told not in cautions(loads(text + "[sitter.glasses]\n"))
