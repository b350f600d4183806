"""Eight boxes at once: only this module, block.py and octet.py speak to the processor's vector unit.

`box_entries` has two bodies with one meaning. The plain one is the definition; it runs where there is
no compiler or another device. The other spells the same arithmetic as vector instructions, because
the compiler does not find them by itself (measured: 0.4 of embree's rays per second without, more
than embree with). A test holds the two against each other.
"""

import numpy as np
from llvmlite import ir
from numba import types
from numba.core import cgutils, config
from numba.extending import intrinsic

from renderer.kernels.address import I32, I64, SINGLE, put_single_plain, read, single_at_plain, write
from renderer.kernels.compiler import inlined

LANES = 8
ROW = 4 * LANES  # bytes of one number for each lane
VECTOR = ir.VectorType(SINGLE, LANES)
TRIPLE = types.UniTuple(types.float32, 3)
# A slab is widened by a few units in the last place so that rounding never loses an edge (Ize 2013). The
# widening is in the far planes' inverse direction, where it costs nothing.
WIDEN = np.float32(1.0 + 6e-7)
ZERO = np.float32(0.0)
FAR_SIDES = (3 * ROW, 5 * ROW, 7 * ROW)  # offsets of the two planes of an axis add up to this


def same(value):
    """A vector constant with one value in every lane."""
    return ir.Constant(VECTOR, [float(value)] * LANES)


def splat(builder, value):
    """Code that puts one number into every lane."""
    nothing = ir.Constant(VECTOR, ir.Undefined)
    first = builder.insert_element(nothing, value, I32(0))
    return builder.shuffle_vector(first, nothing, ir.Constant(ir.VectorType(I32, LANES), [0] * LANES))


def splat_triple(builder, values):
    return [splat(builder, builder.extract_value(values, k)) for k in range(3)]


def row(builder, record, offset):
    """Code that reads the lanes at a byte offset from the address of a record."""
    return read(builder, VECTOR, builder.add(record, offset))


def larger(builder, a, b):
    return builder.select(builder.fcmp_ordered(">", a, b), a, b)


def smaller(builder, a, b):
    return builder.select(builder.fcmp_ordered("<", a, b), a, b)


def mask_of(builder, lanes):
    """Code that turns a truth for each lane into a bit mask."""
    return builder.zext(builder.bitcast(lanes, ir.IntType(LANES)), I64)


def box_entries_plain(node, start, inverse_d, far_inverse_d, near, t_max, entries):
    """Test a ray against the eight boxes of a node.

    node     address of a record that begins with six rows of eight float32: low x, y, z, high x, y, z
    start    float32 triple; inverse_d: 1 / direction; far_inverse_d: that times WIDEN
    near     byte offsets of the planes met first: 0 or 96, 32 or 128, 64 or 160
    returns  a bit mask of the boxes that are met before t_max; their entry distances go to the row of
             float32 at address `entries`
    """
    mask = 0
    for k in range(LANES):
        entry, leave = ZERO, t_max
        for axis in range(3):
            close = np.float32(single_at_plain(node + near[axis] + 4 * k))
            away = np.float32(single_at_plain(node + FAR_SIDES[axis] - near[axis] + 4 * k))
            entry = max(entry, (close - start[axis]) * inverse_d[axis])
            leave = min(leave, (away - start[axis]) * far_inverse_d[axis])
        put_single_plain(entries + 4 * k, entry)
        if entry <= leave:
            mask |= 1 << k
    return mask


@intrinsic
def _box_entries_vector(typing_context, node, start, inverse_d, far_inverse_d, near, t_max, entries):
    sides = types.UniTuple(types.intp, 3)
    signature = types.intp(types.intp, TRIPLE, TRIPLE, TRIPLE, sides, types.float32, types.intp)

    def generate(context, builder, signature, arguments):
        node_value, start_value, inverse_value, far_value, near_value, t_max_value, entries_value = arguments
        start_lanes = splat_triple(builder, start_value)
        inverse_lanes, far_lanes = splat_triple(builder, inverse_value), splat_triple(builder, far_value)
        close, away = [], []
        for axis in range(3):
            side = builder.extract_value(near_value, axis)
            plane = builder.fsub(row(builder, node_value, side), start_lanes[axis])
            close.append(builder.fmul(plane, inverse_lanes[axis]))
            plane = row(builder, node_value, builder.sub(I64(FAR_SIDES[axis]), side))
            away.append(builder.fmul(builder.fsub(plane, start_lanes[axis]), far_lanes[axis]))
        # in pairs, so that the four comparisons are two deep: the next node waits for them
        x, yz = larger(builder, close[0], same(0.0)), larger(builder, close[1], close[2])
        entry = larger(builder, x, yz)
        x, yz = smaller(builder, away[0], splat(builder, t_max_value)), smaller(builder, away[1], away[2])
        leave = smaller(builder, x, yz)
        write(builder, entry, entries_value)
        return mask_of(builder, builder.fcmp_ordered("<=", entry, leave))

    return signature, generate


@intrinsic
def _lowest_bit_instruction(typing_context, mask):
    def generate(context, builder, signature, arguments):
        return builder.cttz(arguments[0], cgutils.true_bit)

    return types.intp(types.intp), generate


def lowest_bit_plain(mask):
    """Number of the lowest set bit of a mask that is not zero."""
    k = 0
    while not (mask >> k) & 1:
        k += 1
    return k


if config.DISABLE_JIT:
    box_entries, lowest_bit = box_entries_plain, lowest_bit_plain
else:

    @inlined
    def box_entries(node, start, inverse_d, far_inverse_d, near, t_max, entries):
        return _box_entries_vector(node, start, inverse_d, far_inverse_d, near, t_max, entries)

    @inlined
    def lowest_bit(mask):
        return _lowest_bit_instruction(mask)
