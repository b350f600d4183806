"""A picture and its noise, made ready for the filter of `renderer.kernels.denoise` and put together again.

Steps for one pixel, as `renderer.kernels.plate` has them. See `renderer.film.denoise` for the meaning of it
all.
"""

import math

import numpy as np

from renderer.kernels.compiler import inlined
from renderer.kernels.gain import albedo_of, borrowed_gain, evened, gain_of, lit, tell_ratio
from renderer.kernels.layout import NOTHING
from renderer.kernels.plate import (
    ALBEDO,
    AROUND,
    ASIDE,
    BRIGHT,
    DISTANCE,
    FIRST,
    GAIN,
    GUIDES,
    HALF,
    LEAST,
    LIGHTS,
    LUMINANCE,
    MARGIN,
    NOISE,
    NORMAL,
    ONE,
    RISE,
    SECOND,
    SPARK,
    SURFACE,
    ZERO,
    most_about,
    pixel,
    put_three,
    surface_of,
    three,
)
from renderer.kernels.vector import along, dot, scale, sub, times

LEAST_GAIN, LEAST_ALBEDO = np.float32(1e-6), np.float32(1e-3)
NOBODY, INFINITE = np.float32(math.nan), np.float32(math.inf)
# Of a number of 16 bits: its steps from 1 on, and under 2^-14; how many of them a power of two is. Added to a
# number of 32 bits and taken away, TO_WHOLE leaves the nearest whole one.
COARSEST, FINEST, ELEVEN_BITS = np.float32(2.0**-10), np.float32(2.0**-24), np.float32(2.0**10)
TO_WHOLE = np.float32(1.5 * 2.0**23)


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
    note = plate.seen[y, x]
    surface, outline = surface_of(note), beside_another(plate.seen, y, x)
    plain = note["emits"] == 0 and note["family"] != NOTHING and surface != plate.textured and not outline
    plate.outline[y, x], plate.plain[y, x] = outline, plain
    j, i, guide = y + MARGIN, x + MARGIN, plate.guide
    guide[j, SURFACE, i] = np.float32(surface) if plain else NOBODY
    guide[j, DISTANCE, i] = note["distance"] if plain else ZERO
    for k in range(3):
        guide[j, NORMAL + k, i] = as_half(note["normal"][k])
        plate.aside[j, ALBEDO + k, i] = max(as_half(note["albedo"][k]), LEAST_ALBEDO)
    tell_ratio(plate, y, x)


@inlined
def split(plate, y, x):
    """The light of both halves: the noise of what is sent, taken back to what arrives. What a pixel sends
    before its light is cleaned goes to `shown`."""
    j, i, aside, light = y + MARGIN, x + MARGIN, plate.aside, pixel(plate.light, y, x)
    sent = pixel(plate.picture, y, x)
    told = gain = (ZERO, ZERO, ZERO)
    if lit(plate, y, x):
        told, sent = gain_of(plate, y, x, sent), evened(plate, y, x)
        gain = gain_of(plate, y, x, sent)
    elif plate.plain[y, x]:  # what it sends is no more than its noise
        told = gain = borrowed_gain(plate, y, x)
        sent = (ZERO, ZERO, ZERO)
    for k in range(3):
        plate.shown[y, x, k] = sent[k]
    put_three(aside, j, GAIN, i, gain)
    if not plate.plain[y, x]:
        return
    for k in range(3):
        noise = plate.error[y, x, k] / told[k] if told[k] > LEAST_GAIN else ZERO
        plate.here[j, FIRST + k, i] = light[k] + noise
        plate.here[j, SECOND + k, i] = light[k] - noise
    aside[j, BRIGHT, i] = dot(LUMINANCE, three(plate.here, j, FIRST, i))
    aside[j, BRIGHT + 1, i] = dot(LUMINANCE, three(plate.here, j, SECOND, i))


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
    """No half of a pixel brighter than the brightest of its neighbours, if it has any: a speck would stand
    alone among neighbours that it is too far from to be averaged with, and both halves may have one. What is
    small and bright, as a catchlight, is sent so, and does not arrive."""
    j, i, guide, aside = y + MARGIN, x + MARGIN, plate.guide, plate.aside
    guide[j, RISE, i] = smaller_rise(guide, j, i, 0, 1)
    guide[j, RISE + 1, i] = smaller_rise(guide, j, i, 1, 0)
    if not plate.plain[y, x]:
        return
    about = max(most_about(aside, j, BRIGHT, i), most_about(aside, j, BRIGHT + 1, i))
    for half in range(2):
        own, k = aside[j, BRIGHT + half, i], SECOND if half else FIRST
        share = about / own if own > about > ZERO else ONE
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
    shown, difference = pixel(plate.shown, y, x), (ZERO, ZERO, ZERO)
    if plate.plain[y, x]:
        first, second = three(plate.here, j, FIRST, i), three(plate.here, j, SECOND, i)
        gain, light = three(plate.aside, j, GAIN, i), pixel(plate.light, y, x)
        if not lit(plate, y, x):
            light = (ZERO, ZERO, ZERO)
        cleaner = sub(scale(along(first, second, ONE), HALF), light)
        shown = along(shown, times(gain, cleaner), ONE)
        difference = times(gain, scale(sub(first, second), HALF))
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
    if bright < ZERO:
        least, albedo = least_near(plate.aside, y + MARGIN, BRIGHT, x + MARGIN), albedo_of(plate, y, x)
        for k in range(3):
            plate.shown[y, x, k] = albedo[k] * max(ZERO, least) / dot(LUMINANCE, albedo)
