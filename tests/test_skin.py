"""Skin sends back what its tone says: film, base and the spreading of light inside it together."""

from __future__ import annotations

import math

import numpy as np
import pytest
from light_lab import LIMIT, box_of_rectangles, cone, deviation, read

from renderer.colour import Y_WEIGHTS
from renderer.scene.sitter import Sitter
from renderer.scene.skin import TONES
from renderer.world.material import SKIN, SKIN_ALPHA, palette, under_coat
from renderer.world.pack import Triangles

SAMPLES = 4096
# Gauss-Legendre over the cosine of the angle of view. The film's table is straight between 17 cosines and 9
# roughnesses: a rule of 12 points over it, and the table itself, err by parts in a thousand of its 4 %.
POINTS = 12
QUADRATURE = 1e-4


def patch(sitter: Sitter, alpha: float) -> Triangles:
    """2 x 2 m of the sitter's skin at z = 0, seen from above."""
    vertices = np.array([(-1, -1, 0), (1, -1, 0), (1, 1, 0), (-1, 1, 0)], float)
    base = under_coat(np.array(sitter.skin_rgb), np.array(alpha))
    return Triangles(
        vertices,
        np.tile((0.0, 0.0, 1.0), (4, 1)),
        np.broadcast_to(base, (4, 3)),
        np.full(4, alpha),
        np.array([[0, 1, 2], [0, 2, 3]]),
        np.full(2, SKIN),
        palette(sitter),
    )


def reflectance(sitter: Sitter, alpha: float) -> np.ndarray:
    """(replicas,) share of even light that comes back: 2 integral of L(c) c dc over the cosine c of view."""
    nodes, weights = np.polynomial.legendre.leggauss(POINTS)
    cosines = 0.5 * (nodes + 1.0)
    shell = box_of_rectangles(30.0, 1000.0, 0.0)
    sights = []
    for c in cosines:
        s = math.sqrt(1.0 - c * c)
        sights.append(cone((0.1 + 0.3 * s, 0.05, 0.3 * c), (-s, 0, -c), 0.05))
    reading = read([shell], sights, mesh=patch(sitter, alpha), samples=SAMPLES)
    return np.asarray(reading.totals() @ (weights * cosines) / 1000.0)


@pytest.mark.parametrize("name", TONES)
def test_tone_under_even_light(name: str) -> None:
    """Under a flat illuminant it reflects what it is named after (sources: renderer/scene/skin.py)."""
    sitter = Sitter.model_validate({"skin_reflectance": name})
    found = reflectance(sitter, SKIN_ALPHA)
    expected = float(np.array(sitter.skin_rgb) @ Y_WEIGHTS)
    assert expected == pytest.approx(TONES[name], rel=1e-3)
    off = deviation(found, expected, QUADRATURE / expected)
    print(f"{name}: {found.mean():.5f}, {off:+.2f} standard errors")
    assert abs(off) <= LIMIT


@pytest.mark.parametrize("alpha", [0.24, 0.35])
def test_light_spread_in_the_skin_is_not_lost(alpha: float) -> None:
    """The profile integrates to 1 over a plane (Burley 2015): spreading changes nothing on a flat patch."""
    sitter = Sitter.model_validate({"skin_reflectance": "light_37", "subsurface": True})
    assert all(d > 0.0 for d in palette(sitter)[SKIN].scatter)
    found = reflectance(sitter, alpha)
    expected = float(np.array(sitter.skin_rgb) @ Y_WEIGHTS)
    off = deviation(found, expected, QUADRATURE / expected)
    print(f"spread, film {alpha}: {found.mean():.5f} for {expected:.5f}, {off:+.2f} standard errors")
    assert abs(off) <= LIMIT
