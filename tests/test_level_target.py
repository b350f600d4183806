"""Levels that a mark is to read, and the second catchlight: read, refused in one clear line, judged."""

from __future__ import annotations

import math

import pytest

from renderer.errors import InputError
from renderer.film.mix import Fader, Mix
from renderer.meter.face.catchlight import Catchlight
from renderer.meter.face.mixed import second_catchlight
from renderer.meter.level import wanted_level
from renderer.scene.camera import Camera
from renderer.scene.load import loads
from renderer.scene.models import Scene

SCENE = """
[light.key]
source = "bulb"
diameter = 0.1
lumens = 500
at = [0.5, 1.0, 1.6]
[mark.lap]
at = [0, 0.4, 0.8]
[mark.jar]
at = [0.4, -0.5, 1.0]
meter = "spot"
[target.level]
"""


def read(line: str) -> Scene:
    return loads(SCENE + line, "s.toml")


@pytest.mark.parametrize(
    ("line", "meter", "low", "high"),
    [
        # T2.8 at ISO 800, 1/50 s asks for C N^2 / (S t) = 250 x 7.84 / 16 = 122.5 lux (ISO 2720)
        ("lap = { lux = [122.5, 245] }", "flat", 0.0, 1.0),
        ("lap = { lux = 490 }", "flat", 2.0 - 1 / 3, 2.0 + 1 / 3),
        # of a dome C = 340: 166.6 lux
        ("lap = { lux = [83.3, 166.6] }", "dome", -1.0, 0.0),
        # spot, K = 12.5: 12.5 x 7.84 / 16 = 6.125 cd/m2
        ("jar = { luminance = [1.53125, 6.125] }", "spot", -2.0, 0.0),
        ("lap = { t_stop = [2.8, 5.6] }", "flat", 0.0, 2.0),
        ("lap = { stops = [-3, -2] }", "flat", -3.0, -2.0),
        ("lap = { stops = -2 }", "flat", -2 - 1 / 3, -2 + 1 / 3),
    ],
)
def test_a_level_is_a_band_of_stops_from_the_exposure(line: str, meter: str, low: float, high: float) -> None:
    target = read(line).target
    assert target is not None
    (level,) = target.level.values()
    band = wanted_level(level, meter, Camera(at=(0, 2, 1.2), aim=(0, 0, 1.2), t_stop=2.8, iso=800))
    assert (band.low, band.high) == pytest.approx((low, high), abs=1e-9)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("lapp = { lux = 300 }", 'target.level.lapp: there is no mark "lapp"; did you mean "lap"?'),
        (
            "lap = { lux = 300, stops = 0 }",
            "expected one of lux, luminance, t_stop, stops; got lux and stops",
        ),
        ("lap = {}", "got none of them"),
        ("lap = { luminance = 5 }", "only a spot meter reads cd/m2"),
        ("jar = { lux = 5 }", "a spot meter reads no lux"),
        ("shadow_cheek_spot = { lux = 5 }", "a spot meter reads no lux"),
        ("lap = { lux = [300, 200] }", "did you mean [200, 300]?"),
        ('lap = { lux = "300" }', "did you mean 300?"),
        ("lap = 300", "lap"),
    ],
)
def test_nonsense_is_answered_in_one_line(line: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        read(line)
    (text,) = caught.value.lines
    assert text.startswith("s.toml:13: target.level") and words in text


def glint(eye: str, light: str, luminance: tuple[float, float], size: float = 2.0) -> Catchlight:
    return Catchlight(eye, light, 1.0, 1.0, size, 17.0, 0.0, 0.0, luminance)


def test_second_catchlight_is_the_next_brightest_of_another_light() -> None:
    """A key of 800 cd/m2 beside a card of 100: three stops; half the key makes it two of the left eye's."""
    shown = (
        glint("sitter_left", "key", (800.0, 0.0)),
        glint("sitter_left", "key", (800.0, 0.0), 0.3),  # a piece cut off by the lid
        glint("sitter_left", "card.fill", (0.0, 100.0)),
        glint("sitter_right", "key", (800.0, 0.0)),
    )
    for dim, stops in ((1.0, -3.0), (0.5, -2.0)):
        found = second_catchlight(shown, Mix((Fader("key", dim=dim), Fader("edge", "edge"))))
        assert found.number == pytest.approx(stops)
        assert found.why == "card.fill beside key, sitter_left"
    alone = second_catchlight(shown[:2], Mix((Fader("key"), Fader("edge", "edge"))))
    assert alone.number == -math.inf
