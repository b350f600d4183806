"""Rays against many shapes: the tree of boxes about them against asking every shape."""

from __future__ import annotations

import math

import numpy as np
import pytest
from light_lab import disc, rectangle, sphere, triple

from renderer.kernels.compiler import entry
from renderer.kernels.lanes import LANES
from renderer.kernels.layout import PART, STACK, Work
from renderer.kernels.ray import OFFSET, STACK_SIZE
from renderer.kernels.scene import first_hit, occluded
from renderer.kernels.shapes import intersect
from renderer.kernels.vector import triple as three
from renderer.scene.parts import Part, Tube
from renderer.world.pack import pack

RAYS = 4000
NONE = -1


@entry
def ask_the_tree(scene, stack, lanes, origins, directions, reach, without, number, distance, hidden):
    work = Work(stack, lanes)
    for i in range(origins.shape[0]):
        o, d = three(origins[i]), three(directions[i])
        t, family, met, _, _, _ = first_hit(scene, work, o, d)
        number[i] = met if family == PART else NONE
        distance[i] = t
        hidden[i] = occluded(scene, work, o, d, reach, without)


@entry
def ask_every_shape(shapes, origins, directions, reach, without, number, distance, hidden):
    for i in range(origins.shape[0]):
        o, d = three(origins[i]), three(directions[i])
        number[i], distance[i], hidden[i] = NONE, math.inf, False
        for k in range(shapes.shape[0]):
            t, _ = intersect(shapes[k], o, d)
            if 0.0 < t < distance[i]:
                number[i], distance[i] = k, t
            if k != without and 0.0 < t < reach - OFFSET:
                hidden[i] = True


def some_shapes(count: int, rng: np.random.Generator) -> list[Part]:
    """Shapes of every kind, turned anyhow, in a cube of 4 m about the origin."""
    parts = []
    for k in range(count):
        centre = rng.uniform(-2.0, 2.0, 3)
        u, v, w = np.linalg.qr(rng.normal(size=(3, 3)))[0]
        first, second = rng.uniform(0.02, 0.6, 2)
        if k % 5 == 0:
            parts.append(disc(centre, w, first))
        elif k % 5 == 1:
            parts.append(rectangle(centre, first * u, second * v, w))
        elif k % 5 == 2:
            parts.append(sphere(centre, first))
        else:
            start = rng.uniform(-math.pi, math.pi)
            turn = 2.0 * math.pi if k % 5 == 3 else rng.uniform(0.1, 6.0)
            axes = (triple(u), triple(v), triple(w))
            parts.append(Part(Tube(triple(centre), *axes, first, start, start + turn, -second, first), 1.0))
    return parts


@pytest.mark.parametrize("count", [0, 1, 5, 8, 9, 64, 200])
def test_tree_meets_what_asking_all_meets(count: int) -> None:
    rng = np.random.default_rng(count)
    scene = pack([some_shapes(count, rng)])
    origins = rng.uniform(-3.0, 3.0, (RAYS, 3))
    directions = rng.normal(size=(RAYS, 3))
    directions[::7, rng.integers(3)] = 0.0  # along a plane of the boxes
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    stack, lanes = np.empty(STACK_SIZE, STACK), np.empty(LANES, np.float32)
    answers = []
    for ask, what in ((ask_the_tree, (scene, stack, lanes)), (ask_every_shape, (scene.shapes,))):
        number, distance, hidden = np.empty(RAYS, np.int64), np.empty(RAYS), np.empty(RAYS, np.bool_)
        ask(*what, origins, directions, 1.5, 2, number, distance, hidden)
        answers.append((number, distance, hidden))
    for own, every in zip(*answers, strict=True):
        np.testing.assert_array_equal(own, every)
    assert count == 0 or answers[0][2].any()
