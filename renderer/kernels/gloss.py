"""The lobe of silvered board: a rough metal, GGX, that loses nothing between its facets.

Light that meets one facet alone is the microfacet lobe of Walter et al. with height-correlated masking; what
that leaves out has met several, and goes by what is missing in either direction. Times an albedo, the surface
returns just that share of light from any direction.

source  Walter et al., Microfacet Models for Refraction, EGSR 2007; Heitz, JCGT 3(2), 2014; the light between
        facets: Kulla & Conty, Revisiting Physically Based Shading, SIGGRAPH course 2017 (from memory)
"""

import math

from renderer.kernels.apart import asked_seldom
from renderer.kernels.coat import cell_below, smith_lambda
from renderer.kernels.compiler import kernel
from renderer.kernels.layout import GLOSS_COLUMNS
from renderer.kernels.vector import add, dot, from_frame, scale, tangents, unit
from renderer.kernels.warp import square_to_cosine

LOBE_SHARE = 0.75  # of the directions that are drawn from the lobe; the others go by the cosine
GRAZING = 1e-6  # least cosine that counts
ALPHA, MEAN, FIRST = 0, 1, 2  # columns of a table: roughness, mean over directions, then by direction


@kernel
def returned_once(tables, number, cosine):
    """Share of light at `cosine` that leaves after one facet; columns are even in the root of the cosine."""
    column, c = cell_below(math.sqrt(cosine) * (GLOSS_COLUMNS - 1), GLOSS_COLUMNS - 1)
    low, high = tables[number, FIRST + column], tables[number, FIRST + column + 1]
    return (1.0 - c) * low + c * high


@kernel
def facets(cosine, alpha):
    """GGX density of facets [1/sr] whose normal is at `cosine` from the surface's."""
    a2 = alpha * alpha
    k = 1.0 - cosine * cosine * (1.0 - a2)
    return a2 / (math.pi * k * k)


@kernel
def lobe(tables, number, w_i, w_o, normal):
    """pi times the BSDF [1/sr] for an albedo of 1: what a Lambertian surface has as 1."""
    asked_seldom()
    cos_i, cos_o = dot(w_i, normal), dot(w_o, normal)
    if cos_i <= GRAZING or cos_o <= GRAZING:
        return 0.0
    alpha = tables[number, ALPHA]
    cos_h = min(1.0, dot(unit(add(w_i, w_o)), normal))
    masking = 1.0 / (1.0 + smith_lambda(cos_i, alpha) + smith_lambda(cos_o, alpha))
    once = math.pi * facets(cos_h, alpha) * masking / (4.0 * cos_i * cos_o)
    lost_i = 1.0 - returned_once(tables, number, min(1.0, cos_i))
    lost_o = 1.0 - returned_once(tables, number, min(1.0, cos_o))
    return once + lost_i * lost_o / max(1e-9, 1.0 - tables[number, MEAN])


@kernel
def sample_lobe(tables, number, w_o, normal, u1, u2):
    """A direction drawn by `lobe_pdf`; it may lie under the surface, where it stands for nothing.

    A facet is drawn by how much of it is seen: stretched until the surface is a hemisphere, the facets that
    are seen mirror w_o evenly into a cap of directions.
    source  Dupuy & Benyoub, Sampling Visible GGX Normals with Spherical Caps, CGF 42(8), 2023
    """
    asked_seldom()
    s, t = tangents(normal)
    if u1 >= LOBE_SHARE:
        x, y, z = square_to_cosine((u1 - LOBE_SHARE) / (1.0 - LOBE_SHARE), u2)
        return from_frame(x, y, z, s, t, normal)
    alpha = tables[number, ALPHA]
    across = unit((alpha * dot(w_o, s), alpha * dot(w_o, t), max(GRAZING, dot(w_o, normal))))
    phi = 2.0 * math.pi * u1 / LOBE_SHARE
    z = 1.0 - u2 * (1.0 + across[2])
    r = math.sqrt(max(0.0, 1.0 - z * z))
    facet = unit(
        (
            alpha * (r * math.cos(phi) + across[0]),
            alpha * (r * math.sin(phi) + across[1]),
            max(1e-12, z + across[2]),
        )
    )
    half = from_frame(facet[0], facet[1], facet[2], s, t, normal)
    return unit(add(scale(half, 2.0 * dot(w_o, half)), scale(w_o, -1.0)))


@kernel
def lobe_pdf(tables, number, w_i, w_o, normal):
    """pdf_solid_angle of `sample_lobe` for a w_i above the surface."""
    cos_i, cos_o = dot(w_i, normal), dot(w_o, normal)
    if cos_i <= 0.0 or cos_o <= GRAZING:
        return 0.0
    alpha = tables[number, ALPHA]
    cos_h = min(1.0, dot(unit(add(w_i, w_o)), normal))
    seen = facets(cos_h, alpha) / ((1.0 + smith_lambda(cos_o, alpha)) * 4.0 * cos_o)
    return LOBE_SHARE * seen + (1.0 - LOBE_SHARE) * cos_i / math.pi
