"""Edges of shadows, sizes of sources and falloff against closed forms."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest
from face_lab import EYES, THREADS, head, text, tracer, under
from light_lab import disc, rectangle

from renderer.film.pool import Pool
from renderer.kernels.layout import PackedScene
from renderer.meter.face import geometry
from renderer.meter.face.points import Tracer, without_sitter
from renderer.meter.face.softness import edge_of
from renderer.meter.face.source import angles, look_at
from renderer.world.pack import Triangles, pack


@pytest.fixture(scope="module")
def pool() -> Iterator[Pool]:
    with Pool(THREADS) as threads:
        yield threads


def blocked(layers: list[list]) -> PackedScene:
    """A large opaque plate in the plane z = 0 that ends at x = 0, as if it were the sitter."""
    corners = np.array([[-5.0, -5.0, 0.0], [0.0, -5.0, 0.0], [0.0, 5.0, 0.0], [-5.0, 5.0, 0.0]])
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    up = np.broadcast_to([0.0, 0.0, 1.0], corners.shape)
    plate = Triangles(
        corners, up, np.full_like(corners, 0.5), np.zeros(len(corners)), faces, np.zeros(2, int)
    )
    return pack(layers, (), None, plate)


@pytest.mark.parametrize(("width", "a", "b"), [(0.6, 1.2, 0.4), (0.9, 1.5, 0.15), (0.3, 1.2, 0.02)])
@pytest.mark.parametrize("shape", ["disc", "square"])
def test_edge_width(pool: Pool, shape: str, width: float, a: float, b: float) -> None:
    """w = D b / a (similar triangles); of it 80 % lie between 0.1 and 0.9 for a square, whose profile is
    linear, and 0.68705 for a disc, whose visible part is [acos x - x sqrt(1 - x^2)] / pi (both exact)."""
    whole = width * b / a
    if shape == "disc":
        lamp, part = disc([0.0, 0.0, a], [0.0, 0.0, -1.0], width / 2), 0.68705
    else:
        half = width / 2
        lamp = rectangle([0.0, 0.0, a], [half, 0.0, 0.0], [0.0, half, 0.0], [0.0, 0.0, -1.0])
        part = 0.8
    step = whole / 100
    x = np.arange(-0.8 * whole, 0.8 * whole, step)
    at = np.stack([x, np.zeros_like(x), np.full_like(x, -b)], axis=1)
    trace = Tracer(pool, head().camera, 3)
    share, bare = trace.visibility(blocked([[lamp]]), 0, at, np.broadcast_to([0.0, 0.0, 1.0], at.shape), 512)
    assert (bare > 0.0).all()
    edge = edge_of(x, share, step, "plate")
    # cosine and distance change over the source: at most 2 % of the width for these; noise: a step or two
    assert edge.width == pytest.approx(part * whole, abs=0.02 * whole + 2 * step)
    assert edge.deepest < 0.02


def test_no_edge_without_core() -> None:
    along = np.linspace(0.0, 0.1, 50)
    assert math.isnan(edge_of(along, np.linspace(0.7, 1.0, 50), 0.002, "").width)
    assert math.isnan(edge_of(along, np.zeros(50), 0.002, "").width)


@pytest.mark.parametrize(("diameter", "distance"), [(0.6, 1.2), (0.9, 0.9), (0.3, 2.0), (0.05, 3.0)])
def test_angular_size_of_a_disc(pool: Pool, diameter: float, distance: float) -> None:
    """2 atan(D / 2 d), on axis."""
    scene = pack([[disc([0.0, distance, 0.0], [0.0, -1.0, 0.0], diameter / 2)]])
    source = look_at(Tracer(pool, head().camera, 0), scene, 0, np.zeros(3))
    assert source is not None
    wanted = math.degrees(2.0 * math.atan(diameter / 2.0 / distance))
    assert source.angular_size == pytest.approx(wanted, rel=0.01)
    assert source.to_middle == pytest.approx([0.0, 1.0, 0.0], abs=1e-3)


def test_a_flag_takes_half_a_source(pool: Pool) -> None:
    """Half the solid angle is left, and its middle moves to the centroid of a half disc, 4 r / 3 pi."""
    lamp = disc([0.0, 2.0, 0.0], [0.0, -1.0, 0.0], 0.3)
    flag = rectangle([0.0, 1.99, -1.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0], 0.0)
    trace = Tracer(pool, head().camera, 0)
    whole, half = (look_at(trace, pack([[lamp]], solids), 0, np.zeros(3)) for solids in ([], [flag]))
    assert whole is not None and half is not None
    assert half.solid_angle / whole.solid_angle == pytest.approx(0.5, rel=0.02)
    x, y, z = half.to_middle
    assert z / y == pytest.approx(4 * 0.3 / (3 * math.pi) / 2.0, rel=0.03) and abs(x) < 1e-3


def test_angles_of_a_direction() -> None:
    """A light at azimuth 45, elevation 45 has the cosine 0.5 to the face and 0.7071 to up."""
    direction = np.array([0.5, 0.5, math.sqrt(0.5)])
    assert angles(direction) == pytest.approx((45.0, 45.0))


@pytest.mark.parametrize("distance", [0.6, 1.2, 2.4])
def test_ear_to_ear(pool: Pool, distance: float) -> None:
    """Inverse square law between the two ears, for a small lamp beside the head."""
    world = under(text(90.0, 0.0, distance))
    found = geometry._ear_falloff(tracer(pool, world), without_sitter(world.packed), world, 0)
    lamp = np.array([distance, 0.0, EYES])
    far, near = (float(np.linalg.norm(world.landmarks[f"tragion_{s}"].position - lamp)) for s in ("r", "l"))
    assert found.number == pytest.approx(2.0 * math.log2(far / near), abs=0.02)
