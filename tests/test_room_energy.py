"""Light in closed rooms: what is sent out is absorbed, at every bounce and to the end."""

from __future__ import annotations

import math

import numpy as np
import pytest
import view_factor as vf
from light_lab import (
    LIMIT,
    REPLICAS,
    box_of_rectangles,
    cone,
    deviation,
    disc,
    dome,
    flat,
    grey,
    read,
    read_packed,
    rectangle,
    sphere,
    tube,
    unit,
)

from renderer.kernels.tally import BOUNCED
from renderer.scene.parts import RGB, Part
from renderer.world.pack import Box, pack

WHITE = grey(1.0)
BOTH = {"reflectance": WHITE, "back_reflectance": WHITE}
LOW, HIGH = (0.0, 0.0, 0.0), (6.0, 4.0, 3.0)
AREA = 2.0 * (6 * 4 + 6 * 3 + 4 * 3)
LONGEST_PATH = 128  # vertices: what a white wall would send on after these is not followed
GRID = 8  # a side of each face of the room; every replica has its own place in each cell

# Each lamp is white all over, so that it takes no light itself. Flux of Lambertian faces: pi L area.
LAMPS: dict[str, tuple[list[Part], float]] = {
    "disc": ([disc((3.5, 2, 2.2), (0.6, 0, -0.8), 0.4, **BOTH)], math.pi * 0.4**2),
    "rectangle": (
        [rectangle((3, 1, 1.5), (0.5, 0, 0), (0, 0.3, 0.4), (0, 0.8, -0.6), **BOTH)],
        4 * 0.5 * 0.5,
    ),
    "sphere": ([sphere((3, 2, 2.5), 0.2, **BOTH)], 4 * math.pi * 0.2**2),
    "cylinder": (
        [
            tube((2, 2, 1.8), 0.25, 0.0, 0.6, **BOTH),
            disc((2, 2, 1.8), (0, 0, -1), 0.25, **BOTH),
            disc((2, 2, 2.4), (0, 0, 1), 0.25, 0.0, **BOTH),
        ],
        2 * math.pi * 0.25 * 0.6 + math.pi * 0.25**2,
    ),
}


def room(reflectance: float | list[float]) -> Box:
    faces = reflectance if isinstance(reflectance, list) else [reflectance] * 6
    return Box(LOW, HIGH, [grey(r) for r in faces])


def on_faces(box: Box) -> tuple[np.ndarray, np.ndarray]:
    """Flat receptors on the six faces, one at random in each cell and for each replica: (replicas x 6 x
    cells) probes, in this order; and the areas of the faces."""
    rng = np.random.default_rng(3)
    size = np.array(box.high) - np.array(box.low)
    cells = np.stack(np.meshgrid(np.arange(GRID), np.arange(GRID)), axis=-1).reshape(-1, 2)
    probes, areas = [], []
    for replica in range(REPLICAS):
        for face in range(6):
            axis, upper = divmod(face, 2)
            sides = [k for k in range(3) if k != axis]
            if replica == 0:
                areas.append(float(np.prod(size[sides])))
            for place in (cells + rng.random(cells.shape)) / GRID:
                at, normal = np.array(box.low), np.zeros(3)
                at[sides] += place * size[sides]
                at[axis] = (box.high if upper else box.low)[axis]
                normal[axis] = -1.0 if upper else 1.0
                probes.append(flat(at, normal))
    return np.concatenate(probes), np.array(areas)


def face_means(
    parts: list[Part], box: Box, samples: int = 8, kind: int | None = None
) -> tuple[np.ndarray, np.ndarray]:
    """(replicas, 6) mean illuminance of each face, and the areas of the faces."""
    probes, areas = on_faces(box)
    reading = read([parts], probes, room=box, samples=samples, replicas=1)
    return reading.totals(kind)[0].reshape(REPLICAS, 6, -1).mean(axis=2), areas


@pytest.mark.parametrize("lamp", LAMPS)
@pytest.mark.parametrize("reflectance", [0.0, 0.5])
def test_all_light_sent_out_is_absorbed(lamp: str, reflectance: float) -> None:
    """Area mean of E = flux / (A (1 - rho)), whatever the lamp and its place. Flux conservation
    (Sumpner 1892, from memory); with black walls a check of the flux itself."""
    parts, area = LAMPS[lamp]
    flux = math.pi * 1000.0 * area
    means, areas = face_means(parts, room(reflectance))
    off = deviation(means @ areas / AREA, flux / (AREA * (1.0 - reflectance)))
    print(f"{lamp} in a room of {reflectance}: {off:+.2f} standard errors")
    assert abs(off) <= LIMIT


@pytest.mark.parametrize("reflectance", [0.1, 0.8, 0.9])
def test_bounced_light_alone(reflectance: float) -> None:
    """Area mean of the indirect part = flux rho / (A (1 - rho)). This is the form of the reflected
    component in CIE 171:2006 (from memory)."""
    parts, area = LAMPS["sphere"]
    flux = math.pi * 1000.0 * area
    means, areas = face_means(parts, room(reflectance), kind=1)
    expected = flux * reflectance / (AREA * (1.0 - reflectance))
    off = deviation(means @ areas / AREA, expected, bias=reflectance ** (LONGEST_PATH - 1))
    print(f"bounced, room of {reflectance}: {off:+.2f} standard errors")
    assert abs(off) <= LIMIT


def test_unequal_walls() -> None:
    """Ceiling 0.8, walls 0.5, floor 0.2: sum of E_i A_i (1 - rho_i) is the flux, exactly. The means of the
    faces were found by a separate photon tracer, whose mirror-image walls agree within 0.6 lx."""
    reflectances = [0.5, 0.5, 0.5, 0.5, 0.2, 0.8]
    luminance = 10000.0 / (math.pi * 4.0 * math.pi * 0.05**2)
    lamp = [sphere((3, 2, 2.5), 0.05, luminance, reflectance=WHITE)]
    means, areas = face_means(lamp, room(reflectances), samples=16)
    absorbed = (means * areas * (1.0 - np.array(reflectances))).sum(axis=1)
    assert abs(deviation(absorbed, 10000.0)) <= LIMIT
    for face, lux in enumerate([150.2, 150.2, 181.2, 181.2, 196.4, 243.0]):
        assert abs(deviation(means[:, face], lux, bias=0.3 / lux)) <= LIMIT


@pytest.mark.parametrize(("radius", "reflectance"), [(0.5, 0.8), (0.5, 0.9)])
def test_integrating_sphere(radius: float, reflectance: float) -> None:
    """A white lamp in the middle of a hollow sphere: E = flux / (A (1 - rho)) at each point, by symmetry.
    Textbook (integrating sphere)."""
    shell = sphere((0, 0, 0), radius, 0.0, back_reflectance=grey(reflectance))
    lamp = sphere((0, 0, 0), 0.1, reflectance=WHITE)
    expected = math.pi * 1000.0 * 0.1**2 / radius**2 / (1.0 - reflectance)
    at = np.array([0.36, 0.48, 0.8])
    reading = read([[lamp, shell]], flat(at * (radius - 1e-4), -at), samples=2048)
    off = reading.off(expected, bias=reflectance ** (LONGEST_PATH - 1))
    print(f"integrating sphere of {reflectance}: {off:+.2f} standard errors")
    assert abs(off) <= LIMIT


@pytest.mark.parametrize("reflectance", [0.0, 0.5, 0.8])
def test_white_furnace(reflectance: float) -> None:
    """A closed shell that emits Le and reflects rho: L = Le / (1 - rho) everywhere. Textbook."""
    shell = box_of_rectangles(2.0, 1000.0 * (1.0 - reflectance), reflectance)
    probes = [cone((0.3, 0.2, 0.1), (1, 2, 3), 5.0), flat((1, -1, 0.5), (0, 1, 1))]
    reading = read([shell], probes, samples=2048)
    bias = reflectance ** (LONGEST_PATH - 1)
    assert abs(reading.off(1000.0, probe=0, bias=bias)) <= LIMIT
    assert abs(reading.off(math.pi * 1000.0, probe=1, bias=bias)) <= LIMIT


def objects(luminance: float, reflectance: RGB) -> dict[str, list[Part]]:
    """Seen from above, so that a back or an inside, which never emits, stays hidden."""
    own = {"reflectance": reflectance, "back_reflectance": reflectance}
    lid = disc((0, 0, 0.5), (0, 0, 1), 0.5, luminance, **own)
    return {
        "disc": [disc((0, 0, 0), (0, 0, 1), 0.5, luminance, **own)],
        "rectangle": [rectangle((0, 0, 0), (0.5, 0, 0), (0, 0.5, 0), (0, 0, 1), luminance, **own)],
        "sphere": [sphere((0, 0, 0), 0.5, luminance, **own)],
        "tube": [tube((0, 0, -0.5), 0.5, 0.0, 1.0, luminance, **own), lid],
    }


@pytest.mark.parametrize("reflectance", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("name", objects(0.0, WHITE))
def test_object_in_even_light(name: str, reflectance: float) -> None:
    """In a field of luminance L an object that reflects rho and emits (1 - rho) L is invisible: textbook
    (furnace test). Seen from outside, at a slant."""
    parts = objects(1000.0 * (1.0 - reflectance), grey(reflectance))[name]
    shell = box_of_rectangles(3.0, 1000.0, 0.0)
    reading = read([[*shell, *parts]], cone((0.2, -1.4, 1.5), (-0.1, 1.3, -1.45), 12.0), samples=512)
    assert abs(reading.off(1000.0)) <= LIMIT


@pytest.mark.parametrize(("h", "figure"), [(0.8, 279.545), (3.0, None)])
def test_bounce_card(h: float, figure: float | None) -> None:
    """A card 1 x 1 of rho 0.85, evenly lit with 1000 lx, seen by an element h before its middle: rho E F, F a
    rectangle's four corners. Siegel & Howell, 4th ed., p. 842. From 3 m it is sampled as a light is."""
    expected = 0.85 * 1000.0 * 4.0 * vf.rectangle_corner(0.5, 0.5, h)
    assert figure is None or expected == pytest.approx(figure, abs=1e-3)
    card = rectangle((0, 0, 0), (0.5, 0, 0), (0, 0.5, 0), (0, 0, 1), 0.0, reflectance=grey(0.85))
    away = 2000.0  # a distant beam: over the card it is even to (0.7 / 2000)^2
    beam = disc((0, 0, away), (0, 0, -1), 1.0, 1000.0 * away**2 / math.pi)
    reading = read([[beam]], flat((0, 0, h), (0, 0, -1)), solids=[card], samples=2048)
    assert abs(reading.off(expected, bias=1e-6)) <= LIMIT


def test_a_sampled_card_changes_no_light_but_its_noise() -> None:
    """A small card in a room: with and without sampling it the readings agree, for flat discs and for domes,
    and in a black room, where the card is all that bounces, the sampled ones are far surer."""
    card = rectangle((0.6, 0, 0.9), (0, 0.15, 0), (0.1, 0, 0.1), unit((-1, 0, 1)), 0.0, reflectance=grey(0.8))
    lamp = disc((0.2, 0, 2.0), (0.4, 0, -1.1), 0.1, 20000.0)
    room = Box((-2.0, -2.0, 0.0), (2.0, 2.0, 2.7), [grey(0.3)] * 6)
    probes = [flat((-0.4, 0.2, 1.0), (1, 0, 0)), dome((-0.4, 0.2, 1.0), (0, 1, 0))]
    scene = pack([[lamp]], [card], room)
    assert len(scene.cards) == 1
    sampled = read_packed(scene, probes, samples=2048)
    by_chance = read_packed(scene._replace(cards=scene.cards[:0]), probes, samples=2048, seed=2)
    for k in range(2):
        apart = sampled.value(k) - by_chance.value(k)
        assert abs(apart) <= LIMIT * math.hypot(sampled.error(k), by_chance.error(k))
    black = scene._replace(
        room=pack([[lamp]], [], Box((-2.0, -2.0, 0.0), (2.0, 2.0, 2.7), [grey(0.0)] * 6)).room
    )
    sure = read_packed(black, probes, samples=512).error(0, BOUNCED)
    assert sure < 0.2 * read_packed(black._replace(cards=scene.cards[:0]), probes, samples=512).error(
        0, BOUNCED
    )
