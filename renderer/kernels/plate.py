"""A picture on its way through the filter: its planes, and how they are read.

Every step does its work for one pixel: it reads what the step before it left, of the pixel and of those about
it, and writes at its own pixel alone. So all pixels may be done at once, by threads or by a card.
"""

from typing import NamedTuple

import numpy as np

from renderer.kernels.compiler import inlined

MARGIN = 8  # pixels round every plane: no step reaches further
# Planes of `Plate.guide`: which surface is seen, not a number where nobody may use the pixel; its normal and
# distance [m]; how much further away [m] the next pixel lies, across and down.
SURFACE, NORMAL, DISTANCE, RISE, GUIDES = 0, 1, 4, 5, 7
# Planes of the light: three channels of both independent halves; variance of a half, summed over them.
FIRST, SECOND, VARIANCE, LIGHTS = 0, 3, 6, 7
# Planes kept aside: radiance sent for the light that arrives [1/sr]; luminance of both halves' light, and in
# the end that of the cleaned picture; squared noise of the mean, summed over channels; albedo.
GAIN, BRIGHT, NOISE, ALBEDO, ASIDE = 0, 3, 5, 6, 9
# Before that, while gains are told (`renderer.kernels.gain`): luminance sent over that of the light, both of
# a white surface; in the planes of the light what is sent so, the light, and the squared error of the former.
RATIO, SENT, ARRIVING, DOUBT = BRIGHT, 0, 3, 6

FAMILIES = 1000  # more than there are numbers in a family
WINDOW = 7  # pixels: side of the square over which the noise of a pixel is taken
AROUND = WINDOW // 2
SPARK = np.float32(2.0)  # standard errors of a pixel by which it may come down to its brightest neighbour
LUMINANCE = (np.float32(0.2126), np.float32(0.7152), np.float32(0.0722))  # as `renderer.colour` has it
ZERO, HALF, ONE, LEAST = np.float32(0.0), np.float32(0.5), np.float32(1.0), np.float32(1e-30)
# Weights by distance in steps: of the hat that reaches 1, and of the B3 spline that reaches 2.
TWO_THIRDS, SIXTH = np.float32(2.0 / 3.0), np.float32(1.0 / 6.0)


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
def weight_at(reach, away):
    """The hat's or the spline's weight, `away` steps from the middle."""
    if away == 0:
        return ONE
    if reach == 1:
        return HALF
    return TWO_THIRDS if abs(away) == 1 else SIXTH


@inlined
def most_about(planes, j, k, i):
    """The greatest of the eight neighbours of a pixel, and of nothing."""
    most = ZERO
    for row in range(j - 1, j + 2):
        for column in range(i - 1, i + 2):
            if row != j or column != i:
                most = max(most, planes[row, k, column])
    return most
