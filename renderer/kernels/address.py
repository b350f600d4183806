"""The only module that reads and writes memory by its address.

Traversal spends its time on a few records, each read as a whole. An array argument costs it several
registers and an index computed anew at every read; an address costs one register. Nothing here checks
bounds: an address is only ever the start of an array plus an offset that packing wrote into the tree.

Every function has a plain twin with the same meaning, which runs where there is no compiler; a test
holds the two against each other.
"""

import numpy as np
from llvmlite import ir
from numba import types
from numba.core import config
from numba.extending import intrinsic

from renderer.kernels.compiler import inlined

SINGLE, I32, I64 = ir.FloatType(), ir.IntType(32), ir.IntType(64)


def read(builder, kind, address):
    """Code that reads a value of an LLVM type, aligned to four bytes."""
    value = builder.load(builder.inttoptr(address, kind.as_pointer()))
    value.align = 4
    return value


def write(builder, value, address):
    """Code that writes a value, aligned to four bytes."""
    builder.store(value, builder.inttoptr(address, value.type.as_pointer())).align = 4


@intrinsic
def _address_of_data(typing_context, array):
    def generate(context, builder, signature, arguments):
        data = context.make_array(signature.args[0])(context, builder, arguments[0]).data
        return builder.ptrtoint(data, I64)

    return types.intp(array), generate


@intrinsic
def _read_single(typing_context, address):
    return types.float32(types.intp), lambda context, builder, signature, at: read(builder, SINGLE, at[0])


@intrinsic
def _read_whole(typing_context, address):
    def generate(context, builder, signature, arguments):
        return builder.sext(read(builder, I32, arguments[0]), I64)

    return types.intp(types.intp), generate


@intrinsic
def _read_long(typing_context, address):
    return types.intp(types.intp), lambda context, builder, signature, at: read(builder, I64, at[0])


@intrinsic
def _write_long(typing_context, address, value):
    def generate(context, builder, signature, arguments):
        write(builder, arguments[1], arguments[0])
        return context.get_dummy_value()

    return types.void(types.intp, types.intp), generate


def address_of_plain(array):
    """Address of the first element of a contiguous array, which its caller must keep alive."""
    return array.ctypes.data


class Place:
    """One number at an address, as numpy's array interface describes it."""

    def __init__(self, address, kind):
        self.__array_interface__ = {"data": (int(address), False), "shape": (), "typestr": kind, "version": 3}


def single_at_plain(address):
    """The float32 at an address."""
    return np.asarray(Place(address, "=f4")).item()


def whole_at_plain(address):
    """The int32 at an address."""
    return np.asarray(Place(address, "=i4")).item()


def long_at_plain(address):
    """The int64 at an address."""
    return np.asarray(Place(address, "=i8")).item()


def put_single_plain(address, value):
    """Write a float32 to an address."""
    np.asarray(Place(address, "=f4"))[()] = value


def put_long_plain(address, value):
    """Write an int64 to an address."""
    np.asarray(Place(address, "=i8"))[()] = value


if config.DISABLE_JIT:
    address_of, single_at, whole_at = address_of_plain, single_at_plain, whole_at_plain
    long_at, put_long = long_at_plain, put_long_plain
else:

    @inlined
    def address_of(array):
        return _address_of_data(array)

    @inlined
    def single_at(address):
        return _read_single(address)

    @inlined
    def whole_at(address):
        return _read_whole(address)

    @inlined
    def long_at(address):
        return _read_long(address)

    @inlined
    def put_long(address, value):
        _write_long(address, value)
