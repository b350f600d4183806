"""Kernels that are called where others are taken in.

Left alone, the compiler copies every kernel to wherever it is called from: the whole tracer is one function,
which takes most of the time to compile. Two kinds of kernel begin with a word that keeps them one for all.

`kept_apart()`    on a graphics card, those that walk trees: copied everywhere they are most of it, and they
                  are long enough for a call not to count
`asked_seldom()`  on the processor, what most samples have no need of: a call there costs more, as it passes
                  every array of the scene, but copies of what a scene lacks cost the compiler alone
"""

from numba import types
from numba.core import config
from numba.core.cpu import CPUContext
from numba.extending import intrinsic


def _apart(on_processor):
    @intrinsic
    def keep(typing_context):
        def generate(context, builder, signature, arguments):
            if isinstance(context, CPUContext) == on_processor:
                builder.function.attributes.discard("alwaysinline")
                builder.function.attributes.add("noinline")
            return context.get_dummy_value()

        return types.void(), generate

    return keep


def _nothing():
    """Where there is no compiler there is nothing to keep apart."""


kept_apart = _nothing if config.DISABLE_JIT else _apart(on_processor=False)
asked_seldom = _nothing if config.DISABLE_JIT else _apart(on_processor=True)
