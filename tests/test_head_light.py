"""The light of reflector heads, traced, against intensities: level, lumens, beam, field angle, direction."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from light_lab import LIMIT, Reading, flat, read
from photometry_lab import about_c0, about_c90, lm63, steps

from renderer.scene.lights.head import HeadLight
from renderer.scene.parts import Vec3
from renderer.scene.place import LightPlace

DOWN = LightPlace((0.0, 0.0, 2.0), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0))
"""Hung over the sitter's place, straight down; the camera is along +y, camera right is +x."""
FROM_CAMERA = LightPlace((0.0, 2.0, 1.2), (0.0, 0.0, 1.2), (0.0, 1.0, 0.0))


def head(**keys: object) -> HeadLight:
    return HeadLight.model_validate({"source": "head", "at": (0.0, 0.0, 2.0), **keys})


def from_file(folder: Path, text: str, **keys: object) -> HeadLight:
    (folder / "a.ies").write_text(text)
    light = head(file="a.ies", **keys)
    light.settle(folder)
    return light


def at(gamma: float, c: float, distance: float) -> Vec3:
    """Under `DOWN`, from its centre: C counter-clockwise as seen from above, from the right of someone who
    stands behind the head with up towards the camera (so from camera left, -x) to the camera, +y."""
    g, turn = math.radians(gamma), math.radians(c)
    out, down = distance * math.sin(g), distance * math.cos(g)
    return -out * math.cos(turn), out * math.sin(turn), 2.0 - down


def facing(points: list[Vec3]) -> list[np.ndarray]:
    return [flat(point, np.subtract(DOWN.centre, point)) for point in points]


def lux(light: HeadLight, points: list[Vec3], samples: int = 256) -> Reading:
    return read([light.parts(DOWN)], facing(points), samples=samples)


@pytest.mark.parametrize(("beam", "field"), [(12.0, None), (40.0, None), (40.0, 55.0), (90.0, 130.0)])
def test_lux_on_the_axis_is_candela_over_distance_squared(beam: float, field: float | None) -> None:
    """Far from a small aperture. Its rim is seen at r / d off the axis: a lobe cos^n is (n + 3) / 4 (r / d)^2
    lower on the mean, and its straight line over the first degree h, 1 - n h gamma / 2, by n h / 3 r / d;
    n = 126 for 12 degrees, and less at the axis of beams with a field angle."""
    light = head(diameter=0.02, beam=beam, field=field, candela=800.0)
    n = math.log(0.5) / math.log(math.cos(math.radians(beam / 2)))
    rim = 0.01 / 4.0
    bias = (n + 3.0) / 4.0 * rim**2 + n * math.radians(1.0) / 3.0 * rim + 1e-5
    assert abs(lux(light, [at(0.0, 0.0, 4.0)], 1024).off(50.0, bias=bias)) <= LIMIT


@pytest.mark.parametrize(("beam", "field"), [(20.0, None), (44.0, 66.0), (90.0, 130.0)])
def test_beam_and_field_angle_are_read_back_across_the_beam(beam: float, field: float | None) -> None:
    """A meter carried round the head at one distance reads a half and a tenth where the angles say. Straight
    lines between whole degrees, and an aperture of 0.3 degrees: within 0.1 degree."""
    light = head(diameter=0.02, beam=beam, field=field, candela=800.0)
    gammas = np.arange(0.0, 90.0, 1.0)
    values = lux(light, [at(float(g), 130.0, 4.0) for g in gammas]).totals().mean(axis=0)
    share = values / values[0]
    for level, full in ((0.5, beam), (0.1, field)):
        if full is not None:
            found = float(np.interp(-level, -share, gammas))
            assert 2.0 * found == pytest.approx(full, abs=0.1)


def flux(light: HeadLight, planes: int = 24, rings: int = 24) -> float:
    """Lumens onto a sphere round the head, by the inverse square law: Gauss's rule over cos(gamma), even
    steps of the turn, which are exact for intensities that run straight between them."""
    nodes, weights = np.polynomial.legendre.leggauss(rings)
    gammas = np.degrees(np.arccos(0.5 * (nodes + 1.0)))
    points = [at(float(g), 360.0 * k / planes, 1.0) for g in gammas for k in range(planes)]
    values = lux(light, points, 64).totals().mean(axis=0).reshape(rings, planes).mean(axis=1)
    return float(values @ (weights * 0.5) * 2.0 * math.pi)


def test_the_lumens_given_are_the_lumens_traced() -> None:
    """A lobe of n = 11 is a polynomial of degree 11 in cos(gamma): Gauss's rule of 24 nodes is exact for it,
    and off by the table's h^2 / 8 n^2 of a degree; the aperture adds (n + 3) / 4 (r / d)^2."""
    light = head(diameter=0.02, beam=40.0, lumens=700.0)
    n = math.log(0.5) / math.log(math.cos(math.radians(20.0)))
    bound = n**2 * math.radians(1.0) ** 2 / 8.0 + (n + 3.0) / 4.0 * 0.01**2
    assert flux(light, planes=1) == pytest.approx(700.0, rel=bound)
    assert light.flux() == pytest.approx(700.0)


def test_the_lumens_of_a_file_are_the_lumens_traced(tmp_path: Path) -> None:
    """1000 (1 + 0.4 cos C) cos(gamma) has 1000 pi lumens. Rings of 15 degrees each way are its nodes."""
    text = lm63(about_c0, steps(0.0, 180.0, 15.0), steps(0.0, 90.0, 1.0))
    light = from_file(tmp_path, text, diameter=0.02)
    edge = math.cos(math.radians(88.0)) ** 2  # cos(gamma) is held from there on
    assert flux(light) == pytest.approx(1000.0 * math.pi, rel=edge + 0.01**2 + 2e-4)
    assert light.flux() == pytest.approx(1000.0 * math.pi, rel=edge + 2e-4)


def test_a_lopsided_file_hung_straight_down(tmp_path: Path) -> None:
    """At 30 degrees off the axis intensities are 1000 cos(30) times 1.4, 1, 0.6 and 1 round the turn. C goes
    counter-clockwise as seen from above (CIE 121, ANSI/IES LM-75)."""
    gammas = steps(0.0, 90.0, 1.0)
    for about, planes, expected in (
        (about_c0, steps(0.0, 180.0, 15.0), (1.4, 1.0, 0.6, 1.0)),
        (about_c90, steps(90.0, 270.0, 15.0), (1.0, 1.4, 1.0, 0.6)),
    ):
        light = from_file(tmp_path, lm63(about, planes, gammas), diameter=0.02)
        values = lux(light, [at(30.0, c, 2.0) for c in (0.0, 90.0, 180.0, 270.0)]).totals().mean(axis=0)
        wanted = 250.0 * math.cos(math.radians(30.0)) * np.array(expected)
        assert values == pytest.approx(wanted, rel=2e-3)


@pytest.mark.parametrize(
    ("roll", "side"),
    [(0.0, "camera right"), (90.0, "up"), (180.0, "camera left"), (270.0, "down"), (-90.0, "down")],
)
def test_a_lopsided_file_before_the_sitter(tmp_path: Path, roll: float, side: str) -> None:
    """Most light along C0, from a head beside the camera: to camera right, and where `roll` turns it."""
    text = lm63(about_c0, steps(0.0, 180.0, 15.0), steps(0.0, 90.0, 1.0))
    light = from_file(tmp_path, text, diameter=0.02, roll=roll)
    out = {"camera right": (1, 0), "up": (0, 1), "camera left": (-1, 0), "down": (0, -1)}
    probes = [flat((x, 0.0, 1.2 + z), (-x, 2.0, -z)) for x, z in out.values()]
    values = read([light.parts(FROM_CAMERA)], probes, samples=256).totals().mean(axis=0)
    by_side = dict(zip(out, values / values.mean(), strict=True))
    opposite = {"camera right": "camera left", "camera left": "camera right", "up": "down", "down": "up"}
    assert by_side.pop(side) == pytest.approx(1.4, rel=2e-3)
    assert by_side.pop(opposite[side]) == pytest.approx(0.6, rel=2e-3)
    assert list(by_side.values()) == pytest.approx([1.0, 1.0], rel=2e-3)
