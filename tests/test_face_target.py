"""Targets in a scene file: read, refused in one clear line, and judged."""

from __future__ import annotations

import math

import pytest

from renderer.errors import InputError
from renderer.meter.face.finding import Finding
from renderer.meter.face.verdict import unanswered, verdicts
from renderer.scene.load import loads
from renderer.scene.target import Target

SCENE = '[light.key]\nsource = "bulb"\ndiameter = 0.1\nlumens = 500\nat = [0.5, 1.0, 1.6]\n[target]\n'


def target(lines: str) -> Target:
    found = loads(SCENE + lines, "s.toml").target
    assert found is not None
    return found


def test_ways_to_write_a_ratio() -> None:
    for written, span in (('"4:1"', (4, 4)), ("4", (4, 4)), ("[3, 5]", (3, 5)), ('" 2.5 : 1 "', (2.5, 2.5))):
        assert target(f"lighting_ratio = {written}").lighting_ratio == span
    assert target('pattern = "loop"').pattern == ("loop",)
    assert target('pattern = ["loop", "triangle"]').pattern == ("loop", "triangle")


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('lighting_ratio = "four"', 'expected a ratio such as 4 or "4:1", or [low, high]; got "four"'),
        ('lighting_ratio = "1:4"', 'got "1:4"'),
        ("lighting_ratio = [5, 3]", "expected the lower value first; got [5, 3]; did you mean [3, 5]?"),
        ("lighting_ratio = 0.5", "a ratio to 1 from 1 to 1000; got 0.5"),
        ('pattern = "lop"', 'got "lop"; did you mean "loop"?'),
        ("pattern = []", "got an empty list"),
        ("under_chin = -1", "expected [low, high], stops from -12 to 12; got -1"),
        ("eye_shade_min = nan", "not a finite number"),
        ("catchlights_max = 1.5", "a whole number of catchlights"),
        ("ratio = 4", "ratio"),
    ],
)
def test_nonsense_is_answered_in_one_line(line: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        loads(SCENE + line, "s.toml")
    (text,) = caught.value.lines
    assert text.startswith("s.toml:7: target.") and words in text


def number(value: float, why: str = "") -> Finding:
    return Finding(value, 0.0, "stops", "", why)


@pytest.mark.parametrize(
    ("name", "value", "lines", "result"),
    [
        ("lighting_ratio", 4.0, 'lighting_ratio = "4:1"', "pass"),
        ("lighting_ratio", 5.0, 'lighting_ratio = "4:1"', "pass"),  # 0.32 stop
        ("lighting_ratio", 5.5, 'lighting_ratio = "4:1"', "warn"),  # 0.46 stop
        ("lighting_ratio", 8.0, 'lighting_ratio = "4:1"', "fail"),
        ("lighting_ratio", 5.2, "lighting_ratio = [3, 5]", "warn"),
        ("lighting_ratio", math.inf, "lighting_ratio = [3, 5]", "fail"),
        ("eye_shade.sitter_left", -1.2, "eye_shade_min = -1.0", "warn"),
        ("under_chin", -3.2, "under_chin = [-2.5, -1]", "fail"),
        ("under_chin", -2.0, "under_chin = [-2.5, -1]", "pass"),
        ("background", -0.7, "background = [-2, -1]", "warn"),
        ("background_evenness", -0.7, "background = [-2, -1]", None),
        ("forehead", 0.9, "forehead_max = 0.67", "warn"),
        ("rim", math.nan, "rim = [0, 1]", "fail"),
        ("rim_width", 9.0, "rim = [0, 1]", None),
    ],
)
def test_verdict(name: str, value: float, lines: str, result: str | None) -> None:
    found = verdicts({name: number(value)}, target(lines)).get(name)
    assert (found.result if found else None) == result


def test_the_far_eye_may_lie_lower() -> None:
    eye = {"eye_shade.sitter_left": number(-1.4, "the eye on the shadow side")}
    assert verdicts(eye, target("eye_shade_min = -1.0"))["eye_shade.sitter_left"].result == "pass"


def test_pattern_verdict_gives_the_reason() -> None:
    found = {"pattern": Finding.word("mixed", "", "nearest is loop, but it joins the cheek's shadow")}
    verdict = verdicts(found, target('pattern = "loop"'))["pattern"]
    assert verdict.result == "fail" and "joins the cheek" in verdict.reason
    by_angle = {"pattern": Finding.word("loop", "", "", {"by": "angle"})}
    assert verdicts(by_angle, target('pattern = "loop"'))["pattern"].result == "warn"


def test_a_target_without_its_measure_is_told() -> None:
    (line,) = unanswered({"pattern": Finding.word("loop", "")}, target('rim = [0, 1]\npattern = "loop"'))
    assert line.startswith("target.rim: cannot be judged")
