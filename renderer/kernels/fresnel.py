"""Reflection at a smooth clear coat over a Lambertian base."""

import math

from renderer.kernels.compiler import kernel
from renderer.kernels.vector import dot


@kernel
def fresnel(cosine, eta):
    """Reflectance of a smooth dielectric of refractive index eta, unpolarised, met from outside.

    source  Fresnel equations, e.g. Born & Wolf, Principles of Optics, section 1.5
    """
    sin2 = (1.0 - cosine * cosine) / (eta * eta)
    inner = math.sqrt(max(0.0, 1.0 - sin2))
    parallel = (eta * cosine - inner) / (eta * cosine + inner)
    perpendicular = (cosine - eta * inner) / (cosine + eta * inner)
    return 0.5 * (parallel * parallel + perpendicular * perpendicular)


@kernel
def mirror(direction, normal):
    """Direction of a ray after reflection at a surface with unit `normal`."""
    k = 2.0 * dot(direction, normal)
    return (direction[0] - k * normal[0], direction[1] - k * normal[1], direction[2] - k * normal[2])


@kernel
def base_gain(albedo, eta, inside, transmitted_out):
    """Factor that turns T(w_i) / pi into the BSDF of the base as seen through the coat, a channel.

    f = T(w_i) T(w_o) albedo / (pi eta^2 (1 - albedo inside)): light enters, is scattered by the base
    and turned back by the coat any number of times, and leaves. An albedo of 1 loses nothing.
    """
    k = transmitted_out / (eta * eta)
    return (
        k * albedo[0] / (1.0 - albedo[0] * inside),
        k * albedo[1] / (1.0 - albedo[1] * inside),
        k * albedo[2] / (1.0 - albedo[2] * inside),
    )
