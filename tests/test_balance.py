"""Dimmers for targets: closed forms, brute force, what cannot be had, and what was asked wrongly."""

from __future__ import annotations

import math
import tomllib
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from light_lab import LIMIT

from renderer.errors import InputError
from renderer.preview import Preview
from renderer.scene.change import changed
from renderer.scene.load import load, loads
from renderer.solve.dimmers.balance import balanced, limits_of, with_ceiling
from renderer.solve.dimmers.dimmer import Problem, solve
from renderer.solve.dimmers.report import balance_lines
from renderer.solve.goal import Goals
from renderer.solve.model import Model
from renderer.solve.scene_file import edited

DEFAULT = Path(__file__).parents[1] / "scenes" / "default.toml"
RADIUS, LUMINANCE = 0.05, 20000.0
TWO = f"""
[sitter]
mesh = "none"
[light.right]
source = "disc"
at = [1.5, 1.5, 1.2]
aim = [0.0, 0.0, 1.2]
diameter = {2 * RADIUS}
luminance = {LUMINANCE}
[light.left]
source = "disc"
at = [-2.0, 2.0, 1.2]
aim = [0.0, 0.0, 1.2]
diameter = {2 * RADIUS}
luminance = {LUMINANCE}
dim = 0.25
[mark.one]
at = [0.0, 0.0, 1.2]
facing = "right"
meter = "flat"
[mark.both]
at = [0.0, 0.0, 1.2]
facing = [0.0, 1.0, 0.0]
meter = "flat"
"""


def on_axis(distance: float) -> float:
    """E = pi L sin^2(alpha) of a disc [lux], textbook."""
    return math.pi * LUMINANCE * RADIUS**2 / (RADIUS**2 + distance**2)


RIGHT, LEFT = on_axis(1.5 * math.sqrt(2.0)), on_axis(2.0 * math.sqrt(2.0))


@cache
def two(target: str) -> Preview:
    return Preview.trace(loads(TWO + target), within=0.01, picture=False, threads=2, seed=5)


@cache
def default() -> Preview:
    scene = load(DEFAULT)
    camera = scene.camera.model_copy(update={"picture": (456, 570)})
    target = {
        "target.lighting_ratio": "3:1",
        "target.background": [-3, -1.2],
        "target.rim": [-2.5, 1],
        "target.level": {"face": {"stops": [-0.4, 0]}},
        "target.eye_shade_min": -1.0,
    }
    wanted = changed(scene.model_copy(update={"camera": camera}), target)
    return Preview.trace(wanted, within=1.0, magnify=False, threads=2)


def test_two_lights_by_hand() -> None:
    """One meter sees the right light alone (the left one grazes it), the other both at 45 degrees:

        one = R r, both = (R r + L l) / sqrt(2)

    so r = one / R and l = (sqrt(2) both - one) / L. The discs are small against their distance: the cosine
    law at 45 degrees is off by no more than (radius / distance)^2, and half of the left one's sliver over the
    horizon of the first meter adds less than its radius / distance of L / 3.
    """
    one, both = 20.0, 25.0
    found = balanced(two(f"[target.level]\none = {{ lux = {one} }}\nboth = {{ lux = {both} }}\n"))
    assert found.met
    by_hand = {"right": one / RIGHT, "left": (math.sqrt(2.0) * both - one) / LEFT}
    sliver = RADIUS / (2.0 * math.sqrt(2.0)) / 3.0
    for fader in found.faders:
        off = math.log2(fader.after / by_hand[fader.light])
        assert 0.0 < fader.error < 0.02
        assert abs(off) < LIMIT * fader.error + 2.0 * sliver / math.log(2.0)


def test_error_of_a_dimmer_is_that_of_the_reading_it_comes_from() -> None:
    """One light, one level: dimmer = wanted / reading, so their errors in stops are the same."""
    preview = two("[target.level]\none = { lux = 10 }\n").mixed(dim={"left": 0.0})
    found = balanced(preview, hold=["left"])
    reading = preview.numbers().marks["one"].over_exposure
    assert found.faders[0].error == pytest.approx(reading.error, rel=0.02)
    assert found.faders[1].held and found.faders[1].error == 0.0


def test_the_model_is_the_mix() -> None:
    """What the solver works with is what `Preview.mixed(...).numbers()` says, value and error."""
    preview = default()
    model = Model.of(preview)
    rng = np.random.default_rng(3)
    for dims in (np.ones(3), *rng.random((3, 3))):
        named = preview.mixed(dim=dict(zip(model.lights, map(float, dims), strict=True))).numbers().named()
        for name, measure in model.measures.items():
            value, error = model.value(name, dims), measure.error(dims)
            assert value == pytest.approx(named[name].number, abs=2e-4), name
            if name == "background":
                assert 0.0 < error < 0.1  # here the cheek's error counts too
            elif name == "forehead":  # of two halves of 8 replicas: (15 / 16) / (7 / 8) of the variance
                assert error == pytest.approx(named[name].error * math.sqrt(15.0 / 14.0), rel=0.01)
            elif not math.isnan(error):
                assert error == pytest.approx(named[name].error, rel=1e-5, abs=1e-9), name
    assert {"rim", "separation", "background", "evenness", "second_catchlight"} <= model.measures.keys()


def test_no_mix_on_a_grid_is_better() -> None:
    preview = default()
    model = Model.of(preview)
    goals = Goals.of(preview, model)
    assert {goal.name for goal in goals.solved} == {
        "lighting_ratio",
        "background",
        "rim",
        "level.face",
        "eye_shade.sitter_left",
        "eye_shade.sitter_right",
    }
    problem = Problem(model, goals.solved, limits_of(model, (), {}), model.dims)
    steps = np.linspace(-5.0, 0.0, 17)
    grid = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    dims = solve(problem)
    least = float(problem.cost(grid).min())
    assert float(problem.cost(problem.stops(dims)[None])[0]) <= least + 1e-6
    assert np.array_equal(dims, solve(problem))  # the same question, the same answer


def test_what_cannot_be_had_is_explained() -> None:
    preview = default()
    model = Model.of(preview)
    scene = changed(preview.scene, {"target": {"lighting_ratio": "40:1", "level": {"face": {"stops": 0}}}})
    hard = Preview(scene, preview.layers, preview.marks, preview.missing, preview.face)
    found = balanced(hard)
    ratio = next(it for it in found.outcomes if it.name == "lighting_ratio")
    alone = model.value("lighting_ratio", np.array([1.0, 0.0, 0.0]))
    assert ratio.reach is not None and ratio.reach.high == pytest.approx(alone)
    assert not ratio.alone and ratio.verdict.result == "fail"
    assert found.dims()["edge"] < 0.05  # as near as it comes
    text = "\n".join(balance_lines(found))
    assert "what is wanted lies over that" in text and "missed: " in text
    # the other way round: level and ratio each for itself, not both
    both = {
        "lighting_ratio": [1, 1.2],
        "level": {"face": {"stops": [-0.3, 0.3]}, "back_wall": {"stops": [-12, -5]}},
    }
    odd = balanced(Preview(changed(scene, {"target": both}), preview.layers, preview.marks, [], preview.face))
    assert not odd.met
    assert any(it.alone and it.at_odds for it in odd.outcomes)


def test_the_ceiling_names_what_buys_a_stop() -> None:
    """Black cloth on the shadow side and cards away must raise the ratio; the key alone is its start."""
    preview = default()
    scene = changed(preview.scene, {"target": {"lighting_ratio": "9:1"}})
    hard = Preview(scene, preview.layers, preview.marks, preview.missing, preview.face)
    limit = with_ceiling(balanced(hard), threads=2).ceiling
    assert limit is not None
    alone = hard.mixed(solo=["key"]).numbers().named()["lighting_ratio"]
    assert limit.ratio == pytest.approx(alone.number, abs=LIMIT * math.hypot(alone.error, limit.error))
    gains = {gain.what: gain for gain in limit.alone}
    for words in ("all cards away", "black cloth over the camera left wall"):
        assert gains[words].gain > LIMIT * gains[words].error
    assert [gain.gain for gain in limit.together] == sorted(gain.gain for gain in limit.together)


def test_held_limited_and_free_lights() -> None:
    found = balanced(default(), hold=["key"], limit={"edge": (0.3, 0.6)})
    dims = found.dims()
    assert dims["key"] == 1.0 and 0.3 <= dims["edge"] <= 0.6
    windowed = loads(
        TWO.replace('mesh = "none"', 'mesh = "none"\n[room]\nwidth = 6\ndepth = 6\nheight = 3\nback_wall = 3')
        + '[room.window.w]\nwall = "front"\ncentre = [0, 1.5]\nwidth = 1\nheight = 1\nlux = 1000\n'
        + "[target.level]\nboth = { lux = 30 }\n"
    )
    preview = Preview.trace(windowed, within=0.2, picture=False, threads=2)
    assert balanced(preview).dims()["w"] == 1.0
    assert balanced(preview, hold=["left", "right"], free=["w"]).dims()["w"] < 1.0


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"hold": ["rigth"]}, '--hold: no light is called "rigth"; did you mean "right"?'),
        ({"limit": {"right": (0.5, 0.2)}}, "--limit right=0.5..0.2: expected 0..1, the lower first"),
        ({"limit": {"right": (0.0, 2.0)}}, "expected 0..1"),
        ({"hold": ["right"], "limit": {"right": (0.0, 1.0)}}, "it is held; expected --hold or --limit"),
        ({"free": ["w"]}, "(lights: right, left)"),
    ],
)
def test_nonsense_is_answered_in_one_line(given: dict[str, object], words: str) -> None:
    preview = two("[target.level]\none = { lux = 10 }\n")
    with pytest.raises(InputError) as caught:
        balanced(preview, **given)  # type: ignore[arg-type]
    (line,) = caught.value.lines
    assert words in line


def test_without_targets() -> None:
    with pytest.raises(InputError) as caught:
        balanced(two(""))
    assert "expected a [target]" in caught.value.lines[0]


def test_the_scene_file_keeps_its_comments() -> None:
    text = DEFAULT.read_text(encoding="utf-8")
    made = edited(text, {"light.key.dim": 0.4, "light.edge.dim": 0.25, "light.lamp.dim": 0.0})
    assert [line for line in made.splitlines() if not line.startswith("dim")] == text.splitlines()
    data = tomllib.loads(made)
    assert [data["light"][name]["dim"] for name in ("key", "edge", "lamp")] == [0.4, 0.25, 0.0]
    # next to the light's own keys, not under the comment that belongs to its skirt
    assert "cct = 5600\ndim = 0.4\n\n# Over the half" in made
    again = edited(made, {"light.key.dim": 0.5})
    assert again == made.replace("dim = 0.4", "dim = 0.5")
    with pytest.raises(InputError) as caught:
        edited(text, {"light.kye.dim": 0.4}, "default.toml")
    assert caught.value.lines[0].startswith("default.toml: light.kye.dim cannot be written into it")
    inline = '[light]\nkey = { source = "bulb", dim = 0.3 } # the only one\n'
    assert edited(inline, {"light.key.dim": 1.0}) == inline.replace("0.3", "1.0")
