"""The rig of a scene: heights, line of sight, circuits, what is said, and one line for each fault."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from renderer.cli import main
from renderer.errors import InputError
from renderer.rigging.report import Rig, rig
from renderer.scene.load import loads

ROOM = "[room]\nwidth = 4\ndepth = 5\nheight = 2.4\nback_wall = 2\n"
DRUM = (
    '[light.key]\nsource = "cylinder"\nat = [0.25, 0.55, 2.025]\ndiameter = 0.55\nlength = 0.35\n'
    'lumens = 1100\nwatts = 300\ncircuit = "wall"\n'
)
LOW = '[light.low]\nsource = "bulb"\nat = [0, 1.8, 1.2]\ndiameter = 0.1\nluminance = 8000\ndim = 0.5\n'
WALL = "[circuit.wall]\nvolts = 120\namps = 15\n"
STAND = "[support.key]\nlegs_radius = 0.5\nmass = 8\nload = 6\nheight = 2.3\n"
BOOM = "boom = { arm = 1.8, mass = 3, centre = 0.6, counterweight_arm = 0.7 }\n"
SCENE = ROOM + DRUM + LOW + WALL + STAND + BOOM


def rig_of(text: str, lux: float | None = None) -> Rig:
    return rig(loads(text), lux)


def lines_of(text: str, lux: float | None = None) -> str:
    scene = loads(text)
    return " ".join(" ".join(rig(scene, lux).lines(scene)).split())


def test_heights() -> None:
    # A drum of 0.35 m with its middle at 2.025 m under 2.4 m; hair to 0.125 m over the eyes at 1.2 m.
    found = rig_of(SCENE).clearances["light.key"]
    assert found.lowest == pytest.approx(1.85)
    assert found.highest == pytest.approx(2.2)
    assert found.over_head == pytest.approx(1.85 - 1.2 - 0.125)
    assert found.to_ceiling == pytest.approx(0.2)
    assert rig_of(SCENE).clearances["light.low"].over_head is None  # 1.75 m away, at eye height


def test_a_skirt_that_hangs_down_is_the_lowest_part() -> None:
    skirt = "[[light.key.skirt]]\ncovers = [-90, 90]\ndrop = 0.15\n"
    assert rig_of(ROOM + DRUM + skirt + WALL).clearances["light.key"].lowest == pytest.approx(1.70)


def test_open_space_has_no_ceiling() -> None:
    assert rig_of(LOW).clearances["light.low"].to_ceiling is None


def test_what_the_sitter_looks_into() -> None:
    # The ball at eye height lies on the line of sight, half dimmed; the drum's lowest edge is well over 30
    # degrees up. An even field of L gives the eye pi L.
    found = rig_of(SCENE, 300.0)
    assert found.brightest == "low"
    assert found.seen["low"].luminance == pytest.approx(4000.0)
    assert found.seen["low"].angle == pytest.approx(0.0, abs=3.0)
    assert found.seen["key"].angle > 30.0
    data = found.as_data()["eye"]
    assert data["even_field_cd_m2"] == pytest.approx(300.0 / math.pi)
    assert "4,000 cd/m2 at 0 degrees, 42 times that field" in lines_of(SCENE, 300.0)


def test_a_turned_head_looks_elsewhere() -> None:
    assert rig_of(SCENE + "[sitter]\nhead_yaw = 90\n").brightest is None


def test_a_gel_and_a_dimmer_spare_the_eye() -> None:
    text = SCENE.replace("dim = 0.5", "dim = 0.5\ngel = { stops = 1 }")
    assert rig_of(text).seen["low"].luminance == pytest.approx(2000.0)


def test_circuits() -> None:
    # 300 W and 1200 W at 120 V are 12.5 A, and 15 / 1.25 = 12 A may be drawn: 60 W too much.
    text = SCENE.replace("amps = 15\n", "amps = 15\nother_watts = 1200\n")
    draw = rig_of(text).circuits["wall"]
    assert (draw.watts, draw.lights) == (1500.0, {"key": 300.0})
    assert draw.amps == pytest.approx(12.5)
    assert draw.over
    assert "circuit.wall: draws 12.50 A, and 12.00 A may be drawn, its 15 A over 1.25: take 60 W off" in (
        lines_of(text)
    )
    assert not rig_of(text.replace("amps = 15\n", "amps = 15\ncontinuous = false\n")).circuits["wall"].over
    assert rig_of(text).uncounted == ["light.low has no watts and no circuit"]


def test_exactly_what_is_allowed_is_not_over() -> None:
    text = SCENE.replace("amps = 15\n", "amps = 15\nother_watts = 1140\n")
    assert not rig_of(text).circuits["wall"].over


def test_notices() -> None:
    text = lines_of(SCENE)
    assert "support.key: has no bag" in text
    assert "support.key: with the light off it goes over to the counterweight" in text
    assert "support.key: light.key hangs by the sitter's head and has no secondary attachment" in text
    assert "light.key: its lowest part is at 1.85 m" in text
    light = lines_of(SCENE.replace("counterweight_arm = 0.7", "counterweight_arm = 0.7, counterweight = 15"))
    assert "its counterweight is 3.0 kg less than balances the arm" in light
    bare = lines_of(SCENE.replace(BOOM, "reach = 1.2\n"))
    assert "support.key: goes over to the light as it is: 20 against 56 N m" in bare
    assert "4.93 kg at 0.50 m from the mast" in bare
    caught = lines_of(SCENE + "secondary = { drop = 0.3, stop = 0.05 }\n")
    assert "412 N on the secondary attachment, 7.0 times the weight" in caught
    assert "has no secondary" not in caught


@pytest.mark.parametrize("text", [LOW, SCENE, SCENE + "bag = { mass = 10 }\n"])
def test_it_defers_and_promises_nothing(text: str) -> None:
    said = lines_of(text, 300.0).lower() + json.dumps(rig_of(text, 300.0).as_data()).lower()
    assert "safe" not in said
    for duty in ("competent rigger", "licensed electrician", "local codes", "makers' manuals", "bag every"):
        assert duty in said
    assert "secondary attachment of its own, rated" in said


def test_lines_keep_to_the_width() -> None:
    scene = loads(SCENE + "bag = { mass = 10 }\nsecondary = { drop = 0.3, stop = 0.05 }\n")
    assert max(map(len, rig(scene, 300.0).lines(scene))) <= 108


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "scene.toml"
    path.write_text(SCENE)
    assert main(["rig", str(path), "--json", "--eye-lux", "250"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["stands"]["key"]["balance"] == pytest.approx(18.0)
    assert data["eye"]["lux"] == 250.0
    assert main(["rig", str(path)]) == 0
    assert "18.00 kg at 0.7 m balance it" in capsys.readouterr().out
    for wrong, line in (
        ("bright", '--eye-lux: expected a number of lux, such as 300; got "bright"'),
        ("-1", "--eye-lux: expected lux from 0 to 200000; got -1"),
        ("nan", "--eye-lux: expected lux from 0 to 200000; got nan"),
    ):
        assert main(["rig", str(path), f"--eye-lux={wrong}"]) == 2
        assert capsys.readouterr().err.strip() == line


FAULTS = {
    "a misspelt circuit": (
        ('circuit = "wall"', 'circuit = "wal"'),
        's:13: light.key.circuit: there is no circuit "wal"; did you mean "wall"? (circuits: wall)',
    ),
    "a stand for no light": (
        ("[support.key]", "[support.kee]"),
        's:23: support.kee: there is no light "kee"; did you mean "key"? (lights: key, low)',
    ),
    "a stand for a misspelt light": (
        ("load = 6", 'load = 6\nlight = "lo"'),
        's:27: support.key.light: there is no light "lo"; did you mean "low"? (lights: key, low)',
    ),
    "a mast through the ceiling": (
        ("height = 2.3", "height = 2.6"),
        "s:27: support.key.height: goes through the ceiling: expected at most 2.4 metres; got 2.6",
    ),
    "a bag off the base": (
        ("height = 2.3", "height = 2.3\nbag = { mass = 5, arm = 0.8 }"),
        "s:28: support.key.bag.arm: the bag is off the base: expected metres from -0.25 to 0.5; got 0.8",
    ),
    "two ways out": (
        ("height = 2.3", "height = 2.3\nreach = 1"),
        "s:28: support.key.reach: is given beside boom: expected boom.arm alone, which says it already",
    ),
    "two stands for one light": (
        ("height = 2.3", "height = 2.3\n[support.b]\nlegs_radius = 1\nmass = 8\nload = 6\nlight = 'key'"),
        's:28: support.b: the light "key" is held by support.key already: expected one support for each'
        " light",
    ),
    "a short boom": (
        ("arm = 1.8", "arm = 0.04"),
        "s:28: support.key.boom.arm: expected metres from 0.05 to 10; got 0.04",
    ),
    "a short mast": (
        ("height = 2.3", "height = 0.1"),
        "s:27: support.key.height: expected metres from 0.2 to 10; got 0.1",
    ),
    "stopped at once": (
        ("height = 2.3", "height = 2.3\nsecondary = { drop = 0.1, stop = 1e-9 }"),
        "s:28: support.key.secondary.stop: expected metres from 0.001 to 10; got 1e-09",
    ),
    "grams": (
        ("load = 6", "load = 6000"),
        "s:26: support.key.load: expected kilograms above 0 and up to 500; got 6000;"
        " 6000 looks like grams: did you mean 6?",
    ),
    "two legs": (
        ("mass = 8", "mass = 8\nlegs = 2"),
        "s:26: support.key.legs: expected a whole number of legs from 3 to 6; got 2",
    ),
    "text for yes": (
        ("volts = 120", 'volts = 120\ncontinuous = "yes"'),
        's:22: circuit.wall.continuous: expected true or false; got "yes"',
    ),
    # What names a faulty thing is not a fault of its own.
    "a faulty circuit": (
        ("amps = 15", "amps = 0"),
        "s:22: circuit.wall.amps: expected amperes from 0.1 to 400; got 0",
    ),
    "a faulty light": (
        ("diameter = 0.55", "diameter = 55"),
        "s:9: light.key.diameter: expected metres from 0.001 to 10; got 55;"
        " 55 looks like centimetres: did you mean 0.55?",
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_faults(name: str) -> None:
    (old, new), line = FAULTS[name]
    assert SCENE.count(old) == 1
    with pytest.raises(InputError) as caught:
        loads(SCENE.replace(old, new), "s")
    assert caught.value.lines == (line,)


def test_a_counterweight_that_cannot_be() -> None:
    # Statics: 40 kg at 10 m are 400 kg m, which from 0.05 m take 8000 kg.
    arm = "boom = { arm = 10, counterweight_arm = 0.05 }\n"
    text = ROOM + DRUM + WALL + STAND.replace("load = 6", "load = 40") + arm
    found = rig_of(text)
    said = lines_of(text)
    assert found.stands["key"].balance is None and not found.stands["key"].tips
    assert "over 500 kg at 0.05 m would balance it, which is impossible with this arm" in said
    assert "no counterweight up to 500 kg balances it: impossible with this arm" in said
    assert "nothing tips it" not in said and "8000" not in said and "inf" not in said


def test_a_bag_that_cannot_help() -> None:
    # A bag on the edge that it goes over, 0.25 m from the mast on the light's side, has no arm at all.
    said = lines_of(ROOM + DRUM + WALL + STAND + "reach = 2\nbag = { mass = 5, arm = -0.25 }\n")
    assert "none up to 500 kg makes it stand at -0.25 m from the mast" in said and "inf" not in said


def test_a_mast_under_its_light() -> None:
    text = "its mast ends at 1.50 m, under light.key, whose lowest part is at 1.85 m: look at both heights"
    low = ROOM + DRUM + WALL + STAND.replace("2.3", "1.5")
    assert text in lines_of(low)
    assert "its mast ends" not in lines_of(low + BOOM) + lines_of(ROOM + DRUM + WALL + STAND)
