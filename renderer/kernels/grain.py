"""A picture and its noise, made ready for the filter of `renderer.kernels.denoise` and put together again.

Every function here does one step for one pixel: it reads what the step before it left, of the pixel and of
those about it, and writes at its own pixel alone. So all pixels may be done at once, by threads or by a card.
See `renderer.film.denoise` for the meaning of it all.
"""

import math
from typing import NamedTuple

import numpy as np

from renderer.kernels.compiler import inlined
from renderer.kernels.layout import NOTHING
from renderer.kernels.vector import along, dot, max_component, scale, sub, times

MARGIN = 8  # pixels round every plane: no step reaches further
# Planes of `Plate.guide`: which surface is seen, not a number where nobody may use the pixel; its normal and
# distance [m]; how much further away [m] the next pixel lies, across and down.
SURFACE, NORMAL, DISTANCE, RISE, GUIDES = 0, 1, 4, 5, 7
# Planes of the light: three channels of both independent halves; variance of a half, summed over them.
FIRST, SECOND, VARIANCE, LIGHTS = 0, 3, 6, 7
# Planes kept aside: radiance sent for the light that arrives [1/sr]; luminance of both halves' light, and in
# the end that of the cleaned picture; squared noise of the mean, summed over channels.
GAIN, BRIGHT, NOISE, ASIDE = 0, 3, 5, 6

FAMILIES = 1000  # more than there are numbers in a family
WINDOW = 7  # pixels: side of the square over which the noise of a pixel is taken
AROUND = WINDOW // 2
MOST_GAIN = np.float32(1.0 / math.pi)  # of a white surface; what is sent beyond it (a lamp) stays
LEAST_GAIN = np.float32(1e-6)
FAINT = np.float32(1e-4)  # of the strongest channel: less light says nothing of the gain
SPARK = np.float32(2.0)  # standard errors of a pixel by which it may come down to its brightest neighbour
LUMINANCE = (np.float32(0.2126), np.float32(0.7152), np.float32(0.0722))  # as `renderer.colour` has it
ZERO, HALF, ONE, LEAST = np.float32(0.0), np.float32(0.5), np.float32(1.0), np.float32(1e-30)
NOBODY, INFINITE = np.float32(math.nan), np.float32(math.inf)
# Of a number of 16 bits: its steps from 1 on, and under 2^-14; how many of them a power of two is. Added to a
# number of 32 bits and taken away, TO_WHOLE leaves the nearest whole one.
COARSEST, FINEST, ELEVEN_BITS = np.float32(2.0**-10), np.float32(2.0**-24), np.float32(2.0**10)
TO_WHOLE = np.float32(1.5 * 2.0**23)


class Plate(NamedTuple):
    """A picture on its way through all steps. Planes lie row by row: (h + 2 MARGIN, planes, w + 2 MARGIN or
    more), so that what a pass reads of one row lies together."""

    picture: np.ndarray  # (h, w, 3) float32: mean of two independent halves
    error: np.ndarray  # (h, w, 3) float32: half of what they differ by
    light: np.ndarray  # (h, w, 3) float32: light arriving at the first surface seen, with the same samples
    seen: np.ndarray  # (h, w) SEEN
    textured: int  # `surface_of` what differs more from pixel to pixel than by noise, and is left alone
    outline: np.ndarray  # (h, w) bool: pixels beside another surface, which show a part of both
    plain: np.ndarray  # (h, w) bool: pixels that can be cleaned
    guide: np.ndarray  # planes of float32
    here: np.ndarray  # planes of float32: the light, and
    there: np.ndarray  # where the next step puts it
    aside: np.ndarray  # planes of float32
    shown: np.ndarray  # (h, w, 3) float32: the cleaned picture
    difference: np.ndarray  # (h, w, 3) float32: half of what its halves differ by


@inlined
def square(x):
    return x * x


@inlined
def pixel(picture, y, x):
    return (picture[y, x, 0], picture[y, x, 1], picture[y, x, 2])


@inlined
def three(planes, y, k, x):
    return (planes[y, k, x], planes[y, k + 1, x], planes[y, k + 2, x])


@inlined
def put_three(planes, y, k, x, values):
    for channel in range(3):
        planes[y, k + channel, x] = values[channel]


@inlined
def surface_of(note):
    return note["family"] * FAMILIES + note["number"]


@inlined
def beside_another(seen, y, x):
    """Whether a pixel touches one that shows another surface."""
    own = surface_of(seen[y, x])
    for row in range(max(0, y - 1), min(seen.shape[0], y + 2)):
        for column in range(max(0, x - 1), min(seen.shape[1], x + 2)):
            if surface_of(seen[row, column]) != own:
                return True
    return False


@inlined
def as_half(value):
    """A number of at most 1, rounded to 16 bits as it is kept in files: else a picture made from these would
    differ. IEEE 754-2008: 11 significant bits, steps of 2^-24 at least, ties to even."""
    step, per_one = COARSEST, ONE / COARSEST
    while abs(value) * per_one < ELEVEN_BITS and step > FINEST:
        step, per_one = HALF * step, per_one + per_one
    return ((value * per_one + TO_WHOLE) - TO_WHOLE) * step


@inlined
def clear(plate, j, i):
    """One place of all planes, margins too: nobody there, and no light."""
    for k in range(GUIDES):
        plate.guide[j, k, i] = NOBODY if k == SURFACE else ZERO
    for k in range(LIGHTS):
        plate.here[j, k, i] = plate.there[j, k, i] = ZERO
    for k in range(ASIDE):
        plate.aside[j, k, i] = ZERO


@inlined
def begin(plate, y, x):
    """What is seen, and what the surface makes of its light."""
    note, light = plate.seen[y, x], pixel(plate.light, y, x)
    surface, outline = surface_of(note), beside_another(plate.seen, y, x)
    plain = note["emits"] == 0 and note["family"] != NOTHING and surface != plate.textured and not outline
    plate.outline[y, x], plate.plain[y, x] = outline, plain
    j, i, guide = y + MARGIN, x + MARGIN, plate.guide
    guide[j, SURFACE, i] = np.float32(surface) if plain else NOBODY
    guide[j, DISTANCE, i] = note["distance"] if plain else ZERO
    for k in range(3):
        guide[j, NORMAL + k, i] = as_half(note["normal"][k])
    least = max(FAINT * max_component(light), LEAST)
    for k in range(3):
        known = plain and light[k] > least
        gain = plate.picture[y, x, k] / light[k] if known else ZERO
        plate.aside[j, GAIN + k, i] = min(max(gain, ZERO), MOST_GAIN)


@inlined
def lit(plate, y, x):
    """Whether a pixel tells its own gain: noise may leave nothing of its light, or less."""
    light, shown = pixel(plate.light, y, x), pixel(plate.picture, y, x)
    something = min(light[0], min(light[1], light[2])) > ZERO
    return plate.plain[y, x] and something and min(shown[0], min(shown[1], shown[2])) >= ZERO


@inlined
def borrowed_gain(plate, y, x):
    """The mean gain of the pixels about one on which no light has arrived so far."""
    total, count = (ZERO, ZERO, ZERO), ZERO
    for row in range(max(0, y - AROUND), min(plate.plain.shape[0], y + AROUND + 1)):
        for column in range(max(0, x - AROUND), min(plate.plain.shape[1], x + AROUND + 1)):
            if lit(plate, row, column):
                total = along(total, three(plate.aside, row + MARGIN, GAIN, column + MARGIN), ONE)
                count += ONE
    return scale(total, ONE / max(count, ONE))


@inlined
def split(plate, y, x):
    """The light of both halves: the noise of what is sent, taken back to what arrives."""
    j, i, aside, light = y + MARGIN, x + MARGIN, plate.aside, pixel(plate.light, y, x)
    if not plate.plain[y, x]:
        return
    if not lit(plate, y, x):
        put_three(aside, j, GAIN, i, borrowed_gain(plate, y, x))
    for k in range(3):
        gain = aside[j, GAIN + k, i]
        noise = plate.error[y, x, k] / gain if gain > LEAST_GAIN else ZERO
        plate.here[j, FIRST + k, i] = light[k] + noise
        plate.here[j, SECOND + k, i] = light[k] - noise
    aside[j, BRIGHT, i] = dot(LUMINANCE, three(plate.here, j, FIRST, i))
    aside[j, BRIGHT + 1, i] = dot(LUMINANCE, three(plate.here, j, SECOND, i))


@inlined
def most_about(planes, j, k, i):
    """The greatest of the eight neighbours of a pixel, and of nothing."""
    most = ZERO
    for row in range(j - 1, j + 2):
        for column in range(i - 1, i + 2):
            if row != j or column != i:
                most = max(most, planes[row, k, column])
    return most


@inlined
def least_near(planes, j, k, i):
    """The least of the eight neighbours of a pixel."""
    least = INFINITE
    for row in range(j - 1, j + 2):
        for column in range(i - 1, i + 2):
            if row != j or column != i:
                least = min(least, planes[row, k, column])
    return least


@inlined
def smaller_rise(guide, j, i, down, across):
    """Change of distance [m] to the next pixel: the smaller of both sides, so that no edge counts."""
    own = guide[j, DISTANCE, i]
    before, after = own - guide[j - down, DISTANCE, i - across], guide[j + down, DISTANCE, i + across] - own
    return after if abs(after) < abs(before) else before


@inlined
def tame(plate, y, x):
    """No half of a pixel brighter than the brightest of its neighbours and its twin: a speck would stand
    alone among neighbours that it is too far from to be averaged with."""
    j, i, guide, aside = y + MARGIN, x + MARGIN, plate.guide, plate.aside
    guide[j, RISE, i] = smaller_rise(guide, j, i, 0, 1)
    guide[j, RISE + 1, i] = smaller_rise(guide, j, i, 1, 0)
    if not plate.plain[y, x]:
        return
    about = max(most_about(aside, j, BRIGHT, i), most_about(aside, j, BRIGHT + 1, i))
    for half in range(2):
        own, most = aside[j, BRIGHT + half, i], max(about, aside[j, BRIGHT + 1 - half, i])
        k = SECOND if half else FIRST
        share = most / own if own > most else ONE
        put_three(plate.there, j, k, i, scale(three(plate.here, j, k, i), share))


@inlined
def least_about(plate, j, i):
    """The darkest half of the neighbours that can be cleaned; infinite where there are none."""
    least, aside = INFINITE, plate.aside
    for row in range(j - 1, j + 2):
        for column in range(i - 1, i + 2):
            surface = plate.guide[row, SURFACE, column]
            if surface == surface and (row != j or column != i):
                least = min(least, min(aside[row, BRIGHT, column], aside[row, BRIGHT + 1, column]))
    return least


@inlined
def light_about(planes, j, k, i):
    """Light of a half, added up over the window; white where noise leaves less than nothing of it."""
    total = (ZERO, ZERO, ZERO)
    for row in range(j - AROUND, j + AROUND + 1):
        for column in range(i - AROUND, i + AROUND + 1):
            total = along(total, three(planes, row, k, column), ONE)
    return total if dot(LUMINANCE, total) > LEAST else (ONE, ONE, ONE)


@inlined
def lift(plate, y, x):
    """No half of a pixel darker than the darkest of its neighbours: it gets light of the colour about it."""
    if not plate.plain[y, x]:
        return
    j, i = y + MARGIN, x + MARGIN
    least = least_about(plate, j, i)
    for half in range(2):
        k = SECOND if half else FIRST
        own, light = plate.aside[j, BRIGHT + half, i], three(plate.there, j, k, i)
        if own < least < INFINITE:
            hue = light_about(plate.there, j, k, i)
            light = along(light, hue, (least - own) / dot(LUMINANCE, hue))
        put_three(plate.here, j, k, i, light)
    apart = sub(three(plate.here, j, FIRST, i), three(plate.here, j, SECOND, i))
    plate.aside[j, NOISE, i] = HALF * HALF * dot(apart, apart)


@inlined
def finish(plate, y, x):
    """The picture with its light cleaned, and half of what its halves differ by: nothing where a pixel is
    left as it is."""
    j, i = y + MARGIN, x + MARGIN
    shown, difference = pixel(plate.picture, y, x), (ZERO, ZERO, ZERO)
    if plate.plain[y, x]:
        first, second = three(plate.here, j, FIRST, i), three(plate.here, j, SECOND, i)
        gain, light = three(plate.aside, j, GAIN, i), pixel(plate.light, y, x)
        if not lit(plate, y, x):  # what it sends is no more than its noise
            shown = light = (ZERO, ZERO, ZERO)
        cleaner = sub(scale(along(first, second, ONE), HALF), light)
        shown = along(shown, times(gain, cleaner), ONE)
        apart = scale(sub(first, second), HALF)
        difference = times(gain, apart)
    for k in range(3):
        plate.shown[y, x, k], plate.difference[y, x, k] = shown[k], difference[k]
    plate.aside[j, BRIGHT, i] = dot(LUMINANCE, shown)


@inlined
def without_spark(plate, y, x):
    """The cleaned picture without single bright pixels of which the halves do not agree; a catchlight is in
    both. A pixel of which noise has left less than nothing gets the light of its darkest neighbour."""
    bright = plate.aside[y + MARGIN, BRIGHT, x + MARGIN]
    error = abs(dot(LUMINANCE, pixel(plate.error, y, x)))
    most = max(most_about(plate.aside, y + MARGIN, BRIGHT, x + MARGIN), bright - SPARK * error)
    if bright > most and bright > ZERO and plate.seen[y, x]["emits"] == 0:
        for k in range(3):
            plate.shown[y, x, k] *= most / bright
    albedo = plate.seen[y, x]["albedo"]
    white = dot(LUMINANCE, albedo)
    if bright < ZERO < white:
        least = max(ZERO, least_near(plate.aside, y + MARGIN, BRIGHT, x + MARGIN))
        for k in range(3):
            plate.shown[y, x, k] = albedo[k] * (least / white)
