"""Where a light's white lies, as a scene says it, and gels set anew in a mix."""

from __future__ import annotations

import json
import warnings
from typing import Any

import numpy as np
import pytest

from renderer import colour
from renderer.cli import main, options
from renderer.errors import InputError
from renderer.film.mix import Fader, Mix
from renderer.picture.develop import develop
from renderer.record.form import FaderForm
from renderer.record.save import _fader
from renderer.scene.gel import CLEAR, GRADES, Gel
from renderer.scene.layer import layers
from renderer.scene.load import loads
from renderer.scene.summary import summary
from renderer.scene.white import greenest

with warnings.catch_warnings():  # it would rather have matplotlib
    warnings.simplefilter("ignore")
    import colour as reference  # colour-science

CMFS = reference.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
LAMP = '[light.key]\nsource = "bulb"\nat = [0, 1.5, 2]\ndiameter = 0.1\nlumens = 500\n'
ROOM = "[room]\nwidth = 4\ndepth = 5\nheight = 2.4\nback_wall = 2\n"
WINDOW = '[room.window.north]\nwall = "back"\ncentre = [0, 1]\nwidth = 1\nheight = 1\nlux = 10\n'
FOUND = "[room.found]\nlux = 20\n"


def fader(text: str) -> Fader:
    (layer,) = layers(loads(text))
    return Fader.of(layer)


def white(text: str) -> tuple[float, float]:
    """Colour temperature and Duv of the mixed light, by Ohno's method in colour-science 0.4.7."""
    xy = colour.xy_of_rgb(fader(text).weight())
    cct, duv = reference.temperature.uv_to_CCT_Ohno2013(reference.xy_to_UCS_uv(xy), cmfs=CMFS)
    return float(cct), float(duv)


@pytest.mark.parametrize("duv", [-0.006, 0.0, 0.003, 0.009])
@pytest.mark.parametrize("table", [LAMP, ROOM + WINDOW, ROOM + FOUND], ids=["lamp", "window", "found"])
def test_duv_reaches_the_mix(table: str, duv: float) -> None:
    """Y. Ohno, Leukos 10(1), 2014; tolerances as stated in `renderer.colour.tint`: 0.01 mired, 2e-6 in Duv,
    and half as much again for xy rounded through RGB."""
    cct, found = white(table + f"cct = 4300\nduv = {duv}\n")
    assert 1e6 / cct == pytest.approx(1e6 / 4300.0, abs=0.015)
    assert found == pytest.approx(duv, abs=3e-6)


@pytest.mark.parametrize("cct", [4200.0, 5600.0, 9000.0])
def test_loci_reach_the_mix(cct: float) -> None:
    # CIE 15 method D, and the integral of Planck's law, both in colour-science 0.4.7
    daylight = colour.xy_of_rgb(fader(LAMP + f'cct = {cct}\nlocus = "daylight"\n').weight())
    np.testing.assert_allclose(daylight, reference.temperature.CCT_to_xy_CIE_D(cct), atol=1e-9)
    body = colour.xy_of_rgb(fader(LAMP + f'cct = {cct}\nlocus = "planckian"\n').weight())
    planck = reference.UCS_uv_to_xy(reference.temperature.CCT_to_uv_Planck1900(cct, cmfs=CMFS))
    np.testing.assert_allclose(body, planck, atol=2.9e-6)


def test_a_gel_keeps_the_duv() -> None:
    cct, duv = white(LAMP + 'cct = 5600\nduv = 0.004\ngel = "quarter_warming"\n')
    assert 1e6 / cct == pytest.approx(1e6 / 5600.0 + 64.0, abs=0.015)
    assert duv == pytest.approx(0.004, abs=3e-6)


@pytest.mark.parametrize("keys", ["duv = 0.004", 'locus = "planckian"', 'locus = "daylight"', ""])
def test_the_camera_balanced_to_a_light_shows_it_neutral(keys: str) -> None:
    """Definition of a white balance: a grey surface in that light has equal codes."""
    camera = "".join(f"white_balance_{line}\n" for line in keys.split("\n") if line)
    scene = loads(f"[camera]\nwhite_balance = 4700\n{camera}{LAMP}cct = 4700\n{keys}\n")
    (layer,) = layers(scene)
    balance = scene.camera.white()
    matrix = colour.white_balance_matrix(balance.cct, balance.locus or "blend", balance.duv)
    pixel = develop(np.full((1, 1, 3), 10.0) * Fader.of(layer).weight(), 30.0, matrix)
    assert np.ptp(pixel.astype(int)) == 0


def test_greenest_whites_are_colours() -> None:
    """Beyond x + y = 1 lie no colours of light: CIE 1931 spectral locus from green to red (z = 0)."""
    for cct in (1500.0, 1800.0, 2000.0, 2500.0, 3000.0, 4000.0):
        assert colour.xy_of_cct(cct, duv=greenest(cct)).sum() <= 1.0
    for cct, over in ((1500.0, 0.0045), (2000.0, 0.0115)):  # the figures in its docstring
        assert colour.xy_of_cct(cct, duv=over).sum() > 1.0 > colour.xy_of_cct(cct, duv=over - 0.001).sum()


def test_the_summary_says_it() -> None:
    text = " ".join(summary(loads("[camera]\nwhite_balance_duv = 0.002\n" + LAMP + 'locus = "daylight"\n')))
    assert "white balance 5600 K, Duv +0.002" in text and "5600 K on the daylight locus" in text
    assert "3000 K, Duv -0.004" in " ".join(summary(loads(ROOM + FOUND + "duv = -0.004\n")))


TWICE = "where its white lies is said twice: expected locus or duv, not both"
FAULTS = {
    "duv = 0.3": "duv: expected Duv from -0.02 to 0.02; got 0.3",
    'locus = "dayligth"': 'locus: expected "planckian" or "daylight"; got "dayligth";'
    ' did you mean "daylight"?',
    'locus = "daylight"\nduv = 0.001': f"duv: {TWICE}",
    'cct = 3200\nlocus = "daylight"': "locus: daylight begins at 4000 kelvin; got 3200",
    "cct = 1800\nduv = 0.01": "duv: no light is so green at 1800 kelvin: expected at most 0.006; got 0.01",
}


@pytest.mark.parametrize("written", FAULTS)
def test_faults(written: str) -> None:
    tables = {"light.key": LAMP, "room.window.north": ROOM + WINDOW, "room.found": ROOM + FOUND}
    for path, table in tables.items():
        with pytest.raises(InputError) as caught:
            loads(table + written + "\n", "s")
        (line,) = caught.value.lines
        assert line.endswith(f": {path}.{FAULTS[written]}")


def test_a_fault_of_the_camera() -> None:
    with pytest.raises(InputError) as caught:
        loads('[camera]\nwhite_balance = 3200\nwhite_balance_locus = "daylight"\n' + LAMP, "s")
    (line,) = caught.value.lines
    assert line == "s:3: camera.white_balance_locus: daylight begins at 4000 kelvin; got 3200"


def mix() -> Mix:
    (layer,) = layers(loads(LAMP + 'gel = ["full_warming", { stops = 1 }]\nduv = 0.002\n'))
    return Mix((Fader.of(layer), Fader("fill", "fill")))


def test_gels_of_a_mix_stand_in_place_of_the_scenes() -> None:
    found = mix().changed(gel={"key": ["quarter_cooling", Gel(5.0, 0.25)]}).faders
    expected = LAMP + 'duv = 0.002\ngel = ["quarter_cooling", { mired = 5, stops = 0.25 }]\n'
    np.testing.assert_allclose(found[0].weight(), fader(expected).weight(), rtol=1e-12)
    assert found[1] == mix().faders[1]
    assert mix().changed(gel={"key": []}).faders[0].gel == CLEAR
    assert mix().changed(gel={"key": "half_cooling"}).faders[0].gel == GRADES["half_cooling"]


def test_a_lamp_set_anew_keeps_its_gels() -> None:
    found = mix().changed(cct={"key": 3200.0}).faders[0]
    bare = LAMP + 'duv = 0.002\ncct = 3200\ngel = ["full_warming", { stops = 1 }]\n'
    np.testing.assert_allclose(found.weight(), fader(bare).weight(), rtol=1e-12)


def test_gels_of_the_command_line() -> None:
    both = ["key=quarter_warming", "key={ mired = 20, stops = 0.5 }", "fill = none"]
    assert options._gels(both) == {"key": ["quarter_warming", {"mired": 20, "stops": 0.5}], "fill": []}
    assert options._gels(['key=["half_cooling", { mired = 3 }]']) == {"key": ["half_cooling", {"mired": 3}]}


@pytest.mark.parametrize(
    ("given", "line"),
    [
        ("key", "--gel key: expected LIGHT=GEL, such as key=quarter_warming"),
        ("key={ mired", "--gel key={ mired: expected a gel as in a scene, such as key=quarter_warming or"),
        ("kye=full_warming", 'no light is called "kye"; did you mean "key"? (lights: key'),
        ("key=full_warmth", "--gel key: expected full_warming, half_warming,"),
        ("key={ mired = 700 }", "--gel key: mired: expected mired from -500 to 500; got 700"),
        ("key=3", "--gel key: expected full_warming, half_warming,"),
        ("key={ mired = -170 }", "--gel key: leaves no white that is known (1000 to 25000 kelvin): expected"),
    ],
)  # fmt: skip
def test_faults_of_the_command_line(
    given: str, line: str, tmp_path: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    scene = tmp_path / "scene.toml"
    scene.write_text(LAMP)
    assert main(["preview", str(scene), "--out", str(tmp_path / "out"), "--gel", given]) != 0
    printed = capsys.readouterr().err
    assert line in printed and len(printed.strip().splitlines()) == 1


def test_a_lamp_that_its_gels_leave_no_white() -> None:
    with pytest.raises(InputError, match="--cct key: leaves no white that is known"):
        Mix((Fader("key", gel=Gel(-70.0)),)).changed(cct={"key": 20000.0})


def test_files_keep_the_colour() -> None:
    for one in mix().faders:
        assert FaderForm.model_validate(json.loads(json.dumps(_fader(one)))).fader() == one
    old = {"name": "key", "purpose": "key", "dim": 0.5, "cct": 4122.0, "colour": [0.8, 0.8, 0.8]}
    assert FaderForm.model_validate(old).fader() == Fader("key", "key", 0.5, 4122.0, (0.8, 0.8, 0.8))
