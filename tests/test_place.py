"""The place of a light for a target: against the inverse square, in what a room allows, in plain words."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path

import pytest

from renderer.cli import main
from renderer.errors import InputError
from renderer.scene.load import loads
from renderer.solve.move import Spot
from renderer.solve.places.box import box_of
from renderer.solve.places.hang import hung
from renderer.solve.places.place import placed

RADIUS, LUMINANCE, HEIGHT = 0.03, 50000.0, 1.2
LAMP = f"""
[sitter]
mesh = "none"
[light.key]
source = "disc"
around = {{ azimuth = 10, distance = 2.0, height = {HEIGHT} }} # on the stand
aim = [0.0, 0.0, {HEIGHT}]
diameter = {2 * RADIUS}
luminance = {LUMINANCE}
[mark.there]
at = [0.0, 0.0, {HEIGHT}]
facing = "key"
[target.level]
there = {{ lux = 60 }}
"""
ROOM = """
[room]
width = 3.6
depth = 4.2
height = 2.4
back_wall = 1.5
[camera]
at = [0, 2, 1.2]
[light.key]
source = "disc"
around = { azimuth = 45, distance = 1.0, height = 1.8 }
diameter = 0.4
lumens = 1000
[card.fill]
around = { azimuth = -60, distance = 0.5, height = 1.1 }
width = 0.5
height = 0.5
[target]
lighting_ratio = "4:1"
"""


def test_distance_by_the_inverse_square() -> None:
    """E = pi L R^2 / (R^2 + d^2) on the axis of a disc (textbook), so d = R sqrt(pi L / E - 1).

    The last round of four places lies 0.1 of the box either side of the best: a fifth of it over five steps.
    """
    scene = loads(LAMP)
    box = box_of(scene, "key in distance 0.8..2.8")
    found = placed(scene, box, hold=["key"], within=0.05, threads=2)
    spot, balance = found.best[0]
    by_hand = RADIUS * math.sqrt(math.pi * LUMINANCE / 60.0 - 1.0)
    assert 0.8 < by_hand < 2.8
    assert abs(spot.distance - by_hand) <= 0.5 * 2.0 * 0.2 / 5.0
    assert balance.met and balance.dims() == {"key": 1.0}
    assert found.as_json()["traces"] == len(found.tries) == len({it.spot for it in found.tries})


def test_the_same_seed_finds_the_same() -> None:
    scene = loads(LAMP)
    box = box_of(scene, "key in distance 0.8..2.8, azimuth -40 to 40")
    one, other = (placed(scene, box, hold=["key"], within=0.2, threads=t, seed=3).as_json() for t in (1, 2))
    assert one == other


def test_what_a_room_allows() -> None:
    scene = loads(ROOM)
    key = box_of(scene, "key in distance 0.5..1.5").thing
    for spot, why in (
        (Spot(45.0, 1.0, 2.3), "does not fit in the room"),
        (Spot(0.0, 0.8, 1.2), "in the picture"),
        (Spot(0.0, 0.05, 1.55), "less than 30 cm over the head"),
        (Spot(180.0, 0.1, 1.1), "inside the sitter"),
    ):
        made, reason = hung(scene, key, spot)
        assert made is None and reason == why
    made, _ = hung(scene, key, Spot(45.0, 1.2, 1.9))
    assert made is not None and made.light["key"].around is not None
    assert made.light["key"].around.distance == 1.2
    with pytest.raises(InputError) as caught:
        placed(scene, box_of(scene, "key in height 2.3..2.39"))
    assert "can be had: does not fit in the room" in caught.value.lines[0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("key", "expected THING in RANGES"),
        ("kye in height 1..2", 'there is no light or board "kye"; did you mean "key"?'),
        ("key in hieght 1..2", 'there is no "hieght"; did you mean "height"?'),
        ("key in height 1-2", 'cannot read "height 1-2"; expected such as height 1.5..2.2'),
        ("key in height a..2", 'height: expected metres, written as a number; got "a"'),
        ("key in height 2..1", "expected the lower value first"),
        ("key in height 180..190", "did you mean 1.8?"),
        ("key in azimuth 20..400", "expected degrees from -180 to 180; got 400"),
        ("key in height 1..2, height 1..3", "height is given twice"),
        ("key in height 2..2", "leaves no choice"),
        ("key in height nan..2", "height"),
    ],
)
def test_nonsense_is_answered_in_one_line(text: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        box_of(loads(ROOM), text)
    (line,) = caught.value.lines
    assert line.startswith(f"--place {text}: ") and words in line


def test_names_of_boards() -> None:
    scene = loads(ROOM)
    for word in ("fill", "card.fill"):
        assert box_of(scene, f"{word} in distance 0.4..0.9").thing.path == "card.fill"


def test_the_command_writes_the_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    scene = tmp_path / "lamp.toml"
    scene.write_text(LAMP)
    asked = [
        "--place",
        "key in distance 1.0..2.4",
        "--hold",
        "key",
        "--within",
        "0.2",
        "--out",
        str(tmp_path / "out"),
    ]
    assert main(["balance", str(scene), *asked]) == 0
    printed = capsys.readouterr().out
    assert "Place of light.key: azimuth 10 deg" in printed and "The target is met." in printed
    text = (tmp_path / "out" / "lamp.toml").read_text()
    written = tomllib.loads(text)["light"]["key"]["around"]
    assert written["azimuth"] == 10 and written["distance"] < 2.0 and "# on the stand" in text
