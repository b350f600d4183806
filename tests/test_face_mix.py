"""Dimmers change the measures without tracing; the files keep all that this needs. Outlines in pictures."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from face_lab import THREADS
from light_lab import LIMIT

from renderer.film.layers import Layers
from renderer.film.mix import Fader, Mix
from renderer.kernels.layout import MESH, SEEN, WALL
from renderer.meter.face.background import Frame, outline_findings
from renderer.meter.face.finding import Finding
from renderer.preview import Preview
from renderer.record import read, write
from renderer.scene.load import load

SCENE = Path(__file__).parents[1] / "scenes" / "default.toml"


@cache
def preview() -> Preview:
    scene = load(SCENE)
    camera = scene.camera.model_copy(update={"picture": (160, 200)})
    return Preview.trace(scene.model_copy(update={"camera": camera}), within=1.0, seed=3, threads=THREADS)


def findings(of: Preview) -> dict[str, Finding]:
    face = of.numbers().face
    assert face is not None
    return face.findings


def test_one_dimmer_for_all_changes_no_ratio() -> None:
    before = findings(preview())
    names = preview().layers.mix.names()
    dims = {fader.name: 0.5 * fader.dim for fader in preview().layers.mix.faders}
    after = findings(preview().mixed(dim=dims))
    assert names and before.keys() == after.keys()
    for name, finding in before.items():
        if isinstance(finding.value, str):
            assert after[name].value == finding.value
        else:
            assert after[name].number == pytest.approx(finding.number, rel=1e-6, abs=1e-6, nan_ok=True)


def test_ratio_and_key_to_fill_without_the_edge_light() -> None:
    """With the same fill at both discs, (K + F) : F would be K : F + 1; the two cheeks see unlike fill."""
    alone = findings(preview().mixed(solo=["key"]))
    ratio, key = alone["lighting_ratio"].number, alone["key_to_fill"].number
    assert key > 0.5 * (ratio - 1.0)
    assert alone["lighting_ratio"].number > findings(preview())["lighting_ratio"].number
    assert "rim" not in alone  # the edge light is dark


def test_a_dark_light_makes_no_catchlight() -> None:
    dark = findings(preview().mixed(mute=["key"]))
    assert dark["catchlights"].number < findings(preview())["catchlights"].number


def test_files_keep_the_measures(tmp_path: Path) -> None:
    write(preview(), tmp_path)
    again = read(tmp_path)
    for mix in ({}, {"dim": {"edge": 0.3}}):
        before, after = findings(preview().mixed(**mix)), findings(again.mixed(**mix))
        assert before.keys() == after.keys()
        for name, finding in before.items():
            if isinstance(finding.value, str):
                assert after[name].value == finding.value
            elif math.isfinite(finding.value):
                assert after[name].number == pytest.approx(finding.value, rel=1e-3, abs=2e-3), name
    assert again.numbers().as_json()["not_given"] == preview().numbers().as_json()["not_given"]


def picture(inner: float, outer: float, rim: float = 0.0) -> tuple[Layers, Frame]:
    """A square sitter 100 mm wide of 1 mm pixels; `rim` is what a second light adds to its left 8 mm."""
    seen = np.zeros((140, 140), SEEN)
    seen["family"] = WALL
    seen["family"][20:, 20:120] = MESH
    sitter = seen["family"] == MESH
    radiance = np.zeros((2, 140, 140, 3), np.float32)
    radiance[0] = np.where(sitter, inner, outer)[..., None]
    radiance[1, 20:, 20:28] = rim
    mix = Mix((Fader("key", cct=5600), Fader("edge", "edge")))
    blank = np.zeros_like(radiance)
    layers = Layers(mix, radiance, blank, blank, seen, np.zeros((16, 0, 2, 2, 3)), 0.0, 1, 1, 0.0, 0, False)
    return layers, Frame(0.001, 140, 0.9, 0.5)


@pytest.mark.parametrize(("outer", "share"), [(0.5, 100.0), (0.9, 0.0), (2.0, 100.0), (1.0, 0.0)])
def test_separation_and_background_level(outer: float, share: float) -> None:
    layers, frame = picture(1.0, outer)
    found = outline_findings(layers, frame, float(layers.picture()[70, 70] @ [0.2126, 0.7152, 0.0722]), [1])
    assert found["separation"].number == pytest.approx(share)
    assert found["background"].number == pytest.approx(math.log2(outer), abs=1e-5)
    assert found["background_evenness"].number == pytest.approx(0.0, abs=1e-6)
    assert "rim" not in found


def test_a_black_background_lies_without_end_under_the_cheek() -> None:
    layers, frame = picture(1.0, 0.0)
    found = outline_findings(layers, frame, 1.0, [])
    assert found["background"].number == -math.inf
    assert "background_evenness" not in found
    assert math.isnan(outline_findings(layers, frame, 0.0, [])["background"].number)


def test_a_noisy_background_is_not_uneven() -> None:
    """A wall twice as bright on one side, its pixels off by a fifth: within its stated error it is as even as
    one without noise."""
    layers, frame = picture(1.0, 0.5)
    across = np.linspace(0.5, 1.0, 140, dtype=np.float32)
    noise = np.random.default_rng(3).normal(0.0, 0.3, (2, 140, 140)).astype(np.float32)
    behind = ~layers.sitter()
    true = np.broadcast_to(across, (140, 140))
    layers.radiance[0][behind] = (true * (1.0 + noise.mean(axis=0)))[behind, None]
    half = np.zeros_like(layers.radiance)
    half[0][behind] = (true * 0.5 * (noise[0] - noise[1]))[behind, None]
    found = outline_findings(replace(layers, difference=half), frame, 1.0, [])["background_evenness"]
    calm = layers.radiance.copy()
    calm[0][behind] = true[behind, None]
    still = outline_findings(replace(layers, radiance=calm), frame, 1.0, [])["background_evenness"]
    assert 0.01 <= found.error < 0.05
    assert abs(found.number - still.number) < LIMIT * found.error


def test_rim_strength_and_width() -> None:
    """3 over a skin of 1 makes 4, two stops over the cheek, 8 mm wide."""
    layers, frame = picture(1.0, 0.1, rim=3.0)
    found = outline_findings(layers, frame, 1.0, [1])
    assert found["rim"].number == pytest.approx(2.0, abs=0.01)
    assert found["rim_width"].number == pytest.approx(8.0, abs=0.51)


def test_a_coarse_picture_says_nothing() -> None:
    layers, frame = picture(1.0, 0.5)
    assert outline_findings(layers, replace(frame, metre_per_pixel=0.01), 1.0, []) == {}
