"""The filter that takes the grain out of a picture's light, and its steps; see `renderer.film.denoise`."""

from typing import NamedTuple

import numpy as np

from renderer.kernels.compiler import entry, inlined
from renderer.kernels.gain import calm, even
from renderer.kernels.grain import begin, clear, finish, lift, split, tame, without_spark
from renderer.kernels.octet import at_once, choose, in_all, read, read_three, write, write_three
from renderer.kernels.plate import (
    AROUND,
    DISTANCE,
    FIRST,
    HALF,
    LEAST,
    MARGIN,
    NOISE,
    NORMAL,
    ONE,
    RISE,
    SECOND,
    SURFACE,
    VARIANCE,
    ZERO,
    Plate,
    square,
    weight_at,
)
from renderer.kernels.vector import along, dot, scale, sub

# Steps, in their order.
CLEAR, BEGIN, CALM, EVEN, SPLIT, TAME, LIFT, MEASURE, FILTER, FINISH, WITHOUT_SPARK = range(11)
BEFORE = range(FILTER)  # those before the filter
AT_ONCE = EVEN, MEASURE, FILTER  # those that read octets


class Reach(NamedTuple):
    """With whom a pixel is averaged in one pass."""

    step: int  # neighbours lie so many pixels apart,
    reach: int  # 1 or 2 of them to each side
    limit: np.float32  # squared difference of light that counts no more, over its variance
    turn: np.float32  # 1 / the squared difference of unit normals that counts no more
    depth: np.float32  # m that a neighbour may lie off the plane


@inlined
def apart(a, b):
    """Squared distance of two triples."""
    d = sub(a, b)
    return dot(d, d)


@inlined
def biweight(ratio):
    """Tukey's weight of a squared distance, as a share of the squared distance that counts no more."""
    return square(max(ZERO, ONE - ratio))


@inlined
def size_of(x):
    return max(x, ZERO - x)


@inlined
def noise_about(plate, y, x):
    """The variance of a half, over the window: the mean has half of it."""
    total = count = in_all(ZERO)
    for row in range(y - AROUND, y + AROUND + 1):
        for column in range(x - AROUND, x + AROUND + 1):
            surface = read(plate.guide, row, SURFACE, column)
            total += read(plate.aside, row, NOISE, column)
            count += choose(surface == surface, ONE, ZERO)
    write(plate.here, y, VARIANCE, x, (total + total) / max(ONE, count))


@inlined
def filtered(plate, y, x, how):
    """One pass of the filter. Each half is averaged with weights that the other half gives: its noise does
    not choose its neighbours."""
    guide, here = plate.guide, plate.here
    surface, distance = read(guide, y, SURFACE, x), read(guide, y, DISTANCE, x)
    normal, variance = read_three(guide, y, NORMAL, x), read(here, y, VARIANCE, x)
    rise_across, rise_down = read(guide, y, RISE, x), read(guide, y, RISE + 1, x)
    own_a, own_b = read_three(here, y, FIRST, x), read_three(here, y, SECOND, x)
    a, b, noise = own_a, own_b, variance
    total_a = total_b = total = in_all(ONE)
    for j in range(-how.reach, how.reach + 1):
        for i in range(-how.reach, how.reach + 1):
            if j == 0 and i == 0:
                continue
            row, column = y + j * how.step, x + i * how.step
            across, down = np.float32(i * how.step), np.float32(j * how.step)
            rise = HALF * (
                across * (rise_across + read(guide, row, RISE, column))
                + down * (rise_down + read(guide, row, RISE + 1, column))
            )
            off = size_of(read(guide, row, DISTANCE, column) - distance - rise)
            same = (surface == read(guide, row, SURFACE, column)) & (off <= how.depth + HALF * size_of(rise))
            k = biweight(apart(normal, read_three(guide, row, NORMAL, column)) * how.turn)
            k = choose(same, k, ZERO) * (weight_at(how.reach, i) * weight_at(how.reach, j))
            near_a, near_b = read_three(here, row, FIRST, column), read_three(here, row, SECOND, column)
            near_variance = read(here, row, VARIANCE, column)
            tolerated = ONE / (how.limit * (variance + near_variance) + LEAST)
            k_a = k * biweight(apart(own_b, near_b) * tolerated)
            k_b = k * biweight(apart(own_a, near_a) * tolerated)
            a, b = along(a, near_a, k_a), along(b, near_b, k_b)
            k = HALF * (k_a + k_b)
            total_a += k_a
            total_b += k_b
            total += k
            noise += square(k) * near_variance
    write_three(plate.there, y, FIRST, x, scale(a, ONE / total_a))
    write_three(plate.there, y, SECOND, x, scale(b, ONE / total_b))
    write(plate.there, y, VARIANCE, x, noise / square(total))


@inlined
def work_at(step, plate, y, x, how):
    """One step for the pixel at y, x, or place of the planes where CLEAR is the step; where octets are read,
    for those beside it too."""
    if step == CLEAR:
        clear(plate, y, x)
    elif step == BEGIN:
        begin(plate, y, x)
    elif step == CALM:
        calm(plate, y, x)
    elif step == EVEN:
        even(plate, y + MARGIN, x + MARGIN)
    elif step == SPLIT:
        split(plate, y, x)
    elif step == TAME:
        tame(plate, y, x)
    elif step == LIFT:
        lift(plate, y, x)
    elif step == MEASURE:
        noise_about(plate, y + MARGIN, x + MARGIN)
    elif step == FILTER:
        filtered(plate, y + MARGIN, x + MARGIN, how)
    elif step == FINISH:
        finish(plate, y, x)
    else:
        without_spark(plate, y, x)


def extent(step: int, plate: Plate) -> tuple[int, int]:
    """Rows and columns for which a step is to be done."""
    if step == CLEAR:
        return plate.guide.shape[0], plate.guide.shape[2]
    return plate.picture.shape[0], plate.picture.shape[1]


extent_inside = inlined(extent)  # the same, for kernels


@entry
def work_on_rows(step, first, last, plate, how):
    """One step for the rows first .. last - 1; the step before must be done for all rows, and FILTER leaves
    the light in `there`."""
    stride = at_once() if step in AT_ONCE else 1
    _, columns = extent_inside(step, plate)
    for y in range(first, last):
        for x in range(0, columns, stride):
            work_at(step, plate, y, x, how)
