"""Exchange between surfaces of finite size: area means of probes set at random over the receiver."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
import view_factor as vf
from light_lab import LIMIT, deviation, disc, flat, grey, read, rectangle, sphere

from renderer.scene.parts import Part
from renderer.world.pack import Box

LUMINANCE = 1000.0
UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
PROBES, SAMPLES = 1024, 64
Place = Callable[[np.random.Generator], tuple[float, float, float]]


def area_mean(sources: list[Part], place: Place, normal: tuple[float, float, float], **world) -> np.ndarray:
    """Replicas of the mean illuminance over a surface: each of 32 groups of probes is a replica."""
    rng = np.random.default_rng(11)
    probes = [flat(place(rng), normal) for _ in range(PROBES)]
    reading = read([sources], probes, samples=SAMPLES, replicas=1, **world)
    return reading.totals()[0].reshape(32, -1).mean(axis=1)


def on_disc(radius: float, z: float) -> Place:
    def place(rng: np.random.Generator) -> tuple[float, float, float]:
        r, phi = radius * math.sqrt(rng.random()), 2.0 * math.pi * rng.random()
        return r * math.cos(phi), r * math.sin(phi), z

    return place


def on_rectangle(x: tuple[float, float], y: tuple[float, float], z: float) -> Place:
    return lambda rng: (rng.uniform(*x), rng.uniform(*y), z)


@pytest.mark.parametrize(
    ("r1", "r2", "h", "printed"),
    [(0.1, 0.2, 0.5, 0.1339), (0.3, 0.5, 1.0, 0.18897), (0.5, 0.3, 1.0, 0.06803)],
)
def test_coaxial_discs(r1: float, r2: float, h: float, printed: float) -> None:
    """From disc 1 to disc 2, read on disc 2 by reciprocity. Siegel & Howell, 4th ed., p. 845."""
    factor = vf.coaxial_discs(r1, r2, h)
    assert factor == pytest.approx(printed, abs=6e-5)
    mean = area_mean([disc((0, 0, h), DOWN, r1)], on_disc(r2, 0.0), UP)
    assert abs(deviation(mean, math.pi * LUMINANCE * factor * r1**2 / r2**2)) <= LIMIT


def test_equal_parallel_rectangles() -> None:
    """1 x 1.5 at 0.5: 0.4756. Siegel & Howell, 4th ed., p. 843."""
    factor = vf.parallel_rectangles(1.0, 1.5, 0.5)
    assert factor == pytest.approx(0.4756, abs=5e-5)
    source = rectangle((0.5, 0.75, 0.5), (0.5, 0, 0), (0, 0.75, 0), DOWN)
    mean = area_mean([source], on_rectangle((0, 1), (0, 1.5), 0.0), UP)
    assert abs(deviation(mean, math.pi * LUMINANCE * factor)) <= LIMIT


@pytest.mark.parametrize(("across", "expected"), [(True, 0.1998249), (False, 0.2000438)])
def test_faces_of_a_cube(across: bool, expected: float) -> None:
    """Opposite and adjacent. Siegel & Howell; Howell's catalogue, section C."""
    if across:
        source = rectangle((0.5, 0.5, 1), (0.5, 0, 0), (0, 0.5, 0), DOWN)
    else:
        source = rectangle((0, 0.5, 0.5), (0, 0.5, 0), (0, 0, 0.5), (1, 0, 0))
    mean = area_mean([source], on_rectangle((0, 1), (0, 1), 0.0), UP)
    assert abs(deviation(mean, math.pi * LUMINANCE * expected, bias=5e-8 / expected)) <= LIMIT


@pytest.mark.parametrize("radius", [0.1, 0.4])
def test_sphere_over_the_corner_of_a_rectangle(radius: float) -> None:
    """0.5 x 0.5 at 0.5: 1 / 24 whatever the size of the sphere, which is an eighth of a third of a cube.
    Howell, 1982, p. 190; by symmetry a sphere in a cube sends 1 / 6 to each face."""
    mean = area_mean([sphere((0, 0, 0.5), radius)], on_rectangle((0, 0.5), (0, 0.5), 0.0), UP)
    expected = math.pi * LUMINANCE / 24.0 * 4.0 * math.pi * radius**2 / 0.25
    assert abs(deviation(mean, expected)) <= LIMIT


def test_two_patches_in_a_furnished_room_exchange_alike() -> None:
    """Light that A sends to B equals light that B sends to A, with walls, a flag and both patches grey.

    source  Helmholtz reciprocity; equal luminances, so area times mean illuminance is the same
    """
    room = Box((-2, -2, 0), (2, 2, 2.5), [grey(r) for r in (0.7, 0.3, 0.5, 0.6, 0.2, 0.8)])
    flag = rectangle((0.2, 0, 1), (0.5, 0, 0), (0, 0, 0.4), (0, 1, 0), 0.0, reflectance=grey(0.1))
    own = grey(0.5)

    def patches(a: float, b: float) -> list[Part]:
        return [
            rectangle((1.5, 0.5, 1), (0, 0.6, 0), (0, 0, 0.3), (-1, 0, 0), a, reflectance=own),
            rectangle((-0.5, -1, 0.4), (0.4, 0, 0), (0, 0.3, 0), UP, b, reflectance=own),
        ]

    def on_a(rng: np.random.Generator) -> tuple[float, float, float]:
        return 1.5, rng.uniform(-0.1, 1.1), rng.uniform(0.7, 1.3)

    lit, dark = patches(LUMINANCE, 0.0), patches(0.0, LUMINANCE)
    solids = {"solids": [flag], "room": room}
    to_b = 0.8 * 0.6 * area_mean(lit, on_rectangle((-0.9, -0.1), (-1.3, -0.7), 0.4 + 1e-4), UP, **solids)
    to_a = 1.2 * 0.6 * area_mean(dark, lambda rng: (1.5 - 1e-4, *on_a(rng)[1:]), (-1, 0, 0), **solids)
    both = math.hypot(to_a.std(ddof=1), to_b.std(ddof=1)) / math.sqrt(32)
    print(f"A to B {to_b.mean():.2f} lm, B to A {to_a.mean():.2f} lm, standard error {both:.2f}")
    # the probes stand 1e-4 m before their patches, of at least 0.6 m
    assert abs(to_a.mean() - to_b.mean()) <= LIMIT * both + 2e-4 * to_a.mean()
