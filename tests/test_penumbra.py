"""Soft edges: an opaque edge between a source and a plane, read across the shadow."""

from __future__ import annotations

import math

import numpy as np
import pytest
from light_lab import LIMIT, Reading, disc, flat, read, rectangle
from view_factor import polygon

LUMINANCE = 1000.0
UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)


def across(source, to_edge: float, to_plane: float, places: np.ndarray, samples: int = 4096) -> Reading:
    """Readings along x on the plane z = 0. A large flag at height `to_plane` hides all x > 0; the source
    stands `to_edge` above the flag."""
    flag = rectangle((5, 0, to_plane), (5, 0, 0), (0, 10, 0), DOWN, 0.0)
    probes = [flat((x, 0, 0), UP) for x in places]
    return read([[source]], probes, solids=[flag], samples=samples)


@pytest.mark.parametrize(("width", "a", "b", "penumbra"), [(0.6, 1.2, 0.4, 0.2), (0.9, 1.5, 0.15, 0.09)])
def test_width_of_a_penumbra(width: float, a: float, b: float, penumbra: float) -> None:
    """Source width S, source to edge a, edge to plane b: the penumbra is S b / a wide (similar triangles).
    Beyond it nothing, before it the whole source."""
    assert width * b / a == pytest.approx(penumbra)
    source = rectangle((0, 0, a + b), (width / 2, 0, 0), (0, 0.3, 0), DOWN)
    places = penumbra / 2 * np.array([1.001, 0.99, -0.99, -1.001])
    masked = across(source, a, b, places)
    bare = read([[source]], [flat((x, 0, 0), UP) for x in places])
    assert masked.totals()[:, 0].max() == 0.0
    assert masked.value(1) > 0.0
    gap = bare.totals() - masked.totals()
    assert gap[:, 2].mean() > LIMIT * math.hypot(masked.error(2), bare.error(2))
    assert abs(gap[:, 3].mean()) <= LIMIT * math.hypot(masked.error(3), bare.error(3))


@pytest.mark.parametrize(("width", "a", "b"), [(0.6, 1.2, 0.4), (0.9, 1.5, 0.15)])
@pytest.mark.parametrize("share", [0.1, 0.25, 0.5, 0.75, 0.9])
def test_profile_behind_a_straight_edge(width: float, a: float, b: float, share: float) -> None:
    """At `share` of the width of the penumbra that share of the source is seen; its light is that of the
    rectangle that is left (Lambert's polygon formula)."""
    source = rectangle((0, 0, a + b), (width / 2, 0, 0), (0, 0.3, 0), DOWN)
    x = width * b / a * (0.5 - share)
    reading = across(source, a, b, np.array([x]), samples=8192)
    left, right = -width / 2, -width / 2 + share * width
    corners = [(left, -0.3, a + b), (right, -0.3, a + b), (right, 0.3, a + b), (left, 0.3, a + b)]
    off = reading.off(math.pi * LUMINANCE * polygon(corners, (x, 0, 0), UP))
    print(f"{share:.2f} of a penumbra of {width * b / a:.3f} m: {off:+.2f} standard errors")
    assert abs(off) <= LIMIT


@pytest.mark.parametrize("x", [-0.8, -0.5, 0.0, 0.5, 0.8])
def test_profile_of_a_disc(x: float) -> None:
    """The share of a disc beyond an edge x radii from its middle is (acos x - x sqrt(1 - x^2)) / pi; 0.1955
    at x = 0.5. Area of a circular segment."""
    radius, a, b = 0.3, 30.0, 1.0
    share = (math.acos(x) - x * math.sqrt(1.0 - x * x)) / math.pi
    if x == 0.5:
        assert share == pytest.approx(0.1955011, abs=5e-8)
    source = disc((0, 0, a + b), DOWN, radius)
    reading = across(source, a, b, np.array([radius * b / a * x]), samples=8192)
    whole = math.pi * LUMINANCE * radius**2 / (radius**2 + (a + b) ** 2)
    # cosine^4 over the disc is even to twice the square of its half angle
    off = reading.off(whole * share, bias=2.0 * (radius / a) ** 2)
    print(f"disc, edge at {x:+.1f} radii: {off:+.2f} standard errors")
    assert abs(off) <= LIMIT
