"""Scenes side by side: what is reused and what is not, differences in closed form, and how often chance is
taken for a difference."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from two_lamps import SCENE

from renderer.cli import main
from renderer.compare.before import as_found
from renderer.compare.client import plain_words
from renderer.compare.comparison import Comparison, side_by_side
from renderer.compare.difference import Difference, Measured, differences
from renderer.compare.stock import Stock
from renderer.errors import InputError
from renderer.preview import Preview
from renderer.record import write
from renderer.scene.change import changed
from renderer.scene.load import load, loads

EMPTY = SCENE.replace("[camera]", '[sitter]\nmesh = "none"\n[camera]')


@pytest.fixture(scope="module")
def stock() -> Stock:
    return Stock(within=0.3, magnify=False)


@pytest.fixture(scope="module")
def halved(stock: Stock) -> Comparison:
    scene = loads(SCENE)
    half = changed(scene, {"light.key.dim": 0.5, "light.warm.dim": 0.5})
    brighter = changed(scene, {"light.key.lumens": 6000, "light.warm.lumens": 1200})
    return side_by_side([scene, half, brighter], stock)


def test_half_a_dimmer_is_one_stop_and_no_ratio(halved: Comparison, stock: Stock) -> None:
    """Light adds up and is linear, so all dimmers halved are -1 stop everywhere, and four times the lumens
    +2: arithmetic. Both scenes are mixed from the first's layers: nothing else is traced."""
    assert stock.traced == 1 and halved.traced == 1
    assert [entry.how.split(";")[0] for entry in halved.entries] == [
        "traced", "the light of A, mixed anew", "the light of A, mixed anew",
    ]  # fmt: skip
    for letter, stops in (("B", -1.0), ("C", 2.0)):
        levels = {k: it for k, it in halved.differences[letter].items() if k.startswith("level.")}
        assert len(levels) >= 7
        for difference in levels.values():
            assert difference.value == pytest.approx(stops, abs=1e-6) and difference.error < 1e-6
            assert difference.differs
        others = [it for k, it in halved.differences[letter].items() if not k.startswith("level.")]
        assert len(others) > 20 and not any(it.differs for it in others)
    assert set(halved.differing()) == set(levels)


def test_a_new_mix_is_the_same_as_tracing_it(halved: Comparison) -> None:
    """Colour, gel and lumens changed: mixed anew or traced with the same seed, every number is the same."""
    values = {"light.key.lumens": 2250, "light.warm.cct": 4300, "light.key.colour": [1.0, 0.8, 0.6]}
    other = changed(loads(SCENE), values)
    stock = Stock(within=0.3, magnify=False)
    base = stock.take(loads(SCENE), "A").preview
    mixed = stock.take(other, "B")
    assert mixed.of == "A" and stock.traced == 1
    alone = Preview.trace(other, within=0.3, magnify=False)
    assert alone.layers.passes == base.layers.passes
    np.testing.assert_allclose(mixed.preview.layers.picture(), alone.layers.picture(), rtol=2e-4, atol=1e-4)
    found, wanted = mixed.preview.numbers().named(), alone.numbers().named()
    assert found.keys() == wanted.keys()
    for name, finding in wanted.items():
        if isinstance(finding.value, str):
            assert found[name].value == finding.value
        else:
            assert found[name].number == pytest.approx(finding.number, rel=1e-3, abs=1e-3), name


@pytest.mark.parametrize(
    "values",
    [
        {"light.warm.around.height": 1.31},
        {"light.warm.diameter": 0.11},
        {"room.reflectance.floor": 0.3},
        {"camera.lens_mm": 70},
        {"mark.chest.at.z": 0.96},
        {"light.key.purpose": "fill", "light.warm.purpose": "key"},
    ],
)
def test_what_moves_or_reflects_is_traced_anew(values: dict[str, Any]) -> None:
    """Also the layer of a light that was left alone: the other's body stands in its way."""
    count = []

    def trace(world: Any) -> Preview:
        count.append(world)
        return Preview.trace(world, within=2.0, picture=False, face=False)

    stock, scene = Stock(trace), loads(EMPTY)
    stock.take(scene, "A")
    assert stock.take(changed(scene, {"light.key.dim": 0.2, "camera.iso": 100}), "B").of == "A"
    assert stock.take(changed(scene, values), "C").of is None
    assert len(count) == stock.traced == 2


def test_equal_scenes_are_marked_as_often_as_is_said() -> None:
    """Readings of one scene under other seeds: 1 in 20 is marked, within what a binomial of that chance
    leaves out 1 time in 1000 to either side. Meters are independent of each other, and so are seeds."""
    scene = loads(EMPTY + MORE_MARKS)
    taken = [
        Measured.of(Preview.trace(scene, within=2.0, picture=False, face=False, seed=seed))
        for seed in range(40)
    ]
    marks = [name for name in taken[0].findings if name.startswith("level.")]
    pairs = zip(taken[::2], taken[1::2], strict=True)
    found = [differences(a, b)[name].differs for a, b in pairs for name in marks]
    low, high = binomial_range(len(found), 0.05, 1e-3)
    assert len(found) >= 140 and low > 0
    assert low <= sum(found) <= high


MORE_MARKS = "".join(
    f'[mark.m{i}]\nat = [{x}, {y}, {z}]\nfacing = "{way}"\n'
    for i, (x, y, z, way) in enumerate(
        [(0, 0.3, 1.2, "camera"), (0.5, -0.5, 1.0, "up"), (-0.6, 0.2, 1.5, "key"), (0.9, 1, 0.8, "back"),
         (-1, -0.8, 1.4, "warm")]
    )
)  # fmt: skip


def binomial_range(n: int, p: float, tail: float) -> tuple[int, int]:
    """Least and largest count that lie inside all but `tail` of a binomial to either side."""
    below = np.cumsum([math.comb(n, k) * p**k * (1 - p) ** (n - k) for k in range(n + 1)])
    return int(np.searchsorted(below, tail)), int(np.searchsorted(below, 1.0 - tail))


def test_a_change_of_a_tenth_of_a_stop_is_found() -> None:
    """The mark is no ornament: a level that did change is marked though the seeds differ."""
    scene = loads(EMPTY)
    one, other = (
        Measured.of(Preview.trace(it, within=0.02, picture=False, face=False, seed=seed))
        for seed, it in enumerate((scene, changed(scene, {"light.key.dim": 0.93, "light.warm.dim": 0.93})))
    )
    found = differences(one, other)
    assert all(it.differs for name, it in found.items() if name.startswith("level."))
    wanted = math.log2(0.93)
    assert all(abs(it.value - wanted) < 5.0 * it.error for it in found.values() if it.unit == "stops")


def test_one_exposure_and_one_size(halved: Comparison, stock: Stock) -> None:
    scene = loads(SCENE)
    other = changed(scene, {"camera.iso": 200, "camera.picture": [80, 100], "light.key.dim": 0.5})
    found = side_by_side([scene, other], stock)
    assert stock.traced == 1  # at the size of the first the light is there already
    assert [note.split(":")[0] for note in found.notes] == ["B", "B"]
    assert "exposure" in found.notes[0] and "64x80" in found.notes[1] and "80x100" in found.notes[1]
    assert found.differences["B"]["level.key_cheek"].value < -0.3
    moved = halved.entries[0].preview
    camera = moved.scene.camera.model_copy(update={"lens_mm": 100.0})
    far = replace(moved, scene=moved.scene.model_copy(update={"camera": camera}))
    assert "no map" in side_by_side([moved, far]).notes[0]


def test_the_sheet_and_the_file(halved: Comparison) -> None:
    made = halved.sheet()
    assert made.dtype == np.uint8 and made.shape[1] > 3 * 64
    data = json.loads(json.dumps(halved.as_json(), allow_nan=False))
    assert set(data["scenes"]) == {"A", "B", "C"} and set(data["differences"]) == {"B less A", "C less A"}
    level = data["differences"]["B less A"]["level.face"]
    assert level["value"] == pytest.approx(-1.0, abs=1e-5) and level["differs"] is True
    assert halved._repr_png_()[:8] == b"\x89PNG\r\n\x1a\n" == halved.entries[0].preview._repr_png_()[:8]


def test_an_empty_chair_is_not_said_to_look_the_same(halved: Comparison) -> None:
    a, b, _ = halved.entries
    other = "head" if a.preview.scene.sitter.mesh == "none" else "none"
    sitter = b.preview.scene.sitter.model_copy(update={"mesh": other})
    swapped = replace(
        b, preview=replace(b.preview, scene=b.preview.scene.model_copy(update={"sitter": sitter}))
    )
    said = "nobody sits here" if other == "none" else "somebody sits here"
    assert plain_words(a, swapped, halved.differences["B"]) == [said]


def test_plain_words_follow_the_differences(halved: Comparison, stock: Stock) -> None:
    a, b, c = halved.entries
    assert "a darker face" in plain_words(a, b, halved.differences["B"])
    assert "a much brighter face" in plain_words(a, c, halved.differences["C"])
    unsure = {name: replace(it, differs=False) for name, it in halved.differences["C"].items()}
    assert plain_words(a, c, unsure) == ["looks much the same as A"]
    warm = changed(loads(SCENE), {"light.key.cct": 3200, "light.warm.cct": 2700})
    other = side_by_side([loads(SCENE), warm], stock).entries[1]
    assert any("warmer colour" in text for text in plain_words(a, other, {}))
    assert plain_words(a, b, {}) == ["looks much the same as A"]
    small = {"level.face": Difference(0.2, 0.01, "stops", True)}
    assert plain_words(a, c, small) == ["looks much the same as A"]


def test_the_room_as_found() -> None:
    lit = load(Path(__file__).parents[1] / "scenes" / "oboist-5-lamp.toml")
    bare = as_found(lit)
    assert not bare.light and not bare.card and not bare.flag and not bare.breakup and bare.target is None
    assert bare.room is not None and lit.room is not None
    assert bare.room.found == lit.room.found and bare.camera == lit.camera and bare.sitter == lit.sitter
    assert bare.mark.keys() == lit.mark.keys()
    with pytest.raises(InputError, match=r"nothing lights the room as it was found; expected \[room.found\]"):
        as_found(loads(SCENE))


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory, halved: Comparison) -> Path:
    folder = tmp_path_factory.mktemp("compare")
    (folder / "a.toml").write_text(SCENE)
    (folder / "b.toml").write_text(SCENE)
    (folder / "bad.toml").write_text(SCENE.replace("diameter = 0.6", "diametre = 0.6"))
    write(halved.entries[0].preview, folder / "traced")
    write(halved.entries[1].preview, folder / "half")
    return folder


def test_folders_are_compared_without_tracing(
    files: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Preview, "trace", None)  # would fail if it were called
    arguments = [
        "compare",
        str(files / "traced"),
        str(files / "half"),
        "--out",
        str(files / "out"),
        "--for-client",
    ]
    assert main(arguments) == 0
    said = capsys.readouterr().out
    assert "level, face" in said and "−1.00 ±0.01  *" in said and "traced before" in said
    wanted = ["comparison.json", "comparison.png", "options.png"]
    assert sorted(path.name for path in (files / "out").iterdir()) == wanted


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (["a.toml"], "expected 2 to 8 scenes; got 1"),
        (["a.toml", "b.toml", "--as-found"], "expected one scene file with --as-found; got 2"),
        (["traced", "--as-found"], "is a folder; expected a scene file"),
        (["a.toml", "--as-found"], "nothing lights the room as it was found"),
        (["a.toml", "nowhere.toml"], "nowhere.toml"),
        (["a.toml", "bad.toml"], 'unknown key; did you mean "diameter"?'),
        (["traced", "out"], "cannot be read"),
        (["traced", "a.toml", "--size", "32x32", "--out", "a.toml"], "is a file; expected a folder"),
    ],
)
def test_a_fault_is_one_line(
    files: Path,
    arguments: list[str],
    line: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(Preview, "trace", None)
    (files / "out").mkdir(exist_ok=True)
    monkeypatch.chdir(files)
    for path in (files / "out").iterdir():
        path.unlink()
    assert main(["compare", *arguments]) == 2
    said = capsys.readouterr().err.strip().splitlines()
    assert len(said) == 1 and line in said[0], said


def test_pictures_of_two_sizes_are_refused(halved: Comparison) -> None:
    small = halved.entries[0].preview
    camera = small.scene.camera.model_copy(update={"picture": (80, 100)})
    other = replace(small, scene=small.scene.model_copy(update={"camera": camera}))
    with pytest.raises(InputError, match="its picture has 80x100 pixels, the first 64x80; expected one size"):
        side_by_side([small, other])
