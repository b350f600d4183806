"""What a shape sends out at a point and in a direction, and where it lets light through.

A table over the surface stands for fabric that is brighter where the lamp is near, a table over directions
for a reflector or an egg crate, a mask for leaves or a breakup board; a weave lets some rays pass anywhere.
"""

import math

from renderer.kernels.apart import asked_seldom
from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.layout import (
    BEAM_COLUMNS,
    BEAM_ROWS,
    GLOW_COLUMNS,
    GLOW_ROWS,
    MASK_SIDE,
)
from renderer.kernels.sampler import SCALE, U32, mix
from renderer.kernels.shapes import KIND, normal_at, place_on
from renderer.kernels.vector import along, dot, triple

TURN = 2.0 * math.pi
TUBE = KIND["Tube"]
WHOLE = 2.0**30  # steps to a unit of direction, told apart by `keeps_straight`


@kernel
def between_cells(place, count, around):
    """Cells below and above `place` in 0..1, read between the middles of `count` cells, and the share of the
    upper one; past the last middle the table stays level, or goes round."""
    at = place * count - 0.5
    low = int(math.floor(at))  # noqa: RUF046 (compiled for a card, floor gives no whole number)
    share = at - low
    if around:
        return low % count, (low + 1) % count, share
    return max(low, 0), min(low + 1, count - 1), share


@kernel
def glow_at(tables, number, shape, point):
    """Share of the mean luminance at a point of the surface."""
    row, column, around = place_on(shape, point)
    r0, r1, r = between_cells(row, GLOW_ROWS, False)
    c0, c1, c = between_cells(column, GLOW_COLUMNS, around)
    low = (1.0 - c) * tables[number, r0, c0] + c * tables[number, r0, c1]
    high = (1.0 - c) * tables[number, r1, c0] + c * tables[number, r1, c1]
    return (1.0 - r) * low + r * high


@kernel
def beam_at(tables, number, shape, point, w_i):
    """Factor of the luminance that leaves the point against w_i; rows are whole degrees from the normal."""
    cosine = -dot(w_i, normal_at(shape, point))
    if cosine <= 0.0:
        return 0.0
    gamma = math.degrees(math.acos(min(1.0, cosine))) * (BEAM_ROWS - 1) / 90.0
    r0 = min(int(gamma), BEAM_ROWS - 2)
    r = gamma - r0
    turn = math.atan2(-dot(w_i, triple(shape.v)), -dot(w_i, triple(shape.u)))
    at = (turn / TURN) % 1.0 * BEAM_COLUMNS
    c0 = int(at) % BEAM_COLUMNS
    c1 = (c0 + 1) % BEAM_COLUMNS
    c = at - math.floor(at)
    low = (1.0 - c) * tables[number, r0, c0] + c * tables[number, r0, c1]
    high = (1.0 - c) * tables[number, r0 + 1, c0] + c * tables[number, r0 + 1, c1]
    return (1.0 - r) * low + r * high


@inlined
def emitted(scene, number, origin, w_i, distance):
    """Luminance [cd/m2] of shape `number`, met from its front at `distance` along w_i from `origin`."""
    shape = scene.shapes[number]
    value = shape.luminance
    if shape.straight > 0.0 and keeps_straight(shape, w_i, True):
        return 0.0
    if shape.glow >= 0 or shape.beam >= 0:
        value *= varied(scene, number, origin, w_i, distance)
    return value


@kernel
def varied(scene, number, origin, w_i, distance):
    asked_seldom()
    shape = scene.shapes[number]
    point = along(origin, w_i, distance)
    factor = 1.0
    if shape.glow >= 0:
        factor = glow_at(scene.glows, shape.glow, shape, point)
    if shape.beam >= 0:
        factor *= beam_at(scene.beams, shape.beam, shape, point, w_i)
    return factor


@kernel
def keeps_straight(shape, direction, front):
    """Whether a ray passes a weave undeflected: the stated share of all directions does, by a hash.

    The answer depends on nothing but the direction, the weave and, of a tube, the side that is met: so it is
    the same for every way in which a ray may be asked about, and the same at both faces of a sheet.
    """
    which = 2 * shape.weave + (1 if front and shape.kind == TUBE else 0)
    x = U32(int((direction[0] + 2.0) * WHOLE))
    y = U32(int((direction[1] + 2.0) * WHOLE))
    z = U32(int((direction[2] + 2.0) * WHOLE))
    return mix(mix(x, y), mix(z, U32(which))) * SCALE < shape.straight


@kernel
def is_open(scene, number, origin, w_i, distance):
    """Whether a masked shape has a hole where the ray meets it."""
    asked_seldom()
    shape = scene.shapes[number]
    point = along(origin, w_i, distance)
    row, column, _ = place_on(shape, point)
    r = min(int(row * MASK_SIDE), MASK_SIDE - 1)
    c = min(int(column * MASK_SIDE), MASK_SIDE - 1)
    return scene.masks[shape.mask, max(r, 0), max(c, 0)] == 0
