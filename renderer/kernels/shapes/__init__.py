"""The family of shapes. A new shape is one file here with `intersect`, `normal_at`, `sample`, `place_on`,
`pdf_solid_angle` and `solid_angle` (rough, for the odds of choosing it), and one line in the table; its place
in the table is the `kind` in the SHAPE record.
"""

import math

from renderer.kernels.compiler import kernel
from renderer.kernels.shapes import disc, rectangle, sphere, tube

TABLE = {"Disc": disc, "Rectangle": rectangle, "Sphere": sphere, "Tube": tube}
KIND = {name: kind for kind, name in enumerate(TABLE)}


def dispatcher(name, unknown):
    """One kernel out of the function `name` of every shape, chosen by shape.kind at run time.

    A kind outside the table gives `unknown`, which is nan: never a plausible number.
    """

    @kernel
    def no_such_kind(shape, *arguments):
        return unknown

    chosen = no_such_kind
    for kind, module in reversed(list(enumerate(TABLE.values()))):
        chosen = _one_or(kind, getattr(module, name), chosen)
    return chosen


def _one_or(kind, function, otherwise):
    @kernel
    def choose(shape, *arguments):
        if shape.kind == kind:
            return function(shape, *arguments)
        return otherwise(shape, *arguments)

    return choose


intersect = dispatcher("intersect", (math.nan, False))
normal_at = dispatcher("normal_at", (math.nan, math.nan, math.nan))
place_on = dispatcher("place_on", (math.nan, math.nan, False))
sample = dispatcher("sample", ((math.nan, math.nan, math.nan), math.nan, math.nan))
pdf_solid_angle = dispatcher("pdf_solid_angle", math.nan)
solid_angle = dispatcher("solid_angle", math.nan)
