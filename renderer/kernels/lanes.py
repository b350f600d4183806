"""The only module that speaks to the processor's vector unit: eight box tests at once.

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

from renderer.kernels.compiler import inlined

LANES = 8
# A slab is widened by a few units in the last place so that rounding never loses an edge (Ize 2013).
WIDEN = np.float32(1.0 + 4e-7)
ZERO = np.float32(0.0)


def box_entries_plain(planes, node, origin, inverse_d, sides, t_max, lanes):
    """Test a ray against the eight boxes of a node.

    planes  (m, 6, 8) float32; sides = the three numbers of the planes met first (0 or 3, 1 or 4, 2 or 5)
    returns a bit mask of the boxes that are met before t_max; their entry distances go to `lanes`
    """
    mask = 0
    for k in range(LANES):
        near = max(
            (planes[node, sides[0], k] - origin[0]) * inverse_d[0],
            (planes[node, sides[1], k] - origin[1]) * inverse_d[1],
            (planes[node, sides[2], k] - origin[2]) * inverse_d[2],
            ZERO,
        )
        far = min(
            (planes[node, 3 - sides[0], k] - origin[0]) * inverse_d[0],
            (planes[node, 5 - sides[1], k] - origin[1]) * inverse_d[1],
            (planes[node, 7 - sides[2], k] - origin[2]) * inverse_d[2],
        )
        lanes[k] = near
        if near <= min(far * WIDEN, t_max):
            mask |= 1 << k
    return mask


@intrinsic
def _box_entries_vector(typing_context, planes, node, origin, inverse_d, sides, t_max, lanes):
    signature = types.intp(planes, types.intp, origin, inverse_d, types.UniTuple(types.intp, 3), t_max, lanes)

    def generate(context, builder, signature, arguments):
        planes_value, node_value, origin_value, inverse_value, sides_value, t_max_value, lanes_value = (
            arguments
        )
        single = ir.FloatType()
        vector = ir.VectorType(single, LANES)
        i32, i64 = ir.IntType(32), ir.IntType(64)
        data = context.make_array(signature.args[0])(context, builder, planes_value).data
        out = context.make_array(signature.args[6])(context, builder, lanes_value).data
        base = builder.mul(node_value, i64(6 * LANES))

        def splat(value):
            first = builder.insert_element(ir.Constant(vector, ir.Undefined), value, i32(0))
            zeros = ir.Constant(ir.VectorType(i32, LANES), [0] * LANES)
            return builder.shuffle_vector(first, ir.Constant(vector, ir.Undefined), zeros)

        def crossing(axis, side):
            offset = builder.add(base, builder.mul(side, i64(LANES)))
            address = builder.bitcast(builder.gep(data, [offset]), vector.as_pointer())
            plane = builder.load(address)
            plane.align = 4
            start = splat(builder.extract_value(origin_value, axis))
            return builder.fmul(builder.fsub(plane, start), splat(builder.extract_value(inverse_value, axis)))

        def larger(a, b):
            return builder.select(builder.fcmp_ordered(">", a, b), a, b)

        def smaller(a, b):
            return builder.select(builder.fcmp_ordered("<", a, b), a, b)

        near_side = [builder.extract_value(sides_value, axis) for axis in range(3)]
        far_side = [builder.sub(i64(3 + 2 * axis), near_side[axis]) for axis in range(3)]
        near = larger(larger(crossing(0, near_side[0]), crossing(1, near_side[1])), crossing(2, near_side[2]))
        near = larger(near, ir.Constant(vector, [0.0] * LANES))
        far = smaller(smaller(crossing(0, far_side[0]), crossing(1, far_side[1])), crossing(2, far_side[2]))
        far = builder.fmul(far, ir.Constant(vector, [float(WIDEN)] * LANES))
        far = smaller(far, splat(t_max_value))
        store = builder.store(near, builder.bitcast(out, vector.as_pointer()))
        store.align = 4
        met = builder.fcmp_ordered("<=", near, far)
        return builder.zext(builder.bitcast(met, ir.IntType(LANES)), i64)

    return signature, generate


@intrinsic
def _lowest_bit_instruction(typing_context, mask):
    def generate(context, builder, signature, arguments):
        return builder.cttz(arguments[0], cgutils.false_bit)

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
    def box_entries(planes, node, origin, inverse_d, sides, t_max, lanes):
        return _box_entries_vector(planes, node, origin, inverse_d, sides, t_max, lanes)

    @inlined
    def lowest_bit(mask):
        return _lowest_bit_instruction(mask)
