"""Light at some pixels of a tally, and a picture from light at every second one; see `renderer.live`.

tally, whole, part  Tally
nodes, far          (rows, columns) int32 pixels; a node's number counts along rows
"""

import math

import numpy as np

from renderer.kernels.each import each
from renderer.kernels.plate import HALF, LUMINANCE, ONE, ZERO
from renderer.kernels.vector import dot

CORNERS = 4
WHITE = np.float32(1.0 / math.pi)  # 1/sr: what a white surface sends for the light that arrives


@each
def emptied(pixel, tally):
    """A pixel of a tally without its light and its samples."""
    for half in range(tally.samples.shape[0]):
        tally.samples[half, pixel] = 0
        for light in range(tally.irradiance.shape[2]):
            for channel in range(3):
                tally.irradiance[half, pixel, light, channel] = ZERO
                for kind in range(2):
                    tally.radiance[half, pixel, light, kind, channel] = ZERO


@each
def take_over(place, whole, part, lights, to, by):
    """Put the light that `part` has at pixel by[place] into `whole`, at that of to[place].

    lights (m,) int32: number in `whole` of each light of `part`
    Sums of `whole` stay sums of as many samples as it has.
    """
    here, there = to[place], by[place]
    for half in range(whole.samples.shape[0]):
        share = np.float32(whole.samples[half, here]) / np.float32(max(1, part.samples[half, there]))
        for i in range(lights.shape[0]):
            light = lights[i]
            for channel in range(3):
                whole.irradiance[half, here, light, channel] = (
                    share * part.irradiance[half, there, i, channel]
                )
                for kind in range(2):
                    whole.radiance[half, here, light, kind, channel] = (
                        share * part.radiance[half, there, i, kind, channel]
                    )


@each
def brightness(place, part, far, bright):
    """Luminance of the light arriving at a node, by halves, into (halves, rows, columns) float32."""
    y, x = place // far.shape[1], place % far.shape[1]
    pixel = far[y, x]
    for half in range(bright.shape[0]):
        total = ZERO
        for light in range(part.irradiance.shape[2]):
            arriving = part.irradiance[half, pixel, light]
            total += dot(LUMINANCE, (arriving[0], arriving[1], arriving[2]))
        bright[half, y, x] = total / np.float32(max(1, part.samples[half, pixel]))


@each
def without_speck(place, part, far, bright, shared):
    """Bring light that several nodes take down to the brightest of that about it, and its other half: a
    speck would be spread over a patch, which the filter does not take for one.

    bright  as `brightness` leaves it; shared (all,) bool: pixels whose light several nodes take
    """
    y, x = place // far.shape[1], place % far.shape[1]
    pixel = far[y, x]
    if not shared[pixel]:
        return
    about = ZERO
    for row in range(max(0, y - 1), min(far.shape[0], y + 2)):
        for column in range(max(0, x - 1), min(far.shape[1], x + 2)):
            if row != y or column != x:
                for half in range(bright.shape[0]):
                    about = max(about, bright[half, row, column])
    for half in range(bright.shape[0]):
        own, most = bright[half, y, x], max(about, bright[1 - half, y, x])
        if own > most:
            for light in range(part.irradiance.shape[2]):
                for channel in range(3):
                    part.irradiance[half, pixel, light, channel] *= most / own


@each
def white_nodes(place, tally, weights, nodes, plate):
    """What a node would show and send were its surface white, for `renderer.kernels.grain`.

    weights  (lights, 3) float32 of the mix
    plate    Plate of as many pixels as there are nodes: its picture, error, light and what is seen are filled
    """
    y, x = place // nodes.shape[1], place % nodes.shape[1]
    pixel = nodes[y, x]
    plate.seen[y, x] = tally.seen[pixel]
    for channel in range(3):
        plate.seen[y, x].albedo[channel] = ONE
        first = second = ZERO
        for i in range(weights.shape[0]):
            first += weights[i, channel] * tally.irradiance[0, pixel, i, channel]
            second += weights[i, channel] * tally.irradiance[1, pixel, i, channel]
        first /= np.float32(tally.samples[0, pixel])
        second /= np.float32(tally.samples[1, pixel])
        light = HALF * (first + second)
        plate.light[y, x, channel] = light
        plate.picture[y, x, channel] = WHITE * light
        plate.error[y, x, channel] = WHITE * HALF * (first - second)


@each
def sent_by(place, tally, weights, pixels, picture):
    """What pixels[place] sends in a mix, into `picture`, (all, 3) float32."""
    halves, pixel = tally.samples.shape[0], pixels[place]
    for channel in range(3):
        mean = ZERO
        for half in range(halves):
            total = ZERO
            for i in range(weights.shape[0]):
                both = tally.radiance[half, pixel, i, 0, channel] + tally.radiance[half, pixel, i, 1, channel]
                total += weights[i, channel] * both
            mean += total / np.float32(tally.samples[half, pixel])
        picture[pixel, channel] = mean / np.float32(halves)


@each
def light_between(pixel, light, node, share, gain, picture):
    """Send back, at a pixel of `picture`, the light of the nodes about it.

    light    (m, 3) float32 that white nodes send
    node     (n, CORNERS) int32, share (n, CORNERS) float32: nodes about a pixel, and how much each counts;
             a pixel whose first share is below 0 is left as it is
    gain     (n, 3) float32: how much of it the pixel sends
    picture  (n, 3) float32
    """
    if share[pixel, 0] < ZERO:
        return
    for channel in range(3):
        sent = share[pixel, 0] * light[node[pixel, 0], channel]
        for k in range(1, CORNERS):
            sent += share[pixel, k] * light[node[pixel, k], channel]
        picture[pixel, channel] = gain[pixel, channel] * sent
