"""Levels of lights against closed forms, and the patches of a skirted cylinder."""

from __future__ import annotations

import math
import random
from typing import Any

import pytest

from renderer.scene import vector
from renderer.scene.lights import LIGHTS
from renderer.scene.lights.base import Lamp
from renderer.scene.parts import Disc, Part, Rectangle, Shape, Sphere, Tube, Vec3
from renderer.scene.place import LightPlace

PLACE = LightPlace((0.3, 0.9, 2.0), (0.0, 0.1, 1.165), (0.0, 1.0, 0.0))
SIZES: dict[str, dict[str, Any]] = {
    "disc": {"diameter": 0.9},
    "panel": {"width": 0.6, "height": 0.9},
    "bulb": {"diameter": 0.6},
    "head": {"diameter": 0.2, "beam": 40.0},
    "cylinder": {"diameter": 0.5, "length": 0.6},
}
OF_THEIR_OWN = {"diffuser"}
"""Their level is that of a head or lamp in a table of its own: tests/test_diffuser.py."""


def lamp(source: str, **keys: Any) -> Lamp:
    return LIGHTS[source].model_validate({"source": source, "at": PLACE.centre, **SIZES[source], **keys})


def area(shape: Shape) -> float:
    if isinstance(shape, Disc):
        return math.pi * shape.radius**2
    if isinstance(shape, Sphere):
        return 4 * math.pi * shape.radius**2
    if isinstance(shape, Rectangle):
        return 4 * vector.length(shape.half_u) * vector.length(shape.half_v)
    return shape.radius * (shape.phi_to - shape.phi_from) * (shape.z_to - shape.z_from)


def factor(part: Part, cosine: float) -> float:
    """Of the luminance at an angle from the normal, for a beam that is round: straight lines between rows."""
    if part.beam is None:
        return 1.0
    row = math.degrees(math.acos(min(1.0, max(0.0, cosine)))) / 90.0 * (len(part.beam) - 1)
    low = min(int(row), len(part.beam) - 2)
    assert all(max(line) == min(line) for line in part.beam)
    return part.beam[low][0] + (row - low) * (part.beam[low + 1][0] - part.beam[low][0])


STEPS = 9000


def sent(parts: list[Part]) -> float:
    """Lumens that leave the fronts of parts: L area times the integral of factor cos over solid angle, pi for
    a Lambertian one; the middles of 0.01 degree are good to 1e-7."""
    total = 0.0
    for part in parts:
        share = 1.0
        if part.beam is not None:
            angles = [(k + 0.5) / STEPS * math.pi / 2 for k in range(STEPS)]
            share = sum(factor(part, math.cos(a)) * math.sin(2 * a) for a in angles) * math.pi / 2 / STEPS
        total += math.pi * part.luminance * area(part.shape) * share
    return total


def test_every_light_has_sizes_here() -> None:
    assert set(SIZES) | OF_THEIR_OWN == set(LIGHTS)


@pytest.mark.parametrize("source", SIZES)
@pytest.mark.parametrize("level", [{"lumens": 900.0}, {"lux_at_1m": 300.0}, {"luminance": 2000.0}])
def test_flux_is_what_its_parts_send_out(source: str, level: dict[str, float]) -> None:
    light = lamp(source, **level)
    parts = light.parts(PLACE)
    assert sent(parts) == pytest.approx(light.flux(), rel=1e-12 if parts[0].beam is None else 1e-7)
    assert max(part.luminance for part in parts) == pytest.approx(light.face_luminance())
    if "lumens" in level:
        assert light.flux() == pytest.approx(900)


def test_published_flux_of_lambertian_emitters() -> None:
    """Flux = pi L area: disc pi^2 R^2 L, rectangle pi L a b, sphere 4 pi^2 R^2 L, cylinder side 2 pi^2 R l L
    (M = pi L, Lambert's law, e.g. ISO 80000-7 and any text on photometry)."""
    assert lamp("disc", luminance=1).flux() == pytest.approx(math.pi**2 * 0.45**2)
    assert lamp("panel", luminance=1).flux() == pytest.approx(math.pi * 0.6 * 0.9)
    assert lamp("bulb", luminance=1).flux() == pytest.approx(4 * math.pi**2 * 0.3**2)
    side = lamp("cylinder", luminance=1, bottom="closed").flux()
    assert side == pytest.approx(2 * math.pi**2 * 0.25 * 0.6)


def test_worked_lantern() -> None:
    """R 0.25, l 0.6, side and bottom open, 10 000 lm: side 0.942478 and bottom 0.196350 m2, M 8780.96 lm/m2,
    L 2795.07 cd/m2 (own arithmetic from M = pi L)."""
    light = lamp("cylinder", lumens=10_000)
    assert light.open_area() == pytest.approx(0.942478 + 0.196350, abs=1e-6)
    assert light.face_luminance() == pytest.approx(2795.07, abs=5e-3)


def integrated(parts: list[Part], at: Vec3, normal: Vec3, count: int = 200_000) -> tuple[float, float]:
    """Illuminance [lux] at a point by random points on the open faces, and its standard error."""
    source = random.Random(20)
    total = square = 0.0
    shining = [part for part in parts if part.luminance > 0]
    areas = [area(part.shape) for part in shining]
    for _ in range(count):
        part = source.choices(shining, areas)[0]
        point, front = random_point(part.shape, source)
        ray = vector.subtract(at, point)
        cosines = max(0.0, vector.dot(front, ray)) * max(0.0, -vector.dot(normal, ray))
        value = part.luminance * cosines / vector.dot(ray, ray) ** 2 * sum(areas)
        value *= factor(part, vector.dot(front, ray) / vector.length(ray))
        total, square = total + value, square + value * value
    mean = total / count
    return mean, math.sqrt((square / count - mean * mean) / count)


def random_point(shape: Shape, source: random.Random) -> tuple[Vec3, Vec3]:
    """A point evenly over the shape, and the front's direction there."""
    a, b = source.random(), source.random()
    if isinstance(shape, Rectangle):
        point = vector.blend((1, shape.centre), (2 * a - 1, shape.half_u), (2 * b - 1, shape.half_v))
        return point, shape.normal
    turn = 2 * math.pi * a
    if isinstance(shape, Sphere):
        z = 2 * b - 1
        ring = math.sqrt(1 - z * z)
        front = (ring * math.cos(turn), ring * math.sin(turn), z)
        return vector.blend((1, shape.centre), (shape.radius, front)), front
    if isinstance(shape, Disc):
        u = vector.across((0.1, 0.7, -0.4), shape.normal)
        assert u is not None
        v, r = vector.cross(shape.normal, u), shape.radius * math.sqrt(b)
        return vector.blend((1, shape.centre), (r * math.cos(turn), u), (r * math.sin(turn), v)), shape.normal
    phi = shape.phi_from + a * (shape.phi_to - shape.phi_from)
    z = shape.z_from + b * (shape.z_to - shape.z_from)
    front = vector.blend((math.cos(phi), shape.u), (math.sin(phi), shape.v))
    return vector.blend((1, shape.centre), (shape.radius, front), (z, shape.axis)), front


@pytest.mark.parametrize("source", SIZES)
def test_lux_at_1m_is_what_a_meter_there_reads(source: str) -> None:
    """The closed forms behind `lux_at_1m` against a plain integral of L cos cos / d^2 over the parts."""
    closed = {"bottom": "closed"} if source == "cylinder" else {}
    light = lamp(source, lux_at_1m=300, **closed)
    away = PLACE.normal() if source != "cylinder" else PLACE.turn_axes((0, 0, 1))[0]
    meter = vector.add(PLACE.centre, away)
    mean, error = integrated(light.parts(PLACE), meter, vector.scale(away, -1), 60_000)
    assert abs(mean - 300) < 4 * error
    assert error < 3


@pytest.mark.parametrize(
    ("source", "keys", "factor"),
    [
        # Disc on axis, R^2 / (R^2 + h^2): Martinez (UPM) problem 13-27; Howell, catalogue, section B.
        ("disc", {"diameter": 0.9}, 0.45**2 / (0.45**2 + 1)),
        # Centred square of side 1 at 1 m, four corner pieces: Siegel and Howell, 4th ed., p. 842.
        ("panel", {"width": 1.0, "height": 1.0}, 0.2394565),
        # Sphere whole above the horizon, (R / d)^2.
        ("bulb", {"diameter": 0.6}, 0.09),
        # Cylinder, plane element facing the axis: Howell, catalogue, section B. R 0.25, l 0.6 seen at mid
        # height from 1.5 m is 0.04748071, here scaled by 1 / 1.5.
        ("cylinder", {"diameter": 0.5 / 1.5, "length": 0.6 / 1.5}, 0.04748071),
    ],
)
def test_published_configuration_factors(source: str, keys: dict[str, float], factor: float) -> None:
    assert lamp(source, lumens=1, **keys).factor_at_1m() == pytest.approx(factor, rel=2e-7)


SKIRTS: dict[str, list[dict[str, Any]]] = {
    "none": [],
    "one": [{"covers": (45, 225)}],
    "over the seam": [{"covers": (-60, 60)}],
    "whole turn": [{"covers": (-180, 180)}],
    "band": [{"covers": (10, 100), "height": (0.2, 0.35)}],
    "two apart": [{"covers": (0, 90)}, {"covers": (180, 270), "height": (0, 0.3), "drop": 0.1}],
    "two that overlap": [{"covers": (0, 120), "drop": 0.2}, {"covers": (300, 420), "height": (0.1, 0.6)}],
    "two halves": [{"covers": (-90, 90), "drop": 0.1}, {"covers": (90, 270), "drop": 0.15}],
    "three": [{"covers": (0, 200)}, {"covers": (100, 300), "height": (0.3, 0.6)}, {"covers": (-10, 10)}],
}


def is_skirted(skirts: list[dict[str, Any]], turn: float, height: float) -> bool:
    """By the words of the file: whether a point of the side, or below it, has a skirt."""
    for skirt in skirts:
        start, end = skirt["covers"]
        low, high = skirt.get("height", (0.0, 0.6))
        if height < 0:
            low, high = -skirt.get("drop", 0.0), 0.0
        if (turn - start) % 360 < end - start and low < height < high:
            return True
    return False


@pytest.mark.parametrize("name", SKIRTS)
def test_patches_cover_the_side_once(name: str) -> None:
    """Random points of the side lie on exactly one patch, open or not as the file says."""
    light = lamp("cylinder", luminance=100, skirt=SKIRTS[name])
    tubes = [(p, p.shape) for p in light.parts(PLACE) if isinstance(p.shape, Tube)]
    source = random.Random(7)
    for _ in range(2000):
        turn, height = source.uniform(0, 360), source.uniform(-0.25, 0.6)
        found = [part for part, tube in tubes if _on(tube, math.radians(turn), height - 0.3)]
        skirted = is_skirted(SKIRTS[name], turn, height)
        if height < 0:
            assert len(found) == skirted
        else:
            assert len(found) == 1
        assert all((part.luminance == 0) == skirted for part in found)


def _on(tube: Tube, phi: float, z: float) -> bool:
    return (phi - tube.phi_from) % (2 * math.pi) < tube.phi_to - tube.phi_from and tube.z_from < z < tube.z_to


@pytest.mark.parametrize("name", SKIRTS)
def test_open_area_is_the_side_less_the_skirts(name: str) -> None:
    light = lamp("cylinder", luminance=100, skirt=SKIRTS[name])
    parts = light.parts(PLACE)
    side = sum(area(p.shape) for p in parts if isinstance(p.shape, Tube) and p.shape.z_from > -0.3 - 1e-9)
    assert side == pytest.approx(2 * math.pi * 0.25 * 0.6)
    assert sent(parts) == pytest.approx(light.skirted_flux(), rel=1e-12)  # type: ignore[attr-defined]
    assert sent(parts) <= light.flux() + 1e-9


def test_plain_skirts_make_the_fewest_patches() -> None:
    light = lamp("cylinder", luminance=100, skirt=[{"covers": (-90, 90)}, {"covers": (90, 270)}])
    tubes = [part.shape for part in light.parts(PLACE) if isinstance(part.shape, Tube)]
    assert len(tubes) == 2
    whole = lamp("cylinder", luminance=100, skirt=[{"covers": (0, 360), "drop": 0.1}]).parts(PLACE)
    turns = [p.shape.phi_to - p.shape.phi_from for p in whole if isinstance(p.shape, Tube)]
    assert turns == pytest.approx([2 * math.pi, 2 * math.pi]) and max(turns) <= 2 * math.pi


def test_the_outer_skirt_shows_outside_and_the_inner_one_inside() -> None:
    inner = {"covers": (0, 360), "drop": 0.1, "reflectance": 0.1, "inside_reflectance": 0.2}
    outer = {"covers": (0, 360), "drop": 0.1, "reflectance": 0.3, "inside_reflectance": 0.4}
    for part in lamp("cylinder", luminance=1, skirt=[inner, outer]).parts(PLACE):
        if isinstance(part.shape, Tube):
            assert part.reflectance == (0.3,) * 3 and part.back_reflectance == (0.2,) * 3


def test_a_closed_side_keeps_its_drop() -> None:
    light = lamp("cylinder", lumens=100, side="closed", skirt=[{"covers": (0, 180), "drop": 0.1}])
    assert light.open_area() == pytest.approx(math.pi * 0.25**2)
    tubes = [part for part in light.parts(PLACE) if isinstance(part.shape, Tube)]
    assert len(tubes) == 3 and all(part.luminance == 0 for part in tubes)


def test_what_is_inside_a_light() -> None:
    above = vector.add(PLACE.centre, (0.0, 0.0, 0.29))
    assert lamp("cylinder", lumens=1).contains(PLACE, above)
    assert lamp("bulb", lumens=1).contains(PLACE, above)
    assert not lamp("cylinder", lumens=1).contains(PLACE, vector.add(PLACE.centre, (0.26, 0.0, 0.0)))
    assert not lamp("disc", lumens=1).contains(PLACE, PLACE.centre)
