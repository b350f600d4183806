"""Even surroundings: what flat, hemispherical and narrow receptors read under a uniform sky."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from light_lab import LIMIT, box_of_rectangles, cone, disc, dome, flat, read, triple

from renderer.scene.parts import Part, Rectangle

LUMINANCE = 1000.0
HERE = (0.3, -0.2, 0.0)
HALF = 2.0
SHELL = box_of_rectangles(HALF, LUMINANCE, 0.0)


def upper_half() -> list[Part]:
    """The shell above z = 0: from there it fills the upper half-space and no more."""
    parts = [SHELL[5]]
    for part in SHELL[:4]:
        shape = part.shape
        assert isinstance(shape, Rectangle)
        centre = triple((*shape.centre[:2], HALF / 2))
        parts.append(replace(part, shape=replace(shape, centre=centre, half_v=(0.0, 0.0, HALF / 2))))
    return parts


def tilted(degrees: float) -> tuple[float, float, float]:
    return math.sin(math.radians(degrees)), 0.0, math.cos(math.radians(degrees))


@pytest.mark.parametrize("degrees", [0.0, 30.0, 60.0])
def test_flat_receptor_in_an_even_shell(degrees: float) -> None:
    """Textbook: E = pi L."""
    reading = read([SHELL], flat(HERE, tilted(degrees)), samples=2048)
    assert abs(reading.off(math.pi * LUMINANCE)) <= LIMIT


@pytest.mark.parametrize("degrees", [0.0, 45.0, 90.0, 120.0])
def test_flat_receptor_under_a_hemisphere(degrees: float) -> None:
    """Textbook: E = pi L (1 + cos b) / 2 at tilt b."""
    expected = math.pi * LUMINANCE * (1.0 + math.cos(math.radians(degrees))) / 2.0
    reading = read([upper_half()], flat(HERE, tilted(degrees)), samples=4096)
    assert abs(reading.off(expected)) <= LIMIT


@pytest.mark.parametrize("degrees", [0.0, 60.0, 90.0, 150.0, 180.0])
def test_hemispherical_receptor_weighs_a_beam_by_its_projected_area(degrees: float) -> None:
    """A hemisphere seen at an angle t from its axis covers (1 + cos t) / 2 of its base: geometry."""
    away = 100.0  # so far that the disc is a beam: its half angle is 0.2 degrees
    source = disc((0, 0, away), (0, 0, -1), 0.4)
    reading = read([[source]], dome((0, 0, 0), tilted(degrees)), samples=1024)
    beam = LUMINANCE * math.pi * 0.4**2 / away**2
    bias = (0.4 / away) ** 2  # second order in the half angle
    expected = beam * (1.0 + math.cos(math.radians(degrees))) / 2.0
    if degrees == 180.0:
        assert reading.value() <= beam * bias
    else:
        assert abs(reading.off(expected, bias=bias)) <= LIMIT


def test_hemispherical_receptor_in_even_light() -> None:
    """The mean of (1 + cos t) / 2 over all directions is 1 / 2, over the half before it 3 / 4."""
    whole = read([SHELL], dome(HERE, tilted(35.0)), samples=2048)
    assert abs(whole.off(2.0 * math.pi * LUMINANCE)) <= LIMIT
    half = read([upper_half()], dome(HERE, (0, 0, 1)), samples=4096)
    assert abs(half.off(1.5 * math.pi * LUMINANCE)) <= LIMIT


def test_spot_meter_reads_luminance_and_its_mean_over_the_cone() -> None:
    reading = read([SHELL], cone(HERE, tilted(35.0), 1.0), samples=256)
    assert abs(reading.off(LUMINANCE)) <= LIMIT
    # a disc of half angle 1 degree inside a cone of 2 degrees
    moon = disc((0, 0, 1), (0, 0, -1), math.tan(math.radians(1.0)))
    share = (1.0 - math.cos(math.radians(1.0))) / (1.0 - math.cos(math.radians(2.0)))
    reading = read([[moon]], cone((0, 0, 0), (0, 0, 1), 2.0), samples=4096)
    assert abs(reading.off(LUMINANCE * share)) <= LIMIT
