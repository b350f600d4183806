"""Rays against triangles: the tree against trying every one, and closed meshes that must not leak."""

from __future__ import annotations

import math

import numpy as np
import pytest
from light_lab import meshed, unit
from small_scene import BALL_RADIUS, HEAD, ball

from renderer.kernels.compiler import entry
from renderer.kernels.lanes import LANES
from renderer.kernels.layout import STACK
from renderer.kernels.mesh import any_triangle, first_triangle
from renderer.kernels.ray import STACK_SIZE
from renderer.kernels.tree import DEEPEST, build_binary
from renderer.kernels.vector import triple
from renderer.world.pack import Triangles, pack

FAR = 100.0


@entry
def cast(mesh, stack, lanes, origins, directions, far, number, distance, any_hit):
    for i in range(origins.shape[0]):
        o, d = triple(origins[i]), triple(directions[i])
        number[i], distance[i], _, _ = first_triangle(mesh, o, d, far, stack, lanes)
        any_hit[i] = any_triangle(mesh, o, d, far, stack, lanes)


def loose(corners: np.ndarray) -> Triangles:
    """Triangles from corners (n, 3, 3), none shared."""
    count = len(corners)
    normals = np.tile((0.0, 0.0, 1.0), (3 * count, 1))
    return meshed(corners.reshape(-1, 3), normals, np.arange(3 * count).reshape(-1, 3), (0.5, 0.5, 0.5))


def by_tree(
    mesh: Triangles | None, o: np.ndarray, d: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Distance (inf for none), number in the packed mesh, and whether `any_triangle` saw something."""
    packed = pack([[]], mesh=mesh).mesh
    number, distance = np.empty(len(o), np.int64), np.empty(len(o))
    any_hit = np.empty(len(o), np.bool_)
    cast(
        packed, np.empty(STACK_SIZE, STACK), np.empty(LANES, np.float32), o, d, FAR, number, distance, any_hit
    )
    return np.where(number >= 0, distance, np.inf), number, any_hit


def by_brute_force(mesh: Triangles, o: np.ndarray, d: np.ndarray) -> np.ndarray:
    """Nearest distance (inf for none): o + t d = a + u e1 + v e2 solved by Cramer's rule, for every triangle
    as single precision keeps it."""
    rows = pack([[]], mesh=mesh).mesh.triangles.astype(float)
    a, e1, e2 = rows[:, :3], rows[:, 3:6], rows[:, 6:]
    nearest = np.full(len(o), np.inf)
    with np.errstate(all="ignore"):
        for i in range(len(o)):
            s, normal = o[i] - a, np.cross(e1, e2)
            det = -(normal @ d[i])
            across = np.cross(s, d[i])
            u, v = (across * e2).sum(axis=1) / det, -(across * e1).sum(axis=1) / det
            t = (s * normal).sum(axis=1) / det
            hit = (u >= 0) & (v >= 0) & (u + v <= 1) & (t > 0) & (t < FAR) & (det != 0)
            nearest[i] = t[hit].min(initial=np.inf)
    return nearest


def soup(kind: str, rng: np.random.Generator, count: int = 500) -> np.ndarray:
    corners = rng.normal(size=(count, 1, 3)) + 0.3 * rng.normal(size=(count, 3, 3))
    if kind == "flat":  # in planes of the axes: boxes without thickness
        axis = rng.integers(0, 3, count)
        corners[np.arange(count), :, axis] = corners[np.arange(count), :1, axis]
    elif kind == "degenerate":  # points and needles among the rest
        corners[::3, 1] = corners[::3, 0]
        corners[::5, 2] = corners[::5, 1] = corners[::5, 0]
    elif kind == "coincident":  # centres in one point, so that no cut can part them
        corners = np.repeat(corners[:1], count, axis=0)
        corners[:, 1] += rng.normal(size=(count, 3))
        corners -= 0.5 * (corners.min(axis=1) + corners.max(axis=1))[:, None]
    elif kind == "uneven":  # from the size of a room to a tenth of a millimetre
        corners *= 10.0 ** rng.uniform(-4, 0.5, (count, 1, 1))
    return corners


def rays(kind: str, rng: np.random.Generator, count: int = 600) -> tuple[np.ndarray, np.ndarray]:
    o, d = 3.0 * rng.normal(size=(count, 3)), rng.normal(size=(count, 3))
    if kind == "to the middle":
        d = 0.5 * rng.normal(size=(count, 3)) - o
    elif kind == "along axes":
        d = np.eye(3)[rng.integers(0, 3, count)] * rng.choice([-1.0, 1.0], (count, 1))
        o *= 0.3
    elif kind == "in planes of axes":
        d[np.arange(count), rng.integers(0, 3, count)] = 0.0
        o *= 0.3
    return o, d / np.linalg.norm(d, axis=1, keepdims=True)


@pytest.mark.parametrize("shape", ["plain", "flat", "degenerate", "coincident", "uneven"])
@pytest.mark.parametrize("way", ["any", "to the middle", "along axes", "in planes of axes"])
def test_tree_finds_what_brute_force_finds(shape: str, way: str) -> None:
    rng = np.random.default_rng(len(shape) * 100 + len(way))
    mesh = loose(soup(shape, rng))
    o, d = rays(way, rng)
    expected = by_brute_force(mesh, o, d)
    found, _, any_hit = by_tree(mesh, o, d)
    assert np.isfinite(expected).sum() > (20 if way != "any" else 5)
    np.testing.assert_array_equal(np.isfinite(found), np.isfinite(expected))
    np.testing.assert_array_equal(any_hit, np.isfinite(expected))
    hit = np.isfinite(expected)
    np.testing.assert_allclose(found[hit], expected[hit], rtol=1e-9)


@pytest.mark.parametrize("count", [1, 2, 7, 8, 9, 57])
def test_small_meshes(count: int) -> None:
    rng = np.random.default_rng(count)
    mesh = loose(soup("plain", rng, count))
    o, d = rays("to the middle", rng, 300)
    np.testing.assert_allclose(by_tree(mesh, o, d)[0], by_brute_force(mesh, o, d), rtol=1e-9)


def test_no_mesh_and_an_empty_mesh_are_met_by_nothing() -> None:
    empty = meshed(np.zeros((0, 3)), np.zeros((0, 3)), [], (0.5, 0.5, 0.5))
    o, d = rays("any", np.random.default_rng(1))
    for mesh in (None, empty):
        found, number, any_hit = by_tree(mesh, o, d)
        assert np.isinf(found).all()
        assert (number < 0).all()
        assert not any_hit.any()


def test_a_closed_mesh_does_not_leak() -> None:
    """Rays from within always meet it. Corners are rounded to single precision and edges again, so that two
    triangles may part by a unit in the last place along their common edge: that, and no more, may leak."""
    mesh = ball(24)
    rng = np.random.default_rng(4)
    count = 1_000_000
    o = rng.normal(size=(count, 3))
    o = 0.5 * BALL_RADIUS * o / np.linalg.norm(o, axis=1, keepdims=True) + HEAD
    d = rng.normal(size=(count, 3))
    d /= np.linalg.norm(d, axis=1, keepdims=True)
    found, *_ = by_tree(mesh, o, d)
    corners = mesh.vertices[mesh.faces]
    edges = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).sum() / 2.0
    crack = 2.0 * float(np.spacing(np.float32(1.3)))  # of the highest corner, both sides of the edge
    allowed = edges * crack / (4.0 * math.pi * BALL_RADIUS**2)
    leaks = np.isinf(found).sum()
    print(f"{leaks} of {count} rays leak; cracks of the last place would allow {allowed * count:.1f}")
    assert leaks <= allowed * count + 4.0 * math.sqrt(allowed * count)


def test_rays_through_corners_and_edges_of_a_closed_mesh_hit() -> None:
    """A cube of whole numbers: corners, edges and diagonals are met exactly, from every side."""
    cube = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], float)
    quads = [(0, 1, 3, 2), (4, 5, 7, 6), (0, 1, 5, 4), (2, 3, 7, 6), (0, 2, 6, 4), (1, 3, 7, 5)]
    faces = np.array([f for a, b, c, e in quads for f in ((a, b, c), (a, c, e))])
    mesh = meshed(cube, cube / math.sqrt(3.0), faces, (0.5, 0.5, 0.5))
    grid = np.array([(x, y, z) for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1)], float)
    d = np.array([unit(g) for g in grid if g.any()])
    found, _, any_hit = by_tree(mesh, np.zeros_like(d), d)
    assert np.isfinite(found).all()
    assert any_hit.all()


def test_a_tree_over_ever_smaller_triangles_stays_shallow_and_right() -> None:
    """Sizes and places that shrink by half, the freak that makes cuts part one triangle from all others."""
    rng = np.random.default_rng(12)
    scale = 0.5 ** np.arange(100.0)
    corners = np.concatenate([rng.uniform(1.0, 1.5, (8, 3, 3)) * k for k in scale])
    boxes = np.concatenate([corners.min(axis=1), corners.max(axis=1)], axis=1).astype(np.float32)
    _, bounds, links = build_binary(boxes)
    depth = np.zeros(len(bounds), int)
    for node in np.flatnonzero(links[:, 1] < 0):
        depth[links[node, 0] : links[node, 0] + 2] = depth[node] + 1
    assert 30 < depth.max() <= DEEPEST + math.ceil(math.log2(len(corners)))
    assert 7 * (DEEPEST + 32) // 3 <= STACK_SIZE
    mesh = loose(corners)
    d = rng.uniform(1.0, 1.5, (200, 3))
    d /= np.linalg.norm(d, axis=1, keepdims=True)
    o = 1e-3 * rng.normal(size=(200, 3))
    np.testing.assert_allclose(by_tree(mesh, o, d)[0], by_brute_force(mesh, o, d), rtol=1e-9)
