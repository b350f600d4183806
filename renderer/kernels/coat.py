"""A clear dielectric coat over a Lambertian base: smooth on the eye, rough on the skin.

Light reaches the base through the coat, is scattered there, turned back from within any number of times,
and leaves; a base that absorbs nothing loses nothing. What the coat reflects comes on top.
"""

import math

from renderer.kernels.compiler import kernel
from renderer.kernels.layout import COAT_COLUMNS, COAT_ROUGHEST, COAT_ROWS
from renderer.kernels.vector import add, dot, scale, unit


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
def refract(direction, normal, eta):
    """Direction of a ray that enters, against unit `normal`, a medium of refractive index eta.

    source  Snell's law, e.g. Born & Wolf, Principles of Optics, section 1.5
    """
    cosine = -dot(direction, normal)
    inner = math.sqrt(max(0.0, 1.0 - (1.0 - cosine * cosine) / (eta * eta)))
    return unit(add(scale(direction, 1.0 / eta), scale(normal, cosine / eta - inner)))


@kernel
def cell_below(place, last):
    """The whole number below `place`, at most last - 1, and how far on to the next one (0..1)."""
    cell = min(int(place), last - 1)
    return cell, min(place - cell, 1.0)


@kernel
def row_of(alpha):
    """Row of a coat's table below `alpha`, and how far on to the next one."""
    return cell_below(alpha * (COAT_ROWS - 1) / COAT_ROUGHEST, COAT_ROWS - 1)


@kernel
def coat_reflectance(material, cosine, alpha):
    """Part of the light at `cosine` that the coat reflects, and does not let in."""
    if alpha == 0.0:
        return fresnel(cosine, material.eta)
    row, a = row_of(alpha)
    column, c = cell_below(max(cosine, 0.0) * (COAT_COLUMNS - 1), COAT_COLUMNS - 1)
    table = material.reflected
    low = (1.0 - c) * table[row, column] + c * table[row, column + 1]
    high = (1.0 - c) * table[row + 1, column] + c * table[row + 1, column + 1]
    return (1.0 - a) * low + a * high


@kernel
def inside_reflectance(material, alpha):
    """Hemispherical reflectance of the coat from within: 1 - (1 - R) / eta^2 by reciprocity, R outside."""
    row, a = row_of(alpha)
    outside = (1.0 - a) * material.reflected_evenly[row] + a * material.reflected_evenly[row + 1]
    return 1.0 - (1.0 - outside) / (material.eta * material.eta)


@kernel
def base_gain(albedo, eta, inside, transmitted_out):
    """RGB that, times T(w_i) / pi, is the BSDF of the base as seen through the coat.

    f = T(w_i) T(w_o) albedo / (pi eta^2 (1 - albedo inside)), with `inside` the hemispherical
    reflectance of the coat from within and `transmitted_out` = T(w_o)
    """
    k = transmitted_out / (eta * eta)
    return (
        k * albedo[0] / (1.0 - albedo[0] * inside),
        k * albedo[1] / (1.0 - albedo[1] * inside),
        k * albedo[2] / (1.0 - albedo[2] * inside),
    )


@kernel
def evened_albedo(albedo, eta, inside):
    """Albedo of coat and base together under even light: what a Lambertian stand-in would need.

    The coat's own share is 1 - eta^2 (1 - inside), its hemispherical reflectance from outside.
    """
    passed = eta * eta * (1.0 - inside)
    gain = scale(base_gain(albedo, eta, inside, passed), passed)
    return add(gain, (1.0 - passed, 1.0 - passed, 1.0 - passed))


@kernel
def smith_lambda(cosine, alpha):
    """Auxiliary function of the Smith masking term for GGX."""
    tan2 = (1.0 - cosine * cosine) / (cosine * cosine)
    return 0.5 * (math.sqrt(1.0 + alpha * alpha * tan2) - 1.0)


@kernel
def rough_reflection(w_i, w_o, normal, eta, alpha):
    """BSDF [1/sr] of the rough coat alone, GGX with height-correlated Smith masking.

    source  Walter et al., Microfacet Models for Refraction, EGSR 2007; Heitz, JCGT 3(2), 2014
    """
    cos_i, cos_o = dot(w_i, normal), dot(w_o, normal)
    if cos_i <= 1e-6 or cos_o <= 1e-6:
        return 0.0
    half = unit(add(w_i, w_o))
    cos_h = dot(half, normal)
    a2 = alpha * alpha
    k = cos_h * cos_h * (a2 - 1.0) + 1.0
    distribution = a2 / (math.pi * k * k)
    masking = 1.0 / (1.0 + smith_lambda(cos_i, alpha) + smith_lambda(cos_o, alpha))
    return distribution * masking * fresnel(min(1.0, abs(dot(w_i, half))), eta) / (4.0 * cos_i * cos_o)
