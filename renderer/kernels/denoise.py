"""One pass of the filter that takes the grain out of a picture's light; see `renderer.film.denoise`.

A pixel is a row of COLUMNS single-precision numbers, a cache line: what is filtered lies beside what says
with whom it may be averaged.
"""

import numpy as np

from renderer.kernels.compiler import entry, inlined

COLUMNS = 16
FIRST, SECOND = 0, 3  # three channels of the first and of the second independent half
VARIANCE = 6  # of one half, summed over its channels
SURFACE = 7  # which surface is seen; below 0: left as it is and used by nobody
NORMAL, DISTANCE, RISE = 8, 11, 12  # RISE: of the distance [m], from a pixel to the next, across and down

# Weights by distance in steps, the middle 1: the hat and the B3 spline.
HAT = np.array([0.5, 1.0, 0.5], np.float32)
SPLINE = np.array([1.0 / 6.0, 2.0 / 3.0, 1.0, 2.0 / 3.0, 1.0 / 6.0], np.float32)
ZERO, HALF, ONE, LEAST = np.float32(0.0), np.float32(0.5), np.float32(1.0), np.float32(1e-30)


@inlined
def square(x):
    return x * x


@inlined
def apart(pixels, p, q, column):
    """Squared distance of two pixels over three columns."""
    return (
        square(pixels[p, column] - pixels[q, column])
        + square(pixels[p, column + 1] - pixels[q, column + 1])
        + square(pixels[p, column + 2] - pixels[q, column + 2])
    )


@inlined
def biweight(ratio):
    """Tukey's weight of a squared distance, as a share of the squared distance that counts no more."""
    return square(max(ZERO, ONE - ratio))


@inlined
def same_surface(pixels, p, q, across, down, turn, depth):
    """How far pixel q continues the surface seen at p: 0 not at all, 1 the same plane.

    turn   1 / the squared difference of unit normals that counts no more
    depth  m: how far q may lie off the plane
    """
    if pixels[p, SURFACE] != pixels[q, SURFACE]:
        return ZERO
    rise = HALF * (
        across * (pixels[p, RISE] + pixels[q, RISE]) + down * (pixels[p, RISE + 1] + pixels[q, RISE + 1])
    )
    if abs(pixels[q, DISTANCE] - pixels[p, DISTANCE] - rise) > depth + HALF * abs(rise):
        return ZERO
    return biweight(apart(pixels, p, q, NORMAL) * turn)


@entry
def filter_rows(first, last, width, step, reach, pixels, limit, turn, depth, result):
    """Filter the rows first .. last - 1 of `pixels`, (h * width, COLUMNS) float32, into `result`.

    step, reach  neighbours lie `step` pixels apart, `reach` (1 or 2) of them to each side
    limit        squared difference of light, over the variance of that difference, that counts no more
    turn, depth  as `same_surface` takes them

    Each half is averaged with weights that the other half gives: its noise does not choose its neighbours.
    """
    height = pixels.shape[0] // width
    line = HAT if reach == 1 else SPLINE
    for y in range(first, last):
        for x in range(width):
            p = y * width + x
            for column in range(COLUMNS):
                result[p, column] = pixels[p, column]
            if pixels[p, SURFACE] < ZERO:
                continue
            a0, a1, a2 = pixels[p, FIRST], pixels[p, FIRST + 1], pixels[p, FIRST + 2]
            b0, b1, b2 = pixels[p, SECOND], pixels[p, SECOND + 1], pixels[p, SECOND + 2]
            total_a = total_b = total = ONE
            variance = pixels[p, VARIANCE]
            for j in range(-reach, reach + 1):
                down = j * step
                if y + down < 0 or y + down >= height:
                    continue
                for i in range(-reach, reach + 1):
                    across = i * step
                    q = p + down * width + across
                    if x + across < 0 or x + across >= width or q == p:
                        continue
                    k = same_surface(pixels, p, q, np.float32(across), np.float32(down), turn, depth)
                    if k == ZERO:
                        continue
                    k *= line[i + reach] * line[j + reach]
                    tolerated = ONE / (limit * (pixels[p, VARIANCE] + pixels[q, VARIANCE]) + LEAST)
                    k_a = k * biweight(apart(pixels, p, q, SECOND) * tolerated)
                    k_b = k * biweight(apart(pixels, p, q, FIRST) * tolerated)
                    a0 += k_a * pixels[q, FIRST]
                    a1 += k_a * pixels[q, FIRST + 1]
                    a2 += k_a * pixels[q, FIRST + 2]
                    b0 += k_b * pixels[q, SECOND]
                    b1 += k_b * pixels[q, SECOND + 1]
                    b2 += k_b * pixels[q, SECOND + 2]
                    k = HALF * (k_a + k_b)
                    total_a += k_a
                    total_b += k_b
                    total += k
                    variance += k * k * pixels[q, VARIANCE]
            result[p, FIRST] = a0 / total_a
            result[p, FIRST + 1] = a1 / total_a
            result[p, FIRST + 2] = a2 / total_a
            result[p, SECOND] = b0 / total_b
            result[p, SECOND + 1] = b1 / total_b
            result[p, SECOND + 2] = b2 / total_b
            result[p, VARIANCE] = variance / (total * total)


@entry
def sum_square(plane, reach, scratch, total):
    """Sums of (h, w) float32 over the square that reaches `reach` pixels to each side, as far as it lies in
    the picture, into `total` (float32); scratch (h + 1, w) float64."""
    height, width = plane.shape
    for y in range(height):
        running = 0.0
        for x in range(min(reach, width)):
            running += plane[y, x]
        for x in range(width):
            if x + reach < width:
                running += plane[y, x + reach]
            scratch[y, x] = running
            if x - reach >= 0:
                running -= plane[y, x - reach]
    for x in range(width):
        scratch[height, x] = 0.0
        for y in range(min(reach, height)):
            scratch[height, x] += scratch[y, x]
    for y in range(height):
        for x in range(width):
            if y + reach < height:
                scratch[height, x] += scratch[y + reach, x]
            total[y, x] = max(0.0, scratch[height, x])
            if y - reach >= 0:
                scratch[height, x] -= scratch[y - reach, x]


@entry
def mix_halves(radiance, irradiance, samples, weights, halves, light):
    """Both halves' means of a tally under (lights, 3) weights into `halves` (2, n, 3), and the light arriving
    into `light` (n, 3), all float32."""
    for p in range(radiance.shape[1]):
        count = max(1, samples[0, p] + samples[1, p])
        for channel in range(3):
            arriving = 0.0
            for half in range(2):
                value = 0.0
                for i in range(weights.shape[0]):
                    both = radiance[half, p, i, 0, channel] + radiance[half, p, i, 1, channel]
                    value += weights[i, channel] * both
                    arriving += weights[i, channel] * irradiance[half, p, i, channel]
                halves[half, p, channel] = value / max(1, samples[half, p])
            light[p, channel] = arriving / count
