"""How exactly to rig: differences against closed forms, the odds against the normal integral."""

from __future__ import annotations

import csv
import io
import json
import math
from functools import cache
from pathlib import Path

import pytest
from light_lab import LIMIT

from renderer.cli import main
from renderer.errors import InputError
from renderer.film.pool import Pool
from renderer.preview import Preview
from renderer.scene.load import loads
from renderer.solve.exactness.accuracy import Accuracy, accuracy_of
from renderer.solve.exactness.report import tolerance_csv, tolerance_lines
from renderer.solve.exactness.slope import Sensitivity
from renderer.solve.exactness.swap import others
from renderer.solve.exactness.tolerance import Tolerance, toleranced
from renderer.solve.motion import lifted, motions

DISTANCE = 1.2


def lamp(diameter: float, target: str = "") -> str:
    """A disc 1.2 m before a meter that faces it, nobody in the chair, open black space."""
    return f"""
[sitter]
mesh = "none"
[light.key]
source = "disc"
around = {{ azimuth = 0, distance = {DISTANCE}, height = 1.2 }}
aim = [0.0, 0.0, 1.2]
diameter = {diameter}
lumens = 1000
[mark.there]
at = [0.0, 0.0, 1.2]
facing = "camera"
{target}
"""


@cache
def found(diameter: float, target: str = "", accuracy: Accuracy | None = None) -> Tolerance:
    return toleranced(loads(lamp(diameter, target)), accuracy, within=0.02, threads=2)


def motion(of: Tolerance, name: str) -> Sensitivity:
    return next(it for it in of.sensitivities if it.motion.name == name)


def disc(diameter: float, distance: float) -> float:
    """E = pi L sin^2(alpha), but for pi L (textbook)."""
    return (diameter / 2) ** 2 / ((diameter / 2) ** 2 + distance**2)


@pytest.mark.parametrize("diameter", [0.04, 0.6, 1.2])
def test_ten_centimetres_of_distance(diameter: float) -> None:
    """Over 1.15 to 1.25 m: -0.24 stop of a small source by the inverse square, less of a large one."""
    slope = motion(found(diameter), "key, distance").slopes["level.there"]
    by_hand = math.log2(disc(diameter, DISTANCE + 0.05) / disc(diameter, DISTANCE - 0.05))
    assert slope.paired and slope.sure
    assert abs(slope.change - by_hand) <= LIMIT * slope.error + 1e-4
    if diameter == 0.04:
        # common practice, no source: "+10 cm at 1.2 m is -0.23 stop", from the inverse square over 1.2 to 1.3
        assert abs(slope.change - 2.0 * math.log2(1.2 / 1.3)) < 0.02
        assert -0.25 < slope.change < -0.22


def test_ten_centimetres_sideways_are_4_8_degrees() -> None:
    """atan(0.1 / 1.2), and 5 degrees of azimuth are an arc of 10.5 cm there (plane geometry)."""
    way = motion(found(0.04), "key, azimuth").motion
    assert math.degrees(math.atan2(0.1, DISTANCE)) == pytest.approx(4.8, abs=0.04)
    assert way.per * way.reach == pytest.approx(math.radians(5.0) * DISTANCE)


def test_azimuth_by_the_cosine_law() -> None:
    """A meter fixed towards the camera, a lamp round by phi: cos phi, no slope but a bend."""
    slope = motion(found(0.04), "key, azimuth").slopes["level.there"]
    assert not abs(slope.change) > LIMIT * slope.error + 1e-4
    assert slope.bend == pytest.approx(math.log2(math.cos(math.radians(2.5))), abs=1e-3)


def test_turning_by_the_cosine_law() -> None:
    """A small disc turned away by phi looks cos phi as large; a dimmer up by 5 per cent is log2 of it."""
    for name in ("key, turned", "key, tilted"):
        slope = motion(found(0.04), name).slopes["level.there"]
        assert abs(slope.change) <= LIMIT * slope.error + 1e-4
        assert slope.bend == pytest.approx(math.log2(math.cos(math.radians(2.5))), abs=1e-3)
    dimmer = motion(found(0.04), "key, dimmer").slopes["level.there"]
    assert dimmer.change == pytest.approx(math.log2(1.025 / 0.975), abs=1e-6)
    assert "level.there" in motion(found(0.04), "key, height").slopes


BAND = "[target.level]\nthere = { stops = [LOW, HIGH] }\n"


def test_odds_by_the_normal_integral() -> None:
    """One target that only the distance moves: Phi of both ends of its band, in standard deviations.

    The other motions are exact, and of height and azimuth the slope is nought but for the trace's error.
    """
    base = found(0.04).base.values["level.there"].value
    low, high = base - 0.08, base + 0.15
    target = BAND.replace("LOW", f"{low:.6f}").replace("HIGH", f"{high:.6f}")
    it = found(0.04, target, Accuracy(length=0.06, angle=0.0))
    assert it.odds is not None
    slope = motion(it, "key, distance").slopes["level.there"].change
    sigma = abs(slope) * 0.06 / 0.10
    phi = [0.5 * (1.0 + math.erf(x / sigma / math.sqrt(2.0))) for x in (-0.08, 0.15)]
    assert it.odds.all == pytest.approx(phi[1] - phi[0], abs=LIMIT * it.odds.error + 1e-3)
    assert it.odds.spread["level.there"] == pytest.approx(sigma, rel=1e-3)
    assert it.ranking()[0] == ("key, distance", pytest.approx(1.0, abs=1e-3))
    text = "\n".join(tolerance_lines(it))
    assert "Measure first: key, distance; it makes 100 % of the spread at 6 cm, 0 deg." in text


def test_a_bent_line_is_told() -> None:
    """Azimuth bends this reading: 40 cm to the side are nothing by the straight line, not by cos phi."""
    base = found(0.04).base.values["level.there"].value
    target = BAND.replace("LOW", f"{base - 0.2:.6f}").replace("HIGH", f"{base + 0.2:.6f}")
    it = found(0.04, target, Accuracy(length=0.4, angle=0.0))
    assert it.odds is not None and it.odds.bend is not None
    assert it.odds.bend[1] in ("key, azimuth", "key, height") and it.odds.bend[2] > 0.2


def test_same_seed_same_answer() -> None:
    again = toleranced(loads(lamp(0.6)), within=0.02, threads=1)
    assert again.as_json() == found(0.6).as_json()
    rows = list(csv.DictReader(io.StringIO(tolerance_csv(again))))
    assert {"what", "change", "error", "significant"} <= rows[0].keys()
    assert any(row["what"] == "key, distance" and row["measure"] == "level.there" for row in rows)


SITTER = """
[camera]
at = [0, 2, 1.2]
[light.key]
source = "panel"
around = { azimuth = 45, elevation = 30, radius = 1.2 }
width = 0.5
height = 0.5
lumens = 800
[light.lamp]
source = "bulb"
purpose = "practical"
at = [-0.6, -0.8, 1.4]
diameter = 0.1
luminance = 300
[card.fill]
around = { azimuth = -55, distance = 0.6, height = 1.1 }
width = 0.5
height = 0.5
[mark.brow]
at = [0, 0.12, 1.24]
[mark.wall]
at = [0, -1.4, 1.2]
"""


def test_a_sitter_who_sits_higher() -> None:
    """Marks about the head go with it; lights, also one on a circle about the eyes, stay where they hang."""
    scene = loads(SITTER)
    up = lifted(scene, 0.1)
    assert up.sitter.eye_height == pytest.approx(1.3)
    assert up.mark["brow"].at == pytest.approx((0, 0.12, 1.34))
    assert up.mark["wall"].at == (0, -1.4, 1.2)
    was, now = (it.light["key"].centre(it.sitter, it.camera) for it in (scene, up))
    assert now == pytest.approx(was, abs=1e-5)
    names = [it.name for it in motions(scene)]
    assert "lamp, turned" not in names and "card.fill, distance" in names and "key, tilted" in names
    assert names[-1] == "sitter, height of the eyes"


def test_who_is_put_in_the_chair() -> None:
    who = [name for name, _ in others(loads(SITTER))]
    assert [name for name in who if name.startswith("eyes")] == ["eyes 10 cm lower", "eyes 10 cm higher"]
    assert sum(name.startswith("head") for name in who) == 4 and "head deep set" in who
    assert sum(name.startswith("skin") for name in who) == 6


@pytest.mark.slow
def test_a_sitter_swapped() -> None:
    """Skin changes what the lens reads of the cheek, and the light on it next to not at all."""
    it = toleranced(loads(SITTER + "[target]\nlighting_ratio = [1, 64]\n"), within=0.05, threads=2)
    by_who = {one.who: one for one in it.swapped}
    assert len(by_who) == 1 + 2 + 4 + 6 + 1 and not any(one.failed for one in it.swapped)
    assert "spectacles on" in by_who
    dark, light = by_who["skin dark, 0.1"].values, by_who["skin very light, 0.46"].values
    assert abs(dark["level.key_cheek"] - light["level.key_cheek"]) < 0.1
    spots = light["level.key_cheek_spot"] - dark["level.key_cheek_spot"]
    assert 1.2 < spots < math.log2(0.46 / 0.10) + 0.1  # shine is the same on both
    assert all(one.verdicts["lighting_ratio"].result == "pass" for one in it.swapped)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("5 cm, 3 deg", Accuracy(0.05, 3.0)),
        ("10 cm", Accuracy(0.1, 0.0)),
        ("0.1 m, 5 degrees, 5 %, sitter 30 mm", Accuracy(0.1, 5.0, 5.0, 0.03)),
    ],
)
def test_how_exactly_in_words(text: str, found: Accuracy) -> None:
    assert accuracy_of(text) == found


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("5", 'cannot read "5"; expected such as'),
        ("5 cm, 3 cm", '"3 cm" says it a second time'),
        ("5 m", '"5 m" is no accuracy; expected up to 1 m'),
        ("sitter 5 deg", 'cannot read "sitter 5 deg"'),
        ("-5 cm", 'cannot read "-5 cm"'),
        ("", 'cannot read ""'),
    ],
)
def test_nonsense_is_answered_in_one_line(text: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        accuracy_of(text)
    (line,) = caught.value.lines
    assert line.startswith("--rigging") and words in line


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    scene = tmp_path / "lamp.toml"
    scene.write_text(lamp(0.3))
    out = tmp_path / "out"
    given = ["--want", "level.there.stops=[-12, 12]", "--within", "0.1", "--out", str(out)]
    assert main(["tolerance", str(scene), *given]) == 0
    printed = capsys.readouterr().out
    assert "key, distance" in printed and "all targets hold in 100" in printed
    assert json.loads((out / "tolerance.json").read_text())["probability"]["all_targets"] == 1.0
    assert (out / "tolerance.csv").read_text().startswith("what,per,per_unit,measure")
    windows = '[room]\nwidth = 4\ndepth = 4\nheight = 2.5\nback_wall = 2\n[room.window.w]\nwall = "front"\n'
    scene.write_text(windows + "centre = [0, 1.5]\nwidth = 1\nheight = 1\nlux = 100\n")
    assert main(["tolerance", str(scene)]) == 2
    assert "nothing to move" in capsys.readouterr().err


@pytest.mark.parametrize(
    "arguments",
    [["tolerance"], ["balance", "--want", "lighting_ratio=3:1", "--place", "key in azimuth 20..70"]],
)
def test_ctrl_c_ends_the_whole_command(
    arguments: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A trace that was cut short is not taken for a whole one, and no further scene is begun."""
    traced = []

    def cut_short(scene: object, **options: object) -> None:
        traced.append(scene)
        Pool.interrupts += 1

    monkeypatch.setattr(Pool, "interrupts", 0)
    monkeypatch.setattr(Preview, "trace", cut_short)
    assert (
        main([arguments[0], str(Path(__file__).parents[1] / "scenes/classic-walk.toml"), *arguments[1:]])
        == 130
    )
    assert len(traced) == 1 and "stopped; nothing was written" in capsys.readouterr().err
