"""What is written down from a meter, and the sheet it stands on: read back exactly, faults in one line."""

from __future__ import annotations

import math

import match_lab
import pytest

from renderer.errors import InputError
from renderer.scene.expected import HEAD
from renderer.solve.readings.free import assumptions
from renderer.solve.readings.given import given_in
from renderer.solve.readings.said import Unreadable, said
from renderer.units import t_stop_in_thirds

ISO, SHUTTER = 800.0, 1.0 / 50.0
C, K = {"flat": 250.0, "dome": 340.0}, 12.5  # lux s, cd s/m2: ISO 2720:1974
THIRDS = [k / 3.0 for k in range(-3, 25)]  # stops from T1
LIGHTS = ("key", "edge", "wall")


@pytest.mark.parametrize("meter", ["flat", "dome", "spot"])
def test_thirds_of_a_stop_are_read_back(meter: str) -> None:
    """E = C N^2 / (S t), L with K (ISO 2720), N the root of 2 to the power of the stops, for every third."""
    for stops in THIRDS:
        n = 2.0 ** (stops / 2.0)
        it = said(t_stop_in_thirds(n), meter, ISO, SHUTTER)
        assert it.level == pytest.approx(C.get(meter, K) * n * n / (ISO * SHUTTER), rel=1e-12)
        assert it.rounding == pytest.approx(1.0 / 3.0 / math.sqrt(12.0))  # a uniform third


@pytest.mark.parametrize(
    ("text", "stops"),
    [
        *(("T2.8", 3.0), ("t 2.8 + 2/3", 3 + 2 / 3), ("f/2.8 1/3", 3 + 1 / 3), ("T4 \u22121/3", 3 + 2 / 3)),
        *(("T2.8 +4/10", 3.4), ("T4 1/2", 4.5), ("T1,4", 1.0), ("T5.6 +1/3", 5 + 1 / 3), ("T22", 9.0)),
    ],
)
def test_ways_of_writing_a_stop(text: str, stops: float) -> None:
    assert said(text, "flat", ISO, SHUTTER).level == pytest.approx(250.0 * 2.0**stops / (ISO * SHUTTER))


BETWEEN = (
    "1.1",
    "1.2",
    "1.6",
    "1.8",
    "2.2",
    "2.5",
    "3.2",
    "3.5",
    "4.5",
    "5",
    "6.3",
    "7.1",
    "9",
    "10",
    "13",
    "14",
)


@pytest.mark.parametrize(("engraved", "place"), [(word, i) for i, word in enumerate(BETWEEN)])
def test_engraved_thirds(engraved: str, place: int) -> None:
    """The row engraved between whole stops (common practice, no source) stands for exact thirds; what is
    engraved is within a sixth of a stop of what it stands for."""
    stops = place // 2 + (1 + place % 2) / 3.0
    assert abs(2.0 * math.log2(float(engraved)) - stops) < 1.0 / 6.0
    level = said(f"T{engraved}", "flat", ISO, SHUTTER).level
    assert level == pytest.approx(250.0 * 2.0**stops / (ISO * SHUTTER))
    assert said(f"T{engraved}", "flat", ISO, SHUTTER).rounding == said("T4", "flat", ISO, SHUTTER).rounding


def test_another_number_is_taken_as_it_is() -> None:
    assert said("T3.0", "flat", ISO, SHUTTER).level == pytest.approx(250.0 * 9.0 / (ISO * SHUTTER))


def test_ev_lux_and_luminance() -> None:
    """2^EV = 100 E / C and 100 L / K (ISO 2720); a foot-candle is 10.764 lux."""
    assert said("EV 7.3", "flat", ISO, SHUTTER).level == pytest.approx(2.5 * 2.0**7.3)
    assert said("-1 EV", "spot", ISO, SHUTTER).level == pytest.approx(0.125 * 0.5)
    assert said("122 lux", "dome", ISO, SHUTTER).level == 122.0
    assert said("122,5", "flat", ISO, SHUTTER, "lux").level == 122.5
    assert said("10 fc", "flat", ISO, SHUTTER).level == pytest.approx(107.639, rel=1e-5)
    assert said("8.6 cd/m\u00b2", "spot", ISO, SHUTTER).level == 8.6
    assert said("EV 7.3", "flat", ISO, SHUTTER).rounding == pytest.approx(0.1 / math.sqrt(12.0))
    assert said("4 lux", "flat", ISO, SHUTTER).rounding == pytest.approx(math.log2(1.25) / math.sqrt(12.0))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("bright", "expected T2.8 +1/3, EV 7.3 or 122 lux"),
        ("0 lux", "leave blank what could not be read"),
        ("T2.8 +4/3", "thirds, halves or tenths of a stop"),
        ("T2.9 +1/3", 'did you mean "T2.8"?'),
        ("8 cd/m2", "reads illuminance"),
        ("T0", "expected"),
        ("-3 lux", "expected"),
        ("EV 999", "expected"),
        ("3..2 lux", "expected"),
    ],
)
def test_what_no_meter_says(text: str, words: str) -> None:
    with pytest.raises(Unreadable, match=words.replace("+", r"\+").replace("?", r"\?")):
        said(text, "flat", ISO, SHUTTER)


def sheet(*rows: str, head: str = ",".join(HEAD)) -> str:
    return "\n".join([head, *rows])


def row(setting: str, mark: str, read: str) -> str:
    return f"{setting},1,A,{mark},flat,100,1,lux,2.8,T2.8,{read}"


def test_a_sheet_read() -> None:
    """Names bare or as on the sheet; blanks are left out; a bare number is in the unit of its row."""
    text = sheet(
        row("all together", "nose", "T2.8 +1/3"), row("key alone", "top", ""), row("edge", "nose", "12")
    )
    several = given_in(text, "r.csv", match_lab.scene(), LIGHTS)
    assert [(it.light, it.mark, it.line) for it in several] == [(None, "nose", 2), ("edge", "nose", 4)]
    assert several[1].level == 12.0
    short = given_in("key;nose;122,5 lux\n\n# a word\nall;top;EV 6\n", "r.csv", match_lab.scene(), LIGHTS)
    assert [(it.on, it.level, it.line) for it in short] == [
        ("key alone", 122.5, 1),
        ("all together", 160.0, 4),
    ]


def test_every_fault_has_its_line() -> None:
    text = sheet(
        row("kye alone", "nose", "T4"),
        row("key alone", "noze", "T4"),
        row("key alone", "nose", "T4 +1/3"),
        row("all", "nose", "4.3.2"),
    )
    with pytest.raises(InputError) as caught:
        given_in(text, "r.csv", match_lab.scene(), LIGHTS)
    first, second, third = caught.value.lines
    assert first == 'r.csv:2: no light is called "kye"; did you mean "key"?'
    assert second == 'r.csv:3: there is no mark "noze"; did you mean "nose"?'
    assert third.startswith('r.csv:5: all, nose: cannot read "4.3.2"; expected T2.8 +1/3, EV 7.3 or 122 lux')


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", 'no reading in it: write what the meter said into the column "read"'),
        (sheet(row("all", "nose", "")), "no reading in it"),
        (sheet("all,nose,T4", head="setting,mark,said"), 'there is no column "read"'),
    ],
)
def test_a_sheet_without_readings(text: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        given_in(text, "r.csv", match_lab.scene(), LIGHTS)
    (line,) = caught.value.lines
    assert words in line


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("wals", 'there is no "wals"; did you mean "walls"? (possible here: room, walls,'),
        ("key.hight", 'did you mean "key.height"?'),
        ("walls, back", "walls has back in it: expected one of the two"),
        ("cards", "nothing of that kind in the scene"),
        ("output", 'did you mean "outputs"?'),
    ],
)
def test_what_cannot_be_free(text: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        assumptions(match_lab.scene(), text)
    (line,) = caught.value.lines
    assert line.startswith(f"--free {text}: ") and words in line


def test_what_is_free() -> None:
    usual = [it.name for it in assumptions(match_lab.scene())]
    assert usual[:4] == ["walls", "floor", "ceiling", "key.output"] and usual[-1] == "meter"
    named = [it.name for it in assumptions(match_lab.scene(), "outputs, back, meter")]
    assert named == ["key.output", "edge.output", "wall.output", "back", "meter"]
    assert all(it.usual > 0.0 for it in assumptions(match_lab.scene()))
