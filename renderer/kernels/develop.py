"""One pixel of a picture, from radiance to sRGB codes; see `renderer.picture.develop`."""

import math

import numpy as np

from renderer.kernels.compiler import inlined
from renderer.kernels.each import each
from renderer.kernels.plate import HALF, LUMINANCE, ONE, ZERO
from renderer.kernels.vector import along, dot, max_component, scale

SHOULDER_START = np.float32(0.5)  # linear level: 1 stop under clip, 1.47 over middle grey
STEPS = 4096  # of the sRGB table over the square root of linear light; under 1/3 of a code apart
MOST, LAST = np.float32(STEPS), np.int32(STEPS - 1)


@inlined
def in_gamut(rgb):
    """A colour, mixed with the grey of its own luminance until no channel is negative."""
    low = min(rgb[0], min(rgb[1], rgb[2]))
    if low >= ZERO:
        return rgb
    y = max(dot(LUMINANCE, rgb), ZERO)
    if y <= ZERO:  # where luminance itself is negative nothing can be kept
        return (ZERO, ZERO, ZERO)
    share = y / (y - low)
    return (
        max(y + share * (rgb[0] - y), ZERO),
        max(y + share * (rgb[1] - y), ZERO),
        max(y + share * (rgb[2] - y), ZERO),
    )


@inlined
def shoulder(x):
    """Of one level x: itself up to s, then s + (1 - s)(1 - exp(-(x - s) / (1 - s)))."""
    span = ONE - SHOULDER_START
    return min(x, SHOULDER_START) - span * np.float32(math.expm1(-max(x - SHOULDER_START, ZERO) / span))


@inlined
def rolled_off(rgb):
    """A colour whose strongest channel went by the shoulder, moved to what each channel would be by itself
    by the share of light that the shoulder took away."""
    strongest = max_component(rgb)
    if strongest <= SHOULDER_START:
        return rgb
    keep = shoulder(strongest) / strongest
    alone = (shoulder(rgb[0]), shoulder(rgb[1]), shoulder(rgb[2]))
    return along(scale(rgb, keep * keep), alone, ONE - keep)


@inlined
def code_of(codes, level):
    """The sRGB code of a linear level, by a table that is even in the square root of light, where the curve
    is nearly straight."""
    place = np.float32(math.sqrt(min(max(level, ZERO), ONE))) * MOST
    left = min(np.int32(place), LAST)
    value = codes[left] + (place - np.float32(left)) * (codes[left + 1] - codes[left])
    return np.uint8(value + HALF)


@each
def developed(pixel, radiance, matrix, gentle, fault, codes, picture):
    """Write a pixel of a picture, (n, 3) uint8.

    radiance  (n, 3) float32 linear RGB
    matrix    (3, 3) float32 by which it becomes balanced linear RGB with middle grey at 0.18
    gentle    whether highlights are rolled off; else they clip
    fault     (3,) uint8 of what is no number
    codes     (STEPS + 1,) float32: sRGB codes of levels (k / STEPS)^2
    """
    r, g, b = radiance[pixel, 0], radiance[pixel, 1], radiance[pixel, 2]
    rgb = (
        matrix[0, 0] * r + matrix[0, 1] * g + matrix[0, 2] * b,
        matrix[1, 0] * r + matrix[1, 1] * g + matrix[1, 2] * b,
        matrix[2, 0] * r + matrix[2, 1] * g + matrix[2, 2] * b,
    )
    if not math.isfinite(rgb[0] + rgb[1] + rgb[2]):
        for channel in range(3):
            picture[pixel, channel] = fault[channel]
        return
    rgb = in_gamut(rgb)
    if gentle:
        rgb = rolled_off(rgb)
    for channel in range(3):
        picture[pixel, channel] = code_of(codes, rgb[channel])
