"""What a surface makes of the light that arrives: what its pixel sends for it.

The film has both of the same samples, so that little of their noise is left in the ratio. What is left (of a
shine, of light that spreads in skin) does not show in the light that arrives: a pixel goes with those about
it where they differ by less than the grain. All is told of a white surface, without the albedo's texture.
"""

import math

import numpy as np

from renderer.kernels.compiler import inlined
from renderer.kernels.octet import choose, in_all, read, read_three, write_three
from renderer.kernels.plate import (
    ALBEDO,
    AROUND,
    ARRIVING,
    DOUBT,
    LEAST,
    LUMINANCE,
    MARGIN,
    ONE,
    RATIO,
    SENT,
    SPARK,
    SURFACE,
    ZERO,
    most_about,
    pixel,
    put_three,
    square,
    three,
    weight_at,
)
from renderer.kernels.vector import along, dot, max_component, scale, sub, times

MOST_GAIN = np.float32(1.0 / math.pi)  # of a white surface; what is sent beyond it (a lamp) stays
FAINT = np.float32(1e-4)  # of the strongest channel: less light says nothing of the gain
NEAR = 2  # pixels to each side, over which what is sent is evened


@inlined
def lit(plate, y, x):
    """Whether a pixel tells its own gain: noise may leave nothing of its light, or less."""
    light, shown = pixel(plate.light, y, x), pixel(plate.picture, y, x)
    something = min(light[0], min(light[1], light[2])) > ZERO
    return plate.plain[y, x] and something and min(shown[0], min(shown[1], shown[2])) >= ZERO


@inlined
def gain_of(plate, y, x, sent):
    """Radiance sent for the light that arrives at a pixel."""
    light = pixel(plate.light, y, x)
    least = max(FAINT * max_component(light), LEAST)
    r = min(max(sent[0] / light[0], ZERO), MOST_GAIN) if light[0] > least else ZERO
    g = min(max(sent[1] / light[1], ZERO), MOST_GAIN) if light[1] > least else ZERO
    b = min(max(sent[2] / light[2], ZERO), MOST_GAIN) if light[2] > least else ZERO
    return r, g, b


@inlined
def albedo_of(plate, y, x):
    """As `grain.begin` has put it aside."""
    return three(plate.aside, y + MARGIN, ALBEDO, x + MARGIN)


@inlined
def over_albedo(plate, y, x, radiance):
    """Radiance of a pixel as a white surface would send it: without its texture."""
    albedo = albedo_of(plate, y, x)
    return radiance[0] / albedo[0], radiance[1] / albedo[1], radiance[2] / albedo[2]


@inlined
def tell_ratio(plate, y, x):
    """RATIO, nought where it cannot be told."""
    ratio = ZERO
    if lit(plate, y, x):
        sent = over_albedo(plate, y, x, pixel(plate.picture, y, x))
        ratio = dot(LUMINANCE, sent) / dot(LUMINANCE, pixel(plate.light, y, x))
    plate.aside[y + MARGIN, RATIO, x + MARGIN] = ratio


@inlined
def borrowed_gain(plate, y, x):
    """The mean gain of the pixels about one on which no light has arrived so far."""
    total, count = (ZERO, ZERO, ZERO), ZERO
    for row in range(max(0, y - AROUND), min(plate.plain.shape[0], y + AROUND + 1)):
        for column in range(max(0, x - AROUND), min(plate.plain.shape[1], x + AROUND + 1)):
            if lit(plate, row, column):
                total = along(total, gain_of(plate, row, column, pixel(plate.picture, row, column)), ONE)
                count += ONE
    return scale(total, ONE / max(count, ONE))


@inlined
def calm(plate, y, x):
    """What a lit pixel sends, its light, and the squared error of the former. It sends no more for its light
    than the most that one beside it does, if there is one, as far as its halves do not agree."""
    if not lit(plate, y, x):
        return
    j, i, light = y + MARGIN, x + MARGIN, pixel(plate.light, y, x)
    error = over_albedo(plate, y, x, pixel(plate.error, y, x))
    ratio, about = plate.aside[j, RATIO, i], most_about(plate.aside, j, RATIO, i)
    most = max(about, ratio - SPARK * abs(dot(LUMINANCE, error)) / dot(LUMINANCE, light))
    share = most / ratio if ratio > most and about > ZERO else ONE
    put_three(plate.there, j, SENT, i, scale(over_albedo(plate, y, x, pixel(plate.picture, y, x)), share))
    put_three(plate.there, j, ARRIVING, i, light)
    plate.there[j, DOUBT, i] = square(share) * dot(error, error)


@inlined
def weight_near(guide, y, x, j, i):
    """Weight of the pixel j rows and i columns away: none where it shows another surface."""
    same = read(guide, y, SURFACE, x) == read(guide, y + j, SURFACE, x + i)
    return choose(same, weight_at(NEAR, i) * weight_at(NEAR, j), ZERO)


@inlined
def even(plate, y, x):
    """What is sent, moved to `here`: for its light as by the pixels about, but for what they differ by more
    than the noise of what is sent. That is more than the noise of the ratio; but the halves of the light are
    not kept.

    source  James & Stein, Estimation with Quadratic Loss, 1961: a mean of noisy numbers, and the share of
            their spread about it that is no noise (from memory)
    """
    there, guide, nothing = plate.there, plate.guide, in_all(ZERO)
    sent = light = (nothing, nothing, nothing)
    spread = noise = nothing
    for j in range(-NEAR, NEAR + 1):
        for i in range(-NEAR, NEAR + 1):
            weight = weight_near(guide, y, x, j, i)
            sent = along(sent, read_three(there, y + j, SENT, x + i), weight)
            light = along(light, read_three(there, y + j, ARRIVING, x + i), weight)
            noise += weight * read(there, y + j, DOUBT, x + i)
    ratio = (sent[0] / max(LEAST, light[0]), sent[1] / max(LEAST, light[1]), sent[2] / max(LEAST, light[2]))
    for j in range(-NEAR, NEAR + 1):
        for i in range(-NEAR, NEAR + 1):
            expected = times(ratio, read_three(there, y + j, ARRIVING, x + i))
            off = sub(read_three(there, y + j, SENT, x + i), expected)
            spread += weight_near(guide, y, x, j, i) * dot(off, off)
    kept = max(ZERO, ONE - noise / max(LEAST, spread))
    mean = times(ratio, read_three(there, y, ARRIVING, x))
    write_three(plate.here, y, SENT, x, along(mean, sub(read_three(there, y, SENT, x), mean), kept))


@inlined
def evened(plate, y, x):
    """Radiance that a lit pixel sends, as `even` has left it."""
    return times(albedo_of(plate, y, x), three(plate.here, y + MARGIN, SENT, x + MARGIN))
