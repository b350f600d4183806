"""Eight numbers in a row reckoned with as one: a kernel over a picture is written once, for a pixel, and the
processor runs it over eight pixels at a time.

`read` gives an octet on the processor, and a number on another device or where there is no compiler; what is
reckoned from it follows. All eight go one way: `choose` stands where a number alone would branch.
"""

import operator

from llvmlite import ir
from numba import types
from numba.core.datamodel import models
from numba.extending import intrinsic, overload, register_model

from renderer.kernels.address import I64
from renderer.kernels.address import read as read_at
from renderer.kernels.address import write as write_at
from renderer.kernels.compiler import INSIDE, inlined, two_bodies
from renderer.kernels.lanes import LANES, VECTOR, larger, splat


class Octet(types.Type):  # type: ignore[misc]
    """Eight float32."""


class Truths(types.Type):  # type: ignore[misc]
    """Eight answers to one question."""


OCTET, TRUTHS = Octet("octet"), Truths("truths")
INDEX = types.intp


@register_model(Octet)
class OctetModel(models.PrimitiveModel):  # type: ignore[misc]
    def __init__(self, manager, kind):
        super().__init__(manager, kind, VECTOR)


@register_model(Truths)
class TruthsModel(models.PrimitiveModel):  # type: ignore[misc]
    def __init__(self, manager, kind):
        super().__init__(manager, kind, ir.VectorType(ir.IntType(1), LANES))


def octets(context, builder, kinds, values):
    """Code for values as octets: a number stands in all eight places."""
    return [
        value if kind == OCTET else splat(builder, context.cast(builder, value, kind, types.float32))
        for kind, value in zip(kinds, values, strict=True)
    ]


def of_two(operation, result, build):
    """What `operation` is of two octets, or of an octet and a number."""

    @intrinsic
    def apply(typing_context, a, b):
        def generate(context, builder, signature, arguments):
            return build(builder, *octets(context, builder, (a, b), arguments))

        return result(a, b), generate

    @overload(operation, jit_options=INSIDE)
    def typed(a, b):
        return (lambda a, b: apply(a, b)) if OCTET in (a, b) else None


of_two(operator.add, OCTET, lambda builder, a, b: builder.fadd(a, b))
of_two(operator.iadd, OCTET, lambda builder, a, b: builder.fadd(a, b))
of_two(operator.sub, OCTET, lambda builder, a, b: builder.fsub(a, b))
of_two(operator.mul, OCTET, lambda builder, a, b: builder.fmul(a, b))
of_two(operator.truediv, OCTET, lambda builder, a, b: builder.fdiv(a, b))
of_two(max, OCTET, larger)
of_two(operator.eq, TRUTHS, lambda builder, a, b: builder.fcmp_ordered("==", a, b))
of_two(operator.le, TRUTHS, lambda builder, a, b: builder.fcmp_ordered("<=", a, b))


@intrinsic
def _and(typing_context, a, b):
    return TRUTHS(a, b), lambda context, builder, signature, values: builder.and_(*values)


@overload(operator.and_, jit_options=INSIDE)
def _both(a, b):
    return (lambda a, b: _and(a, b)) if a == b == TRUTHS else None


@intrinsic
def _choose(typing_context, truth, a, b):
    def generate(context, builder, signature, arguments):
        return builder.select(arguments[0], *octets(context, builder, (a, b), arguments[1:]))

    return OCTET(truth, a, b), generate


@intrinsic
def _in_all(typing_context, value):
    return OCTET(value), lambda context, builder, signature, values: octets(
        context, builder, [value], values
    )[0]


def place(context, builder, signature, arguments):
    """Code for the address of [y, k, x], whose array and indices are the first arguments."""
    array = context.make_array(signature.args[0])(context, builder, arguments[0])
    at = builder.ptrtoint(array.data, I64)
    for axis, index in enumerate(arguments[1:4]):
        at = builder.add(at, builder.mul(builder.extract_value(array.strides, axis), index))
    return at


@intrinsic
def _read(typing_context, planes, y, k, x):
    def generate(context, builder, signature, arguments):
        return read_at(builder, VECTOR, place(context, builder, signature, arguments))

    return OCTET(planes, INDEX, INDEX, INDEX), generate


@intrinsic
def _write(typing_context, planes, y, k, x, value):
    def generate(context, builder, signature, arguments):
        write_at(builder, arguments[4], place(context, builder, signature, arguments))
        return context.get_dummy_value()

    return types.void(planes, INDEX, INDEX, INDEX, OCTET), generate


def at_once_plain():
    """How many numbers stand beside each other."""
    return 1


def choose_plain(truth, a, b):
    """`a` where the answer is yes, else `b`."""
    return a if truth else b


def in_all_plain(value):
    """One number in all places."""
    return value


def read_plain(planes, y, k, x):
    """Of float32 planes that lie row by row: what stands at [y, k, x], and beside it."""
    return planes[y, k, x]


def write_plain(planes, y, k, x, value):
    """The reverse of `read_plain`."""
    planes[y, k, x] = value


at_once = two_bodies(at_once_plain, lambda: LANES)
choose = two_bodies(choose_plain, lambda truth, a, b: _choose(truth, a, b))
in_all = two_bodies(in_all_plain, lambda value: _in_all(value))
read = two_bodies(read_plain, lambda planes, y, k, x: _read(planes, y, k, x))
write = two_bodies(write_plain, lambda planes, y, k, x, value: _write(planes, y, k, x, value))


@inlined
def read_three(planes, y, k, x):
    return (read(planes, y, k, x), read(planes, y, k + 1, x), read(planes, y, k + 2, x))


@inlined
def write_three(planes, y, k, x, values):
    write(planes, y, k, x, values[0])
    write(planes, y, k + 1, x, values[1])
    write(planes, y, k + 2, x, values[2])
