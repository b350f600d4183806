"""Adding to the sums of a receiver."""

import math

from renderer.kernels.compiler import inlined
from renderer.kernels.vector import scale, times

DIRECT, BOUNCED = 0, 1


@inlined
def add_radiance(tally, half, receiver, light, kind, value):
    for channel in range(3):
        tally.radiance[half, receiver, light, kind, channel] += value[channel]


@inlined
def add(tally, half, receiver, light, kind, arriving, gain, counted):
    """Count the radiance that illuminance `arriving` sends to the viewer; itself too where `counted` is 1."""
    add_radiance(tally, half, receiver, light, kind, scale(times(arriving, gain), 1.0 / math.pi))
    for channel in range(3):
        tally.irradiance[half, receiver, light, channel] += counted * arriving[channel]
