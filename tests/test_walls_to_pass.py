"""Pairs of places on a wall: where the second lies, and light at both from one path, in closed form.

What pairs do to a picture's mean is in test_error_bars.py.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import view_factor as vf
from light_lab import LIMIT, grey, rectangle, standard_error
from small_scene import small

from renderer.film.pool import Pool
from renderer.film.wall_light import GRID_SHARE, scatter_of, wall_probes, with_walls_to_pass
from renderer.kernels.compiler import entry
from renderer.kernels.lanes import LANES
from renderer.kernels.layout import STACK, WALL, PackedScene, Work
from renderer.kernels.pair import shares_of_pair
from renderer.kernels.ray import STACK_SIZE
from renderer.kernels.scene import first_hit, surface_at
from renderer.kernels.vector import from_frame, tangents, triple
from renderer.kernels.wall_light import node_at, node_near, place_on_wall
from renderer.kernels.warp import square_to_cosine
from renderer.world.pack import Box, pack

NODES, BATCHES, RAYS = 5, 16, 20000
LOW, HIGH = (-2.0, -1.0, 0.0), (1.0, 3.0, 2.5)
CEILING = 5  # number of the face
BOARD_HALF, BOARD_AT = (0.3, 0.2), (-0.2, 0.8, 1.0)
PLACES = ((-0.4, 0.9, 1e-4), (-0.15, 0.75, 1e-4))


def room(*boards: object) -> PackedScene:
    packed = pack([], boards, Box(LOW, HIGH, [grey(0.5)] * 6), None)
    return packed._replace(wall_light=np.zeros((2, 6, NODES, NODES, 1, 6), np.float32))


@entry
def choose_nodes(scene, faces, points, choices, chosen, left):
    for i in range(points.shape[0]):
        place = place_on_wall(scene, 0, faces[i], triple(points[i]))
        node, left[i] = node_near(scene, place, choices[i])
        for k in range(3):
            chosen[i, k] = node[k]


@entry
def put_nodes(scene, last, found):
    for face in range(6):
        for i in range(last + 1):
            for j in range(last + 1):
                node = node_at(scene.room[0], face, i, j, last)
                for k in range(3):
                    found[face, i, j, k] = node[k]


@entry
def light_of_pair(scene, stack, lanes, places, random, wanted, found):
    """What each path finds at the first place less what at the second, of surfaces that send 1."""
    work, up = Work(stack, lanes), (0.0, 0.0, 1.0)
    s, t = tangents(up)
    for i in range(random.shape[0]):
        first, sign = (0, 1.0) if random[i, 2] < 0.5 else (1, -1.0)
        leaving, other = triple(places[first]), triple(places[1 - first])
        x, y, z = square_to_cosine(random[i, 0], random[i, 1])
        direction = from_frame(x, y, z, s, t, up)
        hit = first_hit(scene, work, leaving, direction)
        point, seen, _, _, _, _, _ = surface_at(scene, hit, leaving, direction)
        here, there, _, _ = shares_of_pair(
            scene, work, leaving, other, up, point, seen, direction, hit[0], False
        )
        found[i] = sign * (here - there) if hit[1] == WALL and hit[2] == wanted else 0.0


def test_nodes_lie_where_the_walls_are_metered() -> None:
    scene, found = room(), np.zeros((6, NODES, NODES, 3))
    put_nodes(scene, NODES - 1, found)
    assert np.allclose(found.reshape(-1, 3), wall_probes(scene, NODES)["at"], atol=1e-12)


def test_nodes_are_chosen_by_their_shares() -> None:
    """Straight lines between nodes give a place's own coordinates back: so does the mean of those chosen, but
    for the millimetre by which nodes stand off."""
    scene, rng = room(), np.random.default_rng(3)
    choices = (np.arange(1000) + 0.5) / 1000
    for face in range(6):
        point = rng.uniform(LOW, HIGH)
        point[face // 2] = (HIGH if face % 2 else LOW)[face // 2]
        chosen, left = np.zeros((1000, 3)), np.zeros(1000)
        choose_nodes(scene, np.full(1000, face), np.tile(point, (1000, 1)), choices, chosen, left)
        assert len(np.unique(chosen.round(6), axis=0)) == 4
        assert np.allclose(chosen.mean(axis=0), point, atol=3e-3)  # 1 mm, and 1 of 1000 choices of a metre
        assert ((left >= 0.0) & (left < 1.0)).all() and abs(left.mean() - 0.5) < 0.01


def factor(place: tuple[float, float, float], low: tuple[float, ...], high: tuple[float, ...]) -> float:
    """Of a level rectangle between two corners of one height, from a level element below it."""
    height = high[2] - place[2]
    x, y = (low[0] - place[0], high[0] - place[0]), (low[1] - place[1], high[1] - place[1])

    def corner(a: float, b: float) -> float:
        return (
            float(np.sign(a) * np.sign(b) * vf.rectangle_corner(abs(a), abs(b), height)) if a and b else 0.0
        )

    return corner(x[1], y[1]) - corner(x[0], y[1]) - corner(x[1], y[0]) + corner(x[0], y[0])


@pytest.mark.parametrize("board", [False, True])
def test_light_of_a_pair_is_the_difference_of_both(board: bool) -> None:
    """From a bright ceiling, without and with a board before it that hides another part of it from either:
    configuration factors of rectangles (Siegel & Howell, 4th ed., p. 842), theirs less that of the board."""
    ends = [np.array(BOARD_AT) + sign * np.array((*BOARD_HALF, 0.0)) for sign in (-1.0, 1.0)]
    boards = [rectangle(BOARD_AT, (BOARD_HALF[0], 0, 0), (0, BOARD_HALF[1], 0), (0, 0, -1), 0.0)]
    scene = room(*(boards if board else []))
    expected = 0.0
    for place, sign in zip(PLACES, (1.0, -1.0), strict=True):
        expected += sign * factor(place, LOW, HIGH)
        expected -= sign * factor(place, *ends) if board else 0.0
    rng, means, found = np.random.default_rng(7), [], np.zeros(RAYS)
    for _ in range(BATCHES):
        stack, lanes = np.empty(STACK_SIZE, STACK), np.empty(LANES, np.float32)
        light_of_pair(scene, stack, lanes, np.array(PLACES), rng.random((RAYS, 3)), CEILING, found)
        means.append(found.mean())
    error = standard_error(np.array(means))
    print(f"{np.mean(means):+.5f} +- {error:.5f}, expected {expected:+.5f}")
    assert abs(np.mean(means) - expected) <= LIMIT * error
    assert LIMIT * error < 0.5 * abs(expected)  # so that one place alone would be told from both


def test_small_errors_are_asked_of_the_grids_as_well() -> None:
    scene, how = small(), {"nodes": 8, "sweeps": (4, 16)}
    with Pool(2) as pool:
        found = scatter_of(with_walls_to_pass(pool, scene.packed, scene.camera, 1, **how))
        aim = 0.4 * found
        fine = with_walls_to_pass(
            pool, scene.packed, scene.camera, 1, math.log2(1.0 + aim / GRID_SHARE), **how
        )
    print(f"scatter {found:.4f}, then {scatter_of(fine):.4f}, wanted {aim:.4f}")
    assert 0.0 < scatter_of(fine) <= aim
