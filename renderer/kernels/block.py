"""Eight triangles at once, in single precision: a sieve before the test in double precision.

`may_hit` never leaves out a triangle that the double-precision test accepts, and `must_hit` never names
one that it rejects, so that what a ray meets, and where, is decided in double precision alone. Both ask
the Moller-Trumbore inequalities u >= 0, v >= 0, u + v <= det, 0 < t det < det t_max with a slack that
bounds all rounding. As in lanes.py each has a plain body, which defines it, and a vector body.

Slack. With r = 2^-24, E the longest component of an edge and s the way from a corner to the start of the
ray, u and v are off by at most 12 r E |s|, det by 31 r E^2, t det by 31 r E^2 |s| (errors of a sum of
products: Higham, Accuracy and Stability of Numerical Algorithms, 2002, section 3.1), and rounding the
start itself adds 2 r E |start|. A triangle that is hit is hit before |s| + 4 E, which bounds det t_max.
SLACK = 6e-6, 100 r, times E (|s| + 4 E + |start| / 4) exceeds their sum, and E times that for t det.
"""

import numpy as np
from llvmlite import ir
from numba import types
from numba.core import config
from numba.extending import intrinsic

from renderer.kernels.address import I32, I64, SINGLE, read, single_at_plain
from renderer.kernels.compiler import inlined
from renderer.kernels.lanes import LANES, ROW, TRIPLE, mask_of, row, same, smaller, splat, splat_triple

SLACK = np.float32(6e-6)
FOUR, QUARTER = np.float32(4.0), np.float32(0.25)
EDGE, FIRST = 9 * ROW, 9 * ROW + 4  # offsets of E (float32) and of the first triangle's number (int32)
BLOCK_SIZE = 10 * ROW  # bytes, five lines of a cache


def _sieve_plain(block, start, direction, t_max, sign):
    """Bit mask of the triangles that meet the inequalities, with slack for sign = 1, against it for -1.

    block    address of a record of nine rows of eight float32 (x, y, z of a corner and of the edges to
             the second and third), then E; an empty place is not a number
    start    float32 triple; direction: unit, float32
    """
    mask = 0
    edge = np.float32(single_at_plain(block + EDGE))
    away = edge * FOUR + (abs(start[0]) + abs(start[1]) + abs(start[2])) * QUARTER
    for k in range(LANES):
        n = [np.float32(single_at_plain(block + ROW * j + 4 * k)) for j in range(9)]
        s, e1, e2 = [start[j] - n[j] for j in range(3)], n[3:6], n[6:]
        p, q = _cross_plain(direction, e2), _cross_plain(s, e1)
        det, u, v, t = _dot_plain(e1, p), _dot_plain(s, p), _dot_plain(direction, q), _dot_plain(e2, q)
        if np.signbit(det):
            det, u, v, t = -det, -u, -v, -t
        size = (abs(s[0]) + abs(s[1])) + (abs(s[2]) + away)
        slack = size * (edge * SLACK) * np.float32(sign)
        slack_t = slack * edge
        if (
            min(u, v) >= -slack
            and u + v <= det + slack
            and t >= -slack_t
            and t <= det * min(t_max, size) + slack_t
        ):
            mask |= 1 << k
    return mask


def _cross_plain(a, b):
    return [a[(k + 1) % 3] * b[(k + 2) % 3] - a[(k + 2) % 3] * b[(k + 1) % 3] for k in range(3)]


def _dot_plain(a, b):
    return (a[0] * b[0] + a[1] * b[1]) + a[2] * b[2]


def may_hit_plain(block, start, direction, t_max):
    """Bit mask of the triangles of a block that a ray may hit before t_max."""
    return _sieve_plain(block, start, direction, t_max, 1)


def must_hit_plain(block, start, direction, t_max):
    """Bit mask of the triangles of a block that a ray hits before t_max for certain."""
    return _sieve_plain(block, start, direction, t_max, -1)


def _sieve(sign):
    """Code of `_sieve_plain`."""

    def generate(context, b, signature, arguments):
        block, start_value, direction_value, t_max = arguments
        vector = same(0.0).type
        bits = ir.VectorType(I32, LANES)
        start, direction = splat_triple(b, start_value), splat_triple(b, direction_value)
        n = [row(b, block, I64(ROW * j)) for j in range(9)]
        edge = read(b, SINGLE, b.add(block, I64(EDGE)))

        def cross(x, y):
            pairs = [((k + 1) % 3, (k + 2) % 3) for k in range(3)]
            return [b.fsub(b.fmul(x[i], y[j]), b.fmul(x[j], y[i])) for i, j in pairs]

        def dot(x, y):
            return b.fadd(b.fadd(b.fmul(x[0], y[0]), b.fmul(x[1], y[1])), b.fmul(x[2], y[2]))

        def size_of(x):
            magnitude = ir.Constant(bits, [0x7FFFFFFF] * LANES)
            return b.bitcast(b.and_(b.bitcast(x, bits), magnitude), vector)

        s = [b.fsub(start[k], n[k]) for k in range(3)]
        p, q = cross(direction, n[6:]), cross(s, n[3:6])
        det = dot(n[3:6], p)
        turned = b.and_(b.bitcast(det, bits), ir.Constant(bits, [-0x80000000] * LANES))
        det, u, v, t = (
            b.bitcast(b.xor(b.bitcast(x, bits), turned), vector)
            for x in (det, dot(s, p), dot(direction, q), dot(n[6:], q))
        )
        far = [size_of(x) for x in start]
        away = b.fadd(
            b.fmul(splat(b, edge), same(FOUR)),
            b.fmul(b.fadd(b.fadd(far[0], far[1]), far[2]), same(QUARTER)),
        )
        size = b.fadd(b.fadd(size_of(s[0]), size_of(s[1])), b.fadd(size_of(s[2]), away))
        slack = b.fmul(b.fmul(size, b.fmul(splat(b, edge), same(SLACK))), same(sign))
        slack_t = b.fmul(slack, splat(b, edge))
        latest = b.fmul(det, smaller(b, splat(b, t_max), size))
        met = b.fcmp_ordered(">=", smaller(b, u, v), b.fneg(slack))
        met = b.and_(met, b.fcmp_ordered("<=", b.fadd(u, v), b.fadd(det, slack)))
        met = b.and_(met, b.fcmp_ordered(">=", t, b.fneg(slack_t)))
        met = b.and_(met, b.fcmp_ordered("<=", t, b.fadd(latest, slack_t)))
        return mask_of(b, met)

    return types.intp(types.intp, TRIPLE, TRIPLE, types.float32), generate


@intrinsic
def _may_hit_vector(typing_context, block, start, direction, t_max):
    return _sieve(1.0)


@intrinsic
def _must_hit_vector(typing_context, block, start, direction, t_max):
    return _sieve(-1.0)


if config.DISABLE_JIT:
    may_hit, must_hit = may_hit_plain, must_hit_plain
else:

    @inlined
    def may_hit(block, start, direction, t_max):
        return _may_hit_vector(block, start, direction, t_max)

    @inlined
    def must_hit(block, start, direction, t_max):
        return _must_hit_vector(block, start, direction, t_max)
