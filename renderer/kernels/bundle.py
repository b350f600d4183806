"""Structures of arrays by one address, as kernels of a graphics card get them.

To a compiler a NamedTuple of arrays is some two hundred values. The processor's takes most calls in and never
hands them on; on a card, where kernels stay apart, each call would write them all to memory. There a kernel
gets the address of a table instead: for each array, nested ones in their place, the address of its data and
its shape. What is read of it is read where it is needed, and shapes that `renderer.kernels.layout` declares
are not read at all.
"""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any, NamedTuple, get_args, get_origin, get_type_hints

import numba
import numpy as np
from llvmlite import ir
from numba import types
from numba.core.imputils import lower_getattr_generic
from numba.core.typing.templates import AttributeTemplate, infer_getattr
from numba.extending import intrinsic, models, register_model

WORD = ir.IntType(64)


class Field(NamedTuple):
    """kind   type of an array or of another bundle
    place  its first word in the table
    dtype, shape  as declared, None for an extent that the table has to tell
    """

    kind: Any
    place: int
    dtype: np.dtype[Any] | None = None
    shape: tuple[int | None, ...] = ()


class Bundle(types.Type):  # type: ignore[misc]
    """The type of such a structure to the compiler."""

    def __init__(self, structure: type) -> None:
        self.fields: dict[str, Field] = {}
        self.words = 0
        for name, hint in get_type_hints(structure, include_extras=True).items():
            if get_origin(hint) is Annotated:
                _, dtype, *extents = get_args(hint)
                shape = tuple(it if isinstance(it, int) else None for it in extents)
                kind = types.Array(numba.from_dtype(np.dtype(dtype)), len(shape), "C")
                self.fields[name] = Field(kind, self.words, np.dtype(dtype), shape)
                self.words += 1 + len(shape)
            else:
                self.fields[name] = Field(Bundle(hint), self.words)
                self.words += self.fields[name].kind.words
        super().__init__(name=f"Bundle({structure.__qualname__})")


@cache
def _bundle(structure: Any) -> Bundle:
    return Bundle(structure)


@register_model(Bundle)
class BundleModel(models.PrimitiveModel):  # type: ignore[misc]
    def __init__(self, manager: Any, kind: Bundle) -> None:
        super().__init__(manager, kind, WORD.as_pointer())


@infer_getattr
class FieldType(AttributeTemplate):  # type: ignore[misc]
    key = Bundle

    def generic_resolve(self, kind: Bundle, name: str) -> Any:
        return kind.fields[name].kind if name in kind.fields else None


@lower_getattr_generic(Bundle)  # type: ignore[untyped-decorator]
def read_field(context: Any, builder: Any, kind: Bundle, table: Any, name: str) -> Any:
    """Code that makes an array of its words in the table."""
    field, place, _, declared = kind.fields[name]
    if isinstance(field, Bundle):
        return builder.gep(table, [WORD(place)])

    def word(number: int, what: Any) -> Any:
        value = builder.load(builder.bitcast(builder.gep(table, [WORD(number)]), what.as_pointer()))
        value.set_metadata("invariant.load", builder.module.add_metadata([]))  # nobody writes to the table
        return value

    array = context.make_array(field)(context, builder)
    size = WORD(context.get_abi_sizeof(context.get_data_type(field.dtype)))
    shape = [WORD(n) if n else word(place + 1 + k, WORD) for k, n in enumerate(declared)]
    strides = [size]
    for extent in reversed(shape[1:]):
        strides.insert(0, builder.mul(strides[0], extent))
    data = word(place, array.data.type)
    context.populate_array(array, data=data, shape=shape, strides=strides, itemsize=size, meminfo=None)
    return array._getvalue()


def table_of(structure: Any) -> list[int]:
    """The words of a structure, of arrays on a card or of numpy.

    Raises TypeError for one that is not as it is declared: kernels would read what is not there.
    """
    words: list[int] = []
    what: Any = type(structure)
    for name, (kind, _, dtype, declared) in _bundle(what).fields.items():
        array = getattr(structure, name)
        if isinstance(kind, Bundle):
            words += table_of(array)
            continue
        fits = array.dtype == dtype and len(array.shape) == len(declared)
        if not fits or any(n not in (None, m) for n, m in zip(declared, array.shape, strict=True)):
            raise TypeError(f"{what.__name__}.{name}: {array.dtype} {array.shape}, not {dtype} {declared}")
        interface = getattr(array, "__cuda_array_interface__", None) or array.__array_interface__
        words += [interface["data"][0], *array.shape]
    return words


def opened(structure: type) -> Any:
    """What kernels call to read a structure from its table, an array of int64."""

    @intrinsic  # type: ignore[untyped-decorator]
    def structure_at(typing_context: Any, table: Any) -> Any:
        def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
            return context.make_array(signature.args[0])(context, builder, arguments[0]).data

        return _bundle(structure)(table), generate

    return structure_at
