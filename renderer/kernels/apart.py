"""Kernels that a graphics card calls where the processor takes them in.

Left alone, the card's compiler copies every kernel to wherever it is called from, and the whole tracer is one
function of megabytes. A kernel that begins with `kept_apart()` stays one there. Those that walk trees do:
copied everywhere they are most of it, and they are long enough for a call not to count.
"""

from numba import types
from numba.core import config
from numba.core.cpu import CPUContext
from numba.extending import intrinsic


@intrinsic
def _keep_apart(typing_context):
    def generate(context, builder, signature, arguments):
        if not isinstance(context, CPUContext):
            builder.function.attributes.discard("alwaysinline")
            builder.function.attributes.add("noinline")
        return context.get_dummy_value()

    return types.void(), generate


def _nothing():
    """Where there is no compiler there is nothing to keep apart."""


kept_apart = _nothing if config.DISABLE_JIT else _keep_apart
