"""Samples on a graphics card, in waves: for many paths at once one vertex, and then the next.

Threads of a card go in step. Were each to follow its path to the end, most would wait for the longest: paths
of bounces took four times as long. So those that go on are gathered after every vertex, in rows of what they
carry, one column a path; threads side by side all have work, and those of one kernel the same. Several may
add to one sum at a time: `renderer.kernels.tally` lets them, in an order that is not always the same.
"""

from typing import Annotated, NamedTuple

import numpy as np

from renderer.kernels.compiler import inlined
from renderer.kernels.entry import MIRRORED, View, first_vertex, key_of, view_of
from renderer.kernels.layout import CAMERA, FLAT, PROBE, PackedScene, Tally
from renderer.kernels.path import PRIMARY_PAIRS, Receiver, Vertex, add_light, begin, go_on, paths_of
from renderer.kernels.sampler import U32, mix
from renderer.kernels.tally import accumulate

# Rows of a vertex, and of what all vertices need of their receiver.
LEAVING, GEOMETRIC, SHADING, W_O, BETA, GAIN, OTHER = range(0, 21, 3)
SHARE, PAIRED, GLOSS, PAIR, WEIGHT, COUNTED, VERTEX_ROWS = range(21, 28)
# More rows of a first vertex: what is to be done there; the weight of the sample; its coat, of which W_O is a
# part; how it weighs light; whether cards were sampled; and the view that a lens mirrors, with its weight.
STATE, WHOLE, MATERIAL, ALPHA, EVERYWHERE, SAMPLED, MIRRORS = range(VERTEX_ROWS, 34)
NORMAL, ASIDE, TOWARD, START_ROWS = range(34, 44, 3)
NAMES = 4  # of a sample: place of its receiver in the tally, half, key and number of its random numbers
# States: ended; has its light to be gathered; its paths too.
NOTHING, LIT, GOES_ON = 0.0, 1.0, 2.0


class Wave(NamedTuple):
    """What is traced, and what lies on the card between kernels.

    receivers    numbers of pixels or probes
    numbers      family, seed, halves, shares, first, count: `count` samples, from number `first`, of each
                 receiver in halves 0 .. halves - 1, each half's shared out among `shares` columns of `starts`
    starts       first vertices of one sample each, and `start_names`
    rows, names  of paths under way, by turns to be read and to be written
    written      how many of them there are: by turns of those to be read, to be written, and 0 for the next
    """

    scene: PackedScene
    camera: Annotated[np.ndarray, CAMERA, 1]
    probes: Annotated[np.ndarray, PROBE, "p"]
    tally: Tally
    receivers: Annotated[np.ndarray, "i4", "r"]
    numbers: Annotated[np.ndarray, "i8", 6]
    starts: Annotated[np.ndarray, "f8", START_ROWS, "n"]
    start_names: Annotated[np.ndarray, "u4", NAMES, "n"]
    rows: Annotated[np.ndarray, "f8", 2, VERTEX_ROWS, "m"]
    names: Annotated[np.ndarray, "u4", 2, NAMES, "m"]
    written: Annotated[np.ndarray, "i4", 3]


@inlined
def three(rows, k, column):
    return (rows[k, column], rows[k + 1, column], rows[k + 2, column])


@inlined
def put_three(rows, k, column, values):
    for i in range(3):
        rows[k + i, column] = values[i]


@inlined
def put_names(names, column, receiver, half, key, number):
    names[0, column], names[1, column] = receiver, half
    names[2, column], names[3, column] = key, number


@inlined
def names_in(names, column):
    return int(names[0, column]), int(names[1, column]), names[2, column], int(names[3, column])


@inlined
def put_vertex(rows, column, vertex, receiver):
    put_three(rows, LEAVING, column, vertex.leaving)
    put_three(rows, GEOMETRIC, column, vertex.geometric)
    put_three(rows, SHADING, column, vertex.shading)
    put_three(rows, W_O, column, vertex.w_o)
    put_three(rows, BETA, column, vertex.beta)
    put_three(rows, GAIN, column, vertex.gain)
    put_three(rows, OTHER, column, vertex.other)
    rows[SHARE, column], rows[PAIRED, column] = vertex.share, vertex.paired
    rows[GLOSS, column], rows[PAIR, column] = vertex.gloss, vertex.pair
    rows[WEIGHT, column], rows[COUNTED, column] = receiver.weight, receiver.counted


@inlined
def vertex_in(rows, column):
    return Vertex(
        three(rows, LEAVING, column),
        three(rows, GEOMETRIC, column),
        three(rows, SHADING, column),
        three(rows, W_O, column),
        three(rows, BETA, column),
        three(rows, GAIN, column),
        rows[SHARE, column],
        rows[PAIRED, column] > 0.0,
        three(rows, OTHER, column),
        int(rows[GLOSS, column]),
        int(rows[PAIR, column]),
    )


@inlined
def receiver_left(rows, column):
    """What is still to be known of a receiver that its path has left."""
    nowhere = (0.0, 0.0, 0.0)
    coat = (-1, 0.0, nowhere, nowhere)
    return Receiver(coat, rows[WEIGHT, column], rows[COUNTED, column], False, False)


@inlined
def put_receiver(starts, column, receiver):
    number, alpha, normal, _ = receiver.coat
    starts[MATERIAL, column], starts[ALPHA, column] = number, alpha
    put_three(starts, NORMAL, column, normal)
    starts[EVERYWHERE, column], starts[SAMPLED, column] = receiver.everywhere, receiver.sampled


@inlined
def receiver_in(starts, column):
    return Receiver(
        (
            int(starts[MATERIAL, column]),
            starts[ALPHA, column],
            three(starts, NORMAL, column),
            three(starts, W_O, column),
        ),
        starts[WEIGHT, column],
        starts[COUNTED, column],
        starts[EVERYWHERE, column] > 0.0,
        starts[SAMPLED, column] > 0.0,
    )


@inlined
def columns_of(wave):
    """How many samples are begun at a time."""
    return wave.receivers.shape[0] * wave.numbers[2] * wave.numbers[3]


@inlined
def sample_of(wave, column, step):
    """(receiver, half, number of sample `step` of a column, whether the column has so many)"""
    receivers, shares = wave.receivers.shape[0], wave.numbers[3]
    first, count = wave.numbers[4], wave.numbers[5]
    half, share = column // receivers // shares, column // receivers % shares
    number = first + count * share // shares + step
    return wave.receivers[column % receivers], half, number, number < first + count * (share + 1) // shares


@inlined
def begin_sample(wave, work, column, step, leg):
    """Find the first vertex of a sample, and add what is known there and what cards send.

    leg  1: of what a lens mirrors beside it
    """
    scene, tally, starts, family = wave.scene, wave.tally, wave.starts, wave.numbers[0]
    receiver, half, number, wanted = sample_of(wave, column, step)
    key = key_of(wave.numbers[1], half, family, receiver)
    starts[STATE, column] = NOTHING
    if not wanted:
        return
    if leg == 0:
        accumulate(tally.samples, (half, receiver), 1)
        wanted, view, mirrored, beside = view_of(
            scene, wave.camera, wave.probes, work, receiver, family, key, half, number, tally
        )
        starts[MIRRORS, column] = mirrored
        put_three(starts, ASIDE, column, beside.origin)
        put_three(starts, TOWARD, column, beside.direction)
    else:
        key, mirrored = mix(key, MIRRORED), starts[MIRRORS, column]
        wanted = mirrored > 0.0
        aside, toward = three(starts, ASIDE, column), three(starts, TOWARD, column)
        view = View(True, FLAT, aside, toward, mirrored, 0.0)
    if not wanted:
        return
    found, vertex, start, wall = first_vertex(scene, work, tally, half, receiver, key, number, view)
    if not found:
        return
    starts[WHOLE, column] = start.weight
    going, vertex, start = begin(scene, work, tally, half, receiver, key, number, vertex, start, wall)
    starts[STATE, column] = GOES_ON if going else LIT
    put_vertex(starts, column, vertex, start)
    put_receiver(starts, column, start)
    put_names(wave.start_names, column, receiver, half, key, number)


@inlined
def light_start(wave, work, column, light):
    """Add the light of one light at a first vertex."""
    starts = wave.starts
    if starts[STATE, column] == NOTHING:
        return
    receiver, half, key, number = names_in(wave.start_names, column)
    whole, there = starts[WHOLE, column], vertex_in(starts, column)
    beta, pair = (whole, whole, whole), PRIMARY_PAIRS
    vertex = Vertex(
        there.leaving, there.geometric, there.shading, there.w_o, beta, there.gain, 1.0, False, there.leaving,
        there.gloss, pair,
    )  # fmt: skip
    start = receiver_in(starts, column)
    add_light(wave.scene, work, wave.tally, half, receiver, key, number, vertex, start, True, light)


@inlined
def under_way(wave, turn):
    """How many paths are."""
    return wave.written[turn % 3]


@inlined
def light_path(wave, work, turn, column, light):
    """Add the light of one light where a path stands."""
    rows = wave.rows[turn % 2]
    receiver, half, key, number = names_in(wave.names[turn % 2], column)
    vertex, start = vertex_in(rows, column), receiver_left(rows, column)
    add_light(wave.scene, work, wave.tally, half, receiver, key, number, vertex, start, False, light)


@inlined
def leave_start(wave, work, column, path):
    """Take one of a sample's paths to its next vertex: (whether it goes on from there, names, vertex,
    receiver)."""
    starts = wave.starts
    receiver, half, key, number = names_in(wave.start_names, column)
    number = number * paths_of(wave.scene) + path
    vertex, start = vertex_in(starts, column), receiver_in(starts, column)
    going = starts[STATE, column] == GOES_ON
    if going:
        going, vertex = go_on(wave.scene, work, wave.tally, half, receiver, key, number, vertex, start, True)
    return going, (receiver, half, key, U32(number)), vertex, start


@inlined
def leave_path(wave, work, turn, column):
    """Take a path to its next vertex; what is returned is as in `leave_start`."""
    rows = wave.rows[turn % 2]
    receiver, half, key, number = names_in(wave.names[turn % 2], column)
    vertex, start = vertex_in(rows, column), receiver_left(rows, column)
    going, vertex = go_on(wave.scene, work, wave.tally, half, receiver, key, number, vertex, start, False)
    return going, (receiver, half, key, U32(number)), vertex, start


@inlined
def put_path(wave, turn, column, names, vertex, receiver):
    """Write a path for the turn that follows."""
    following = (turn + 1) % 2
    put_names(wave.names[following], column, names[0], names[1], names[2], names[3])
    put_vertex(wave.rows[following], column, vertex, receiver)
