"""Silvered board: a rough metal that loses nothing, obeys the law of reflection, lights what it faces."""

from __future__ import annotations

import math

import numpy as np
import pytest
from light_lab import LIMIT, box_of_rectangles, cone, disc, dome, flat, grey, read, read_packed, sphere, unit
from statistic import chi_square, normal_score

from renderer.errors import InputError
from renderer.kernels.gloss import lobe, lobe_pdf, sample_lobe
from renderer.kernels.silver import about_pdf, sample_about
from renderer.kernels.tally import BOUNCED
from renderer.scene.layer import boards
from renderer.scene.load import loads
from renderer.scene.parts import Disc, Part, Rectangle
from renderer.scene.summary import summary
from renderer.world.gloss import gloss_table, returned_once
from renderer.world.pack import pack

UP = (0.0, 0.0, 1.0)
FURNACE = 1e-3
"""The table, read along straight lines, is off by 7.5e-4 at most, at grazing light on the smoothest board."""
ALPHAS = [0.02, 0.05, 0.2, 0.6]


def table(alpha: float) -> np.ndarray:
    return gloss_table(alpha)[None]


def at_angle(theta: float, phi: float = 0.0) -> tuple[float, float, float]:
    return math.sin(theta) * math.cos(phi), math.sin(theta) * math.sin(phi), math.cos(theta)


def board(alpha: float, size: float = 0.5, reflectance: float = 0.85, at: float = 0.0) -> Part:
    """Square, `size` to either side of (at, 0, 0), facing up."""
    shape = Rectangle((at, 0.0, 0.0), (size, 0.0, 0.0), (0.0, size, 0.0), UP)
    return Part(shape, 0.0, grey(reflectance), gloss=alpha)


def upper_half(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Directions (n, 3) of a grid closed in on the zenith and the horizon, and their solid angles (n,)."""
    edges = 0.5 * math.pi * np.linspace(0.0, 1.0, count + 1) ** 2
    theta, phi = 0.5 * (edges[1:] + edges[:-1]), (np.arange(count) + 0.5) * 2.0 * math.pi / count
    t, p = (x.ravel() for x in np.meshgrid(theta, phi, indexing="ij"))
    weight = np.repeat((np.cos(edges[:-1]) - np.cos(edges[1:])) * 2.0 * math.pi / count, count)
    return np.stack([np.sin(t) * np.cos(p), np.sin(t) * np.sin(p), np.cos(t)], axis=1), weight


@pytest.mark.parametrize("alpha", [0.2, 0.6])
@pytest.mark.parametrize("degrees", [0.0, 50.0, 75.0])
def test_single_facets_by_brute_force(alpha: float, degrees: float) -> None:
    """The tabled albedo against the integral of D G / (4 cos cos) cos, written out anew: Walter et al. 2007,
    equation 33, and Heitz, JCGT 3(2), 2014, equation 99. Bound: what half the cells change it by."""
    w_o = np.array(at_angle(math.radians(degrees)))

    def integral(count: int) -> float:
        w_i, weight = upper_half(count)
        half = w_i + w_o
        half /= np.linalg.norm(half, axis=1)[:, None]
        tan2 = 1.0 / half[:, 2] ** 2 - 1.0
        density = alpha**2 / (math.pi * half[:, 2] ** 4 * (alpha**2 + tan2) ** 2)

        def smith(cosine: np.ndarray) -> np.ndarray:
            return (np.sqrt(1.0 + alpha**2 * (1.0 / cosine**2 - 1.0)) - 1.0) / 2.0

        masking = 1.0 / (1.0 + smith(w_i[:, 2]) + smith(w_o[2]))
        return float((density * masking / (4.0 * w_o[2])) @ weight)

    fine, coarse = integral(800), integral(400)
    assert returned_once(w_o[2], alpha) == pytest.approx(fine, abs=abs(fine - coarse) + 2e-5)


@pytest.mark.parametrize("alpha", ALPHAS)
def test_the_lobe_is_reciprocal(alpha: float) -> None:
    """Helmholtz: the BSDF is the same both ways."""
    rng = np.random.default_rng(5)
    for _ in range(50):
        a, b = (at_angle(math.acos(rng.random()), 6.28 * rng.random()) for _ in range(2))
        assert lobe(table(alpha), 0, a, b, UP) == pytest.approx(lobe(table(alpha), 0, b, a, UP), rel=1e-9)


@pytest.mark.parametrize("alpha", [0.1, 0.3, 0.6])
@pytest.mark.parametrize("degrees", [10.0, 70.0])
def test_drawn_directions_have_their_density(alpha: float, degrees: float) -> None:
    """Chi-square over cells of equal solid angle; what is drawn under the surface is one more. The density is
    that of Walter et al. 2007, equation 38, of facets as they are seen (Heitz 2014)."""
    w_o, rng, rows = at_angle(math.radians(degrees), 0.7), np.random.default_rng(3), 20
    count = 40_000
    drawn = np.array([sample_lobe(table(alpha), 0, w_o, UP, *rng.random(2)) for _ in range(count)])
    assert np.linalg.norm(drawn, axis=1) == pytest.approx(1.0, abs=1e-12)
    above = drawn[drawn[:, 2] > 0.0]
    turn = np.arctan2(above[:, 1], above[:, 0]) % (2.0 * math.pi)
    seen, *_ = np.histogram2d(above[:, 2], turn, rows, [[0.0, 1.0], [0.0, 2.0 * math.pi]])
    fine = 8  # points to a cell, each way
    z = (np.arange(rows * fine) + 0.5) / (rows * fine)
    phi = (np.arange(rows * fine) + 0.5) * 2.0 * math.pi / (rows * fine)
    density = np.array(
        [[lobe_pdf(table(alpha), 0, at_angle(math.acos(a), b), w_o, UP) for b in phi] for a in z]
    )
    expected = density.reshape(rows, fine, rows, fine).mean(axis=(1, 3)) * count * 2.0 * math.pi / rows**2
    below = count - expected.sum()
    assert below > -0.01 * count
    score = normal_score(
        *chi_square(np.append(seen, count - len(above)), np.append(expected, max(below, 0.0)))
    )
    print(f"alpha {alpha}, {degrees} degrees: {score:+.2f}")
    assert score <= LIMIT


def test_directions_about_an_axis_have_their_density() -> None:
    """E[1 / pdf over a cap] = solid angle of the cap: 2 pi (1 - cos)."""
    axis, width, rng = unit((0.3, -0.5, 0.8)), 0.2, np.random.default_rng(4)
    drawn = [sample_about(axis, width, *rng.random(2)) for _ in range(40_000)]
    inverse = np.array([(np.dot(d, axis) > math.cos(0.3)) / about_pdf(axis, width, d) for d in drawn])
    error = inverse.std() / math.sqrt(len(inverse))
    assert abs(inverse.mean() - 2.0 * math.pi * (1.0 - math.cos(0.3))) <= LIMIT * error


@pytest.mark.parametrize("alpha", ALPHAS)
def test_furnace(alpha: float) -> None:
    """In even light of 1000 cd/m2 it shows its reflectance from any direction, and lights what it faces as
    the light around would. Textbook (white furnace)."""
    shell = box_of_rectangles(3.0, 1000.0, 0.0)
    sights = [cone(1.5 * np.array(d), -np.array(d), 0.2) for d in map(at_angle, (0.0, 0.9, 1.3, 1.48))]
    shown = read([shell], sights, solids=[board(alpha, reflectance=0.8)], samples=1024)
    for probe in range(4):
        assert abs(shown.off(800.0, probe, bias=FURNACE)) <= LIMIT
    white = board(alpha, reflectance=1.0)
    probes = [flat((0.1, 0.2, 0.3), (0.2, 0.0, -1.0)), dome((0.0, 0.0, 0.5), (0.3, 0.0, -1.0))]
    lit = read([shell], probes, solids=[white], samples=1024)
    assert abs(lit.off(1000.0 * math.pi, 0, bias=FURNACE)) <= LIMIT
    # a dome weighs by (1 + cos) / 2, which over all directions is 2 pi
    assert abs(lit.off(2000.0 * math.pi, 1, bias=FURNACE)) <= LIMIT


@pytest.mark.parametrize("alpha", [0.02, 0.05])
@pytest.mark.parametrize("radius", [0.05, 0.4])
def test_a_mirror_shows_the_mirrored_source(alpha: float, radius: float) -> None:
    """A large board, all but smooth: the light of the mirror image of a disc, times the reflectance. Facets
    lean by alpha, and their mean square diverges with its logarithm: twice that is left to the departure."""
    lamp, image = disc((1, 0, 1.5), (-0.4, 0, -1), radius), disc((1, 0, -1.5), (-0.4, 0, 1), radius)
    probes = [flat((0, 0, 1.2), (0.3, 0, -1)), dome((0, 0, 1.2), (0.3, 0, -1))]
    thrown = read([[lamp]], probes, solids=[board(alpha, 4.0, at=0.5)], samples=2048)
    for probe in range(2):
        expected = 0.85 * read([[image]], probes, samples=256).value(probe)
        departure = 2.0 * alpha**2 * math.log(1.0 / alpha)
        off = thrown.off(expected, probe, BOUNCED, bias=departure)
        print(f"alpha {alpha}, {radius}: {thrown.value(probe, BOUNCED) / expected - 1.0:+.4f}, {off:+.2f}")
        assert abs(off) <= LIMIT
        assert thrown.error(probe, BOUNCED) < 0.015 * expected  # else this says nothing


def test_law_of_reflection() -> None:
    """A small board lit at 40 degrees throws most to 40 degrees on the other side. Its peak goes with that of
    the facets, 1 / (pi alpha^2): 16 times less at 0.2 than at 0.05 (Walter et al. 2007, equation 33), but for
    masking, light between facets, and the width of lamp and board, for which a fifth is left."""
    place = at_angle(math.radians(40.0))
    lamp = sphere((-2.0 * place[0], 0.0, 2.0 * place[2]), 0.02, 1e6)
    degrees = np.arange(30, 51, 2)
    ways = [np.array(at_angle(math.radians(d))) for d in degrees]
    peaks = []
    for alpha in (0.05, 0.2):
        card = Part(Disc((0.0, 0.0, 0.0), UP, 0.03), 0.0, grey(0.85), gloss=alpha)
        lux = read([[lamp]], [flat(1.5 * w, -w) for w in ways], solids=[card], samples=256).totals(BOUNCED)
        found = int(degrees[lux.mean(axis=0).argmax()])
        assert abs(found - 40) <= 2
        peaks.append(float(lux.mean(axis=0).max()))
    assert peaks[0] / peaks[1] == pytest.approx(16.0, rel=0.2)


@pytest.mark.parametrize(("alpha", "radius"), [(0.1, 0.2), (0.3, 0.5), (0.2, 0.03)])
def test_light_thrown_is_that_of_paths_by_chance(alpha: float, radius: float) -> None:
    """Two roads, one answer: with the board sampled, and with it left to paths that meet it by chance."""
    packed = pack([[disc((1, 0, 1.5), (-0.4, 0, -1), radius)]], [board(alpha, 0.3, at=0.5)])
    probes = [flat((0, 0, 1.2), (0.3, 0, -1)), dome((0, 0, 1.2), (0.3, 0, -1))]
    sampled = read_packed(packed, probes, samples=1024)
    chance = read_packed(packed._replace(cards=np.zeros(0, np.int32)), probes, samples=4096)
    for probe in range(2):
        gap = sampled.value(probe, BOUNCED) - chance.value(probe, BOUNCED)
        error = math.hypot(sampled.error(probe, BOUNCED), chance.error(probe, BOUNCED))
        print(f"alpha {alpha}: {gap / error:+.2f} of {error / chance.value(probe, BOUNCED):.4f}")
        assert abs(gap) <= LIMIT * error


CARD = '[light.key]\nsource = "bulb"\nat = [0, 1.5, 2]\ndiameter = 0.1\nlumens = 500\n[card.fill]\n'
CARD += "at = [-0.6, 0.3, 1.1]\nwidth = 0.5\nheight = 0.5\n"


@pytest.mark.parametrize(
    ("keys", "reflectance", "gloss"),
    [
        ("", 0.85, None),
        ('finish = "white"', 0.85, None),
        ('finish = "black"', 0.04, None),
        ('finish = "silver"', 0.85, 0.2),
        ('finish = "silver"\nroughness = 0.05\nreflectance = 0.7', 0.7, 0.05),
    ],
)
def test_finishes(keys: str, reflectance: float, gloss: float | None) -> None:
    scene = loads(CARD + keys + "\n")
    (part,) = boards(scene)["card.fill"]
    assert (part.reflectance, part.gloss) == (grey(reflectance), gloss)
    assert ("silver, roughness" in " ".join(summary(scene))) == (gloss is not None)


FAULTS = {
    'finish = "gold"': 'finish: expected "white", "silver" or "black"; got "gold"',
    "roughness = 0.2": 'roughness: counts only where the front mirrors: expected finish = "silver" beside it',
    'finish = "silver"\nroughness = 0': "roughness: expected GGX alpha from 0.02 to 0.6; got 0",
    'finish = "white"\nroughness = 0.1': 'roughness: expected it only with finish = "silver"',
    'finish = "black"\nreflectance = 0.1': 'reflectance: beside finish = "black", which says it: expected one'
    " of the two",
}


@pytest.mark.parametrize("keys", FAULTS)
def test_faults(keys: str) -> None:
    with pytest.raises(InputError) as caught:
        loads(CARD + keys + "\n", "s")
    (line,) = caught.value.lines
    assert line.endswith(f": card.fill.{FAULTS[keys]}")
