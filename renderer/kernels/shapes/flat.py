"""What flat shapes have in common."""

import math

from renderer.kernels.compiler import kernel
from renderer.kernels.vector import dot, sub, triple

LEAST_FACING = 0.05  # of the cosine at the middle: one side of a large shape may face the observer more


@kernel
def solid_angle(shape, point):
    """Roughly, of the front [sr]: that of the middle's cosine, and 1 / (d^2 + A / 4) about as a disc has it.

    source  on the axis of a disc 2 pi (1 - d / sqrt(d^2 + r^2)), that is A / (d^2 + 3/4 r^2 + ...)
    """
    to_middle = sub(triple(shape.centre), point)
    distance2 = dot(to_middle, to_middle)
    facing = -dot(to_middle, triple(shape.w)) / math.sqrt(distance2 + 1e-12)
    return shape.area * max(LEAST_FACING, facing) / (distance2 + 0.25 * shape.area)
