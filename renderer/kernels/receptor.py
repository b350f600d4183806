"""How a receptor weighs the light from a direction: flat by the cosine, a dome by (1 + cosine) / 2."""

import math

from renderer.kernels.compiler import inlined
from renderer.kernels.vector import dot


@inlined
def response_to(w_i, shading, geometric, everywhere):
    """Weight of the light along w_i, 0 under the horizon of a flat receptor, and pdf_solid_angle with which
    sampling from the receptor finds that direction; `everywhere` stands for a dome."""
    cosine = dot(shading, w_i)
    if everywhere:
        response = 0.5 * (1.0 + cosine)
        return response, response / (2.0 * math.pi)
    if cosine <= 0.0 or dot(geometric, w_i) <= 0.0:
        return 0.0, 0.0
    return cosine, cosine / math.pi
