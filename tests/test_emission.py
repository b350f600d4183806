"""Luminance that varies over a light and by direction, boards with holes: against sums and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from light_lab import LIMIT, dome, flat, read

from renderer.kernels import layout
from renderer.scene.parts import Disc, Mask, Numbers, Part, Rectangle, Sphere, Tube
from renderer.world.shape import beam_table, glow_table, mask_table

L = 1000.0
UP = (0.0, 0.0, 1.0)


def table(values: np.ndarray) -> Numbers:
    return tuple(tuple(float(x) for x in row) for row in values)


def between(values: np.ndarray, row: np.ndarray, column: np.ndarray, around: bool) -> np.ndarray:
    """Straight lines between the middles of cells, level past the last: written anew here."""
    n, m = values.shape
    y, x = np.clip(row * n - 0.5, 0.0, n - 1.0), column * m - 0.5
    x = x % m if around else np.clip(x, 0.0, m - 1.0)
    r, c = np.minimum(y.astype(int), n - 2), np.floor(x).astype(int)
    fy, fx = y - r, x - c
    c0, c1 = c % m, (c + 1) % m if around else np.minimum(c + 1, m - 1)
    return (1 - fy) * ((1 - fx) * values[r, c0] + fx * values[r, c1]) + fy * (
        (1 - fx) * values[r + 1, c0] + fx * values[r + 1, c1]
    )


def uneven() -> np.ndarray:
    """A table at the kernels' own size, so that nothing is resized."""
    y, x = np.mgrid[0 : layout.GLOW_ROWS, 0 : layout.GLOW_COLUMNS]
    return np.asarray(2.0 + np.sin(0.5 * y) + 0.8 * np.cos(2.0 * math.pi * x / layout.GLOW_COLUMNS))


def summed(points: np.ndarray, normals: np.ndarray, weights: np.ndarray, sent: np.ndarray) -> float:
    """Illuminance at the origin, normal UP: sum of L cos cos / d^2 over pieces of area."""
    d = np.linalg.norm(points, axis=1)
    way = points / d[:, None]
    cosines = np.clip(way[:, 2], 0.0, None) * np.clip(-(way * normals).sum(axis=1), 0.0, None)
    return float((sent * cosines * weights / d**2).sum())


STEPS = 600


def test_glow_of_a_rectangle() -> None:
    values = uneven()
    shape = Rectangle((0.2, 0.1, 1.0), (0.5, 0.0, 0.0), (0.0, 0.4, 0.0), (0.0, 0.0, -1.0))
    s = (np.arange(STEPS) + 0.5) / STEPS
    v, u = (axis.ravel() for axis in np.meshgrid(s, s, indexing="ij"))
    points = np.stack([0.2 + 0.5 * (2 * u - 1), 0.1 + 0.4 * (2 * v - 1), np.ones_like(u)], axis=1)
    sent = L * between(values / values.mean(), v, u, False)
    expected = summed(points, np.array([[0, 0, -1.0]]), np.full(len(u), 0.8 / len(u)), sent)
    even = summed(points, np.array([[0, 0, -1.0]]), np.full(len(u), 0.8 / len(u)), np.full(len(u), L))
    reading = read([[Part(shape, L, glow=table(values))]], flat((0, 0, 0), UP), samples=4096)
    assert abs(expected / even - 1.0) > 0.01  # the table matters here, far beyond the error
    assert abs(reading.off(expected, bias=1e-5)) <= LIMIT


def test_glow_of_a_disc() -> None:
    values = uneven()
    u, v = (math.cos(0.7), math.sin(0.7), 0.0), (math.sin(0.7), -math.cos(0.7), 0.0)
    shape = Disc((0.3, 0.0, 0.8), (0.0, 0.0, -1.0), 0.4, u, v)
    s = (np.arange(STEPS) + 0.5) / STEPS
    share, turn = (axis.ravel() for axis in np.meshgrid(s, s, indexing="ij"))
    r, a = 0.4 * np.sqrt(share), 2.0 * math.pi * turn
    points = np.array([0.3, 0.0, 0.8]) + r[:, None] * (
        np.cos(a)[:, None] * u + np.sin(a)[:, None] * np.array(v)
    )
    sent = L * between(values / values.mean(), share, turn, True)
    area = math.pi * 0.4**2
    expected = summed(points, np.array([[0, 0, -1.0]]), np.full(len(r), area / len(r)), sent)
    reading = read([[Part(shape, L, glow=table(values))]], flat((0, 0, 0), UP), samples=4096)
    assert abs(reading.off(expected, bias=2e-5)) <= LIMIT


@pytest.mark.parametrize("whole", [True, False])
def test_glow_of_a_tube(whole: bool) -> None:
    values = uneven()
    first, last = (0.3, 0.3 + 2.0 * math.pi) if whole else (-2.2, 1.1)
    shape = Tube((1.0, 0.2, 0.5), (1.0, 0, 0), (0, 1.0, 0), UP, 0.3, first, last, 0.0, 0.6)
    s = (np.arange(STEPS) + 0.5) / STEPS
    height, turn = (axis.ravel() for axis in np.meshgrid(s, s, indexing="ij"))
    a = first + turn * (last - first)
    normals = np.stack([np.cos(a), np.sin(a), np.zeros_like(a)], axis=1)
    points = np.array([1.0, 0.2, 0.5]) + 0.3 * normals + np.stack([0 * a, 0 * a, 0.6 * height], axis=1)
    sent = L * between(values / values.mean(), height, turn, whole)
    area = 0.3 * (last - first) * 0.6
    expected = summed(points, normals, np.full(len(a), area / len(a)), sent)
    reading = read([[Part(shape, L, glow=table(values))]], flat((0, 0, 0), UP), samples=4096)
    assert abs(reading.off(expected, bias=2e-4)) <= LIMIT


def test_an_even_table_changes_nothing() -> None:
    shape = Sphere((0.0, 0.3, 1.2), 0.25)
    readings = [
        read([[Part(shape, L, glow=glow)]], flat((0, 0, 0), UP), samples=256).value()
        for glow in (None, ((7.0,),))
    ]
    assert readings[1] == pytest.approx(readings[0], rel=1e-6)


def lobe(n: float) -> Numbers:
    """Luminance of a lobe I0 cos^n from a flat face: cos^(n - 1)."""
    gamma = np.radians(np.linspace(0.0, 90.0, layout.BEAM_ROWS))
    return table(np.repeat(np.cos(gamma)[:, None] ** (n - 1.0), 2, axis=1))


@pytest.mark.parametrize("n", [2.0, 13.8127])
@pytest.mark.parametrize("degrees", [0.0, 20.0, 40.0])
def test_beam_from_a_small_face(n: float, degrees: float) -> None:
    """E = I0 cos^n(gamma) / d^2, with I0 = L A, far away; 36 degrees of beam have n = 13.8127 by
    n = ln 0.5 / ln cos(18 deg). The receptor faces the light."""
    radius, d = 0.01, 2.0
    way = (math.sin(math.radians(degrees)), 0.0, -math.cos(math.radians(degrees)))
    at = tuple(d * c for c in way)
    part = Part(Disc((0, 0, 0), (0.0, 0.0, -1.0), radius), L, beam=lobe(n))
    reading = read([[part]], flat(at, tuple(-c for c in way)), samples=1024)
    expected = L * math.pi * radius**2 * math.cos(math.radians(degrees)) ** n / d**2
    # rows are a degree apart: straight lines between them err by h^2 / 8 |f''| <= n^2 h^2 / 8
    bias = n**2 * math.radians(1.0) ** 2 / 8.0 + (radius / d) ** 2
    assert abs(reading.off(expected, bias=bias)) <= LIMIT


def test_flux_of_a_beam() -> None:
    """A face in a black box sends 2 pi I0 / (n + 1) lumens onto the walls: here as the mean of a dome's
    readings, which see the whole of it from one place after another, by the inverse square law."""
    n, radius, d = 4.0, 0.01, 1.0
    part = Part(Disc((0, 0, 0), (0.0, 0.0, -1.0), radius), L, beam=lobe(n))
    nodes, weights = np.polynomial.legendre.leggauss(24)
    cosines = 0.5 * (nodes + 1.0)
    probes = []
    for c in cosines:
        s = math.sqrt(1.0 - c * c)
        probes.append(dome((d * s, 0.0, -d * c), (-s, 0.0, c)))
    totals = read([[part]], probes, samples=512).totals()  # on the axis of a dome a small source reads its E
    flux = totals @ (weights * 0.5) * 2.0 * math.pi * d**2
    expected = 2.0 * math.pi * L * math.pi * radius**2 / (n + 1.0)
    assert flux.mean() == pytest.approx(expected, rel=n**2 * math.radians(1.0) ** 2 / 8.0 + 4e-4)


def test_a_turned_beam_throws_where_its_columns_say() -> None:
    """C counts from u towards v: light only about C = 90."""
    values = np.zeros((2, 4))
    values[:, 1] = 1.0
    disc = Disc((0, 0, 0), (0.0, 0.0, -1.0), 0.01, (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    part = Part(disc, L, beam=table(values))
    found = {}
    for name, x, y in (("u", 1.0, 0.0), ("v", 0.0, 1.0), ("-u", -1.0, 0.0), ("-v", 0.0, -1.0)):
        way = np.array([x, y, -1.0]) / math.sqrt(2.0)
        found[name] = read([[part]], flat(tuple(2.0 * way), tuple(-way)), samples=64).value()
    full = read([[Part(disc, L)]], flat(tuple(2.0 * way), tuple(-way)), samples=64).value()
    assert found["v"] == pytest.approx(full, rel=0.02)
    assert max(found["u"], found["-u"], found["-v"]) < 0.02 * full


def holes(stops: np.ndarray) -> Mask:
    cells = stops.astype(np.uint8)
    return Mask(*cells.shape, cells.tobytes())


def test_a_board_with_holes_stops_its_share() -> None:
    """A half open board, in stripes much finer than the lamp as seen through it, lets half of the light
    through; a whole one none; an open one all."""
    lamp = Part(Disc((0, 0, 2.0), (0.0, 0.0, -1.0), 0.3), L)
    board = Rectangle((0, 0, 1.0), (0.6, 0.0, 0.0), (0.0, 0.6, 0.0), UP)

    def lux(mask: np.ndarray) -> object:
        return read([[lamp]], flat((0, 0, 0), UP), solids=[Part(board, mask=holes(mask))], samples=4096)

    free = read([[lamp]], flat((0, 0, 0), UP), samples=4096).value()
    stripes = np.tile([[0.0], [1.0]], (32, 1))
    assert lux(np.zeros((1, 1))).value() == pytest.approx(free, rel=1e-6)  # type: ignore[attr-defined]
    assert lux(np.ones((1, 1))).value() == 0.0  # type: ignore[attr-defined]
    # the shadow of a stripe falls within 0.3 m of lamp: 0.15 m on the board hold 4 pairs of stripes
    half = lux(stripes)
    assert abs(half.off(0.5 * free, bias=0.02)) <= LIMIT  # type: ignore[attr-defined]


def test_tables_are_resized_and_refused() -> None:
    assert glow_table(((1.0, 3.0),)).mean() == pytest.approx(1.0)
    assert glow_table(((1.0, 3.0),))[0, -1] == pytest.approx(1.5)
    assert beam_table(((1.0,), (0.0,)))[45].mean() == pytest.approx(0.5)
    assert mask_table(holes(np.array([[0.0, 1.0]]))).mean() == pytest.approx(0.5)
    with pytest.raises(ValueError, match="above 0"):
        glow_table(((0.0, 0.0),))
