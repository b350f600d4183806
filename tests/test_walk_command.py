"""A key walked through its values: closed forms along the way, what is traced, where targets are passed, and
what is kept when the person has seen enough."""

from __future__ import annotations

import csv
import io
import json
import math
import os
import signal
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from renderer.cli import main
from renderer.compare.crossing import Point, changes, crossings, interpolated
from renderer.compare.name import amount, short
from renderer.compare.stepping import Step, walk
from renderer.compare.stock import Stock
from renderer.compare.vary import Vary, scenes_of, vary
from renderer.errors import InputError
from renderer.film.pool import Pool
from renderer.meter.face import Finding
from renderer.meter.face.report import value_words
from renderer.picture.chart import Chart, Curve, draw_chart, nice_ticks
from renderer.picture.legend import PAPER
from renderer.preview import Preview
from renderer.scene.load import loads
from renderer.scene.models import Scene

SPACE = """
title = "A bulb in the open"
[sitter]
mesh = "none"
[camera]
picture = [16, 20]
[light.key]
source = "bulb"
purpose = "key"
around = { azimuth = 90, distance = 1.0, height = 1.2 }
diameter = 0.05
lumens = 1000
[mark.key]
at = [0.0, 0.0, 1.2]
facing = "key"
"""


def quick() -> tuple[Stock, list[int]]:
    """A stock that counts what it traces, coarsely."""
    count: list[int] = []

    def trace(world: Any) -> Preview:
        count.append(1)
        return Preview.trace(world, within=0.3, follow_all=True, magnify=False)

    return Stock(trace), count


def numbers_of(found: Any, name: str) -> list[Finding]:
    return [step.findings[name] for step in found.steps.values()]


def test_inverse_square_along_a_walk() -> None:
    """A Lambertian sphere lights as its intensity over the squared distance to its middle, at any distance
    (any text on photometry): -2 stops for each doubling."""
    stock, count = quick()
    found = walk(loads(SPACE), "light.key.around.distance = 0.5, 1, 2, 4", ["level.key"], stock=stock)
    assert found.traced == len(count) == 4 and found.measures == ("level.key",)
    levels = numbers_of(found, "level.key")
    for distance, (near, far) in zip((0.5, 1.0, 2.0), pairwise(levels), strict=True):
        # Of the light, the share (r / d)^2 is left to directions drawn by chance, which at a few thousand
        # samples may all miss so small a lamp: no replica tells of it.
        unseen = (0.025 / distance) ** 2 / math.log(2.0)
        error = 4.0 * math.hypot(near.error, far.error) + unseen
        assert far.number - near.number == pytest.approx(-2.0, abs=error)


def test_dimmers_colour_and_exposure_trace_nothing_anew() -> None:
    stock, count = quick()
    found = walk(loads(SPACE), "light.key.dim = 0.25, 0.5, 1", stock=stock)
    assert len(count) == found.traced == 1
    levels = [it.number for it in numbers_of(found, "level.key")]
    assert np.diff(levels) == pytest.approx([1.0, 1.0], abs=1e-9)
    for key in (
        "light.key.cct = 3200, 5600",
        "light.key.lumens = 500, 1000, 2000",
        "light.key.colour = [1, 1, 1], [1, 0.5, 0.2]",
        "camera.t_stop = 2..4 in 3",
    ):
        walk(loads(SPACE), key, stock=stock)
    # the walk lets go of light that no later step needs, so each traced once more and no step beside
    assert len(count) == 5


def test_two_keys_are_a_grid() -> None:
    stock, count = quick()
    keys = ["light.key.around.distance=1..2 in 2", "light.key.dim=0.25, 0.5, 1"]
    found = walk(loads(SPACE), keys, ["level.key"], stock=stock)
    assert len(count) == 2 and len(found.steps) == found.planned == 6
    level = {numbers: step.findings["level.key"].number for numbers, step in found.steps.items()}
    for i in range(2):
        assert level[i, 2] - level[i, 0] == pytest.approx(2.0, abs=1e-9)
    assert [i for i, _ in found.line(1)] == [0, 1] and list(found.others) == [0, 1, 2]
    sheet, curves = found.sheet(), found.curves()
    assert (sheet[0] == PAPER).all() and (curves[0] == PAPER).all()
    rows = list(csv.DictReader(io.StringIO(found.csv())))
    assert len(rows) == 6 and float(rows[5]["level.key"]) == pytest.approx(level[1, 2], rel=1e-5)
    assert rows[0].keys() >= {"light.key.around.distance", "light.key.dim", "level.key error"}
    assert json.dumps(found.as_json(), allow_nan=False)
    assert found._repr_png_().startswith(b"\x89PNG")


def test_where_a_target_is_passed_is_found() -> None:
    """A level of log2(dim) over that at full passes its limit at a dimmer known in closed form."""
    stock, _ = quick()
    full = numbers_of(walk(loads(SPACE), "light.key.dim=0.5, 1", stock=stock), "level.key")[1].number
    limit = round(full - 1.3, 3)
    scene = loads(SPACE + f"[target.level.key]\nstops = [{limit}, 12]\n")
    found = walk(scene, "light.key.dim=0.1..1 in 7", stock=stock)
    (only,) = crossings(found)
    exact = 2.0 ** (limit - full)
    assert only.name == "level.key" and only.met_after and only.limit == pytest.approx(limit)
    below, above = (found.varied[0].values[i] for i in only.between)
    assert below < exact < above
    assert abs(only.at - exact) < 2.0 * only.error
    assert any("meets its target" in line and "level, key" in line.lower() for line in found.lines())
    verdicts = [step.verdicts["level.key"].result for step in found.steps.values()]
    assert verdicts[0] == "fail" and verdicts[-1] == "pass"


def test_interpolation_and_its_error() -> None:
    """Straight lines in closed form; of a parabola y = x^2 the error covers how far the line misses it."""
    at, error = interpolated(Point(1.0, 0.0, 0.1), Point(3.0, 4.0, 0.1), 1.0)
    assert at == pytest.approx(1.5) and error == pytest.approx(math.hypot(0.075, 0.025) / 2.0)
    at, error = interpolated(Point(1.0, 1.0, 0.0), Point(2.0, 4.0, 0.0), 2.0, Point(3.0, 9.0, 0.0))
    assert at == pytest.approx(4.0 / 3.0)
    # y'' = 2: the line lies (x - 1)(2 - x) = 2/9 over the parabola, and 2/27 to its side at a slope of 3
    assert error == pytest.approx(2.0 / 27.0) and abs(at - 2.0**0.5) < 1.2 * error


def test_a_change_of_pattern_is_told() -> None:
    def step(pattern: str) -> Step:
        findings = {"pattern": Finding.word(pattern, "", "")} if pattern else {}
        return Step(np.zeros((20, 16, 3), np.uint8), findings, {}, {}, True)

    line = [(0, step("split")), (1, step("loop")), (2, step("loop")), (4, step("flat"))]
    found = [(it.between, it.before, it.after) for it in changes(line)]
    assert found == [((0, 1), "split", "loop"), ((2, 4), "loop", "flat")]


def test_an_interrupt_keeps_the_finished_steps(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The signal comes while the third step is traced: that one is given up, two are written."""
    (tmp_path / "scene.toml").write_text(SPACE)
    before = Preview.trace.__func__  # type: ignore[attr-defined]
    count: list[int] = []

    def trace(cls: type[Preview], world: Any, **options: Any) -> Preview:
        count.append(1)
        watch = options.pop("watch")

        def watched(now: Any) -> None:
            watch(now)
            if len(count) == 3:
                os.kill(os.getpid(), signal.SIGINT)

        return before(cls, world, watch=watched, **options)  # type: ignore[no-any-return]

    arguments = ["walk", str(tmp_path / "scene.toml"), "--vary", "light.key.around.distance=1..2 in 5"]
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Preview, "trace", classmethod(trace))
        patched.setattr(Pool, "interrupts", 0)
        assert main([*arguments, "--out", str(tmp_path / "out"), "--within", "0.3"]) == 130
    said = capsys.readouterr().out
    assert "2 of 5 steps are finished" in said
    files = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert files == ["curves.png", "walk.csv", "walk.json", "walk.png"]
    data = json.loads((tmp_path / "out" / "walk.json").read_text())
    assert [step["values"] for step in data["steps"]] == [[1.0], [1.25]]


def test_an_interrupt_before_the_first_step_writes_nothing() -> None:
    def trace(world: Any) -> Preview:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        walk(loads(SPACE), "light.key.dim=0.5, 1", stock=Stock(trace))


def test_values_as_a_person_writes_them() -> None:
    assert vary("a.b=1.4..2.6 in 5") == Vary("a.b", (1.4, 1.7, 2.0, 2.3, 2.6))
    assert vary(" a.b = 90 .. 20 in 8 ").values == (90, 80, 70, 60, 50, 40, 30, 20)
    assert vary("a=-30..30 in 3").values == (-30, 0, 30)
    assert vary("a=1.4, 1.8,2.2").values == (1.4, 1.8, 2.2)
    assert vary("sitter.mesh=head, broad").values == ("head", "broad")
    assert vary("a=[1, 1], [2, 2]").values == ([1, 1], [2, 2]) and not vary("a=[1], [2]").numeric
    assert vary("a=head, broad").places == (1.0, 2.0)


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        ([], "expected one --vary or two; got 0"),
        (["light.key.dim"], "expected KEY=LOW..HIGH in STEPS"),
        (["light.key.dim=0..1"], "expected KEY=LOW..HIGH in STEPS"),
        (["light.key.dim=0..1 in 1"], "expected 2 to 41 steps; got 1"),
        (["light.key.dim=1..1 in 3"], "both ends are 1"),
        (["light.key.dim=0.5, 1, 0.5"], "0.5 is given twice; expected values that differ"),
        (["title=a, b"], "--vary title: is only words; expected a key that changes the light"),
        (["light.key.dim=0.5"], "expected 2 to 41 values; got 1"),
        (["light.key.dmi=0.5, 1"], "light.key.dmi = 0.5 (and one more step): unknown key"),
        (["light.kye.dim=0.5, 1"], 'did you mean "key"?'),
        (["light.key.dim=0.5, 1", "light.key.dim=0.5, 1"], "given twice"),
        (["light.key.dim=0.5, 1.5"], "light.key.dim = 1.5: expected a share from 0 to 1"),
        (["light.key.around.height=0.01..2 in 3"], "light.key.around.height = 0.01: light.key.around"),
        (["light.key.dim=0..1 in 20", "light.key.cct=3200..5600 in 20"], "400 steps in all"),
    ],
)
def test_a_fault_is_one_line_before_anything_is_traced(
    tmp_path: Path, arguments: list[str], line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "scene.toml").write_text(SPACE)
    given = [part for text in arguments for part in ("--vary", text)]
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Preview, "trace", None)
        assert main(["walk", str(tmp_path / "scene.toml"), *given]) == 2
    said = capsys.readouterr().err.strip().splitlines()
    assert len(said) == 1 and line in said[0], said


def test_every_bad_step_is_named_and_no_flood() -> None:
    scene: Scene = loads(SPACE)
    with pytest.raises(InputError) as caught:
        scenes_of(scene, [vary("light.key.dim=0.5..3 in 11")])
    assert len(caught.value.lines) == 7 and caught.value.lines[-1] == "and 2 more steps that cannot be"


def test_the_nearest_measure_is_told() -> None:
    with pytest.raises(InputError, match='no such measure; did you mean "eye_shade"'):
        walk(loads(SPACE), "light.key.dim=0.5, 1", ["eye_shed"])
    stock, _ = quick()
    found = walk(loads(SPACE), "light.key.dim=0.5, 1", ["eye_shade", "level.key"], stock=stock)
    assert found.measures == ("level.key",) and len(found.notes) == 2


def test_ticks_are_round_and_few() -> None:
    """Steps of 1, 2 or 5 times a power of ten (common practice, no source)."""
    for low, high in ((0.0, 1.0), (-3.3, 0.2), (12.0, 1870.0), (0.0101, 0.0109)):
        ticks = nice_ticks(low, high)
        step = ticks[1] - ticks[0]
        lead = step / 10.0 ** math.floor(math.log10(step) + 1e-9)
        assert 3 <= len(ticks) <= 9 and min(abs(lead - it) for it in (1.0, 2.0, 5.0)) < 1e-6
        assert low - 1e-9 <= ticks[0] and ticks[-1] <= high + 1e-9


def test_a_chart_keeps_inside_its_paper() -> None:
    points = [(x, -3.0 + x * x, 0.3) for x in (1.0, 2.0, 3.0)]
    ticks = [(x, f"{x:g}") for x, _, _ in points]
    curves = [Curve(points, "first one"), Curve(points[::-1], "second")]
    chart = Chart("eye shade, stops", "height, m", curves, ticks, [(-1.0, math.inf)], [(1.5, 0.1)])
    made = draw_chart(chart, 560, 300)
    assert made.shape == (300, 560, 3)
    for border in (made[0], made[-1], made[:, 0], made[:, -1]):
        assert (border == PAPER).all()
    with pytest.raises(ValueError, match="at least one point"):
        draw_chart(Chart("", "", [Curve([(1.0, math.nan, 0.0)])], ticks), 560, 300)


def test_a_place_on_a_clock_is_said_as_one() -> None:
    """1.333 hours are twenty past one; a change is in hours (common practice, no source)."""
    assert short(Finding(1.333, 0.05, "h", "")) == "1:20 \u00b13 min"
    assert value_words(Finding(1.333, 0.05, "h", "")) == "1:20 \u00b13 min"
    assert amount(-4.03, 0.05, "h", change=True) == "\u22124.0 \u00b10.1 h"


def test_a_step_that_cannot_be_built_is_named() -> None:
    """A rim of 10 mm does not clear the face: known once the head is read, before anything is traced."""
    text = SPACE.split("[mark.key]")[0].replace('mesh = "none"', "") + "[sitter.glasses]\n"
    with pytest.raises(InputError, match=r"^sitter\.glasses\.rim = 0\.01: sitter\.glasses: the face is"):
        walk(loads(text), "sitter.glasses.rim=0.002, 0.01")
