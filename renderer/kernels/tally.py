"""Adding to the sums of a receiver."""

import math

from renderer.kernels.compiler import inlined, two_bodies
from renderer.kernels.vector import scale, times

DIRECT, BOUNCED = 0, 1


def accumulate_plain(sums, place, value):
    """Add to one of `sums`, at a tuple of indices. On a card, where several threads may add to it at a time,
    the body is that of `renderer.kernels.gpu`."""
    sums[place] += value


accumulate = two_bodies(accumulate_plain, accumulate_plain)


@inlined
def add_radiance(tally, half, receiver, light, kind, value):
    for channel in range(3):
        accumulate(tally.radiance, (half, receiver, light, kind, channel), value[channel])


@inlined
def add(tally, half, receiver, light, kind, arriving, gain, counted):
    """Count the radiance that illuminance `arriving` sends to the viewer; itself too where `counted` is 1."""
    add_radiance(tally, half, receiver, light, kind, scale(times(arriving, gain), 1.0 / math.pi))
    for channel in range(3):
        accumulate(tally.irradiance, (half, receiver, light, channel), counted * arriving[channel])
