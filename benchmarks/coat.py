"""Coated skin and eyes in terms of Mitsuba 3: base written here, reflection of the coat its own.

Mitsuba's `plastic` takes no colour from the corners of a mesh, and its `blendbsdf` gives the density of one
lobe alone for the directions that it draws, which biases the combination with light sampling (a picture of
the default scene came out 2 to 4 % too bright). So base and coat are combined here.
"""

from __future__ import annotations

import math
from typing import Any

NAME = "halfstop_coated"
ALPHAS = [0.1 * k for k in range(1, 9)]  # roughness of the rows of the table of reflectance
COSINES = 32  # columns, at (k + 0.5) / 32
DRAWS = 1 << 14  # a cell of the table


def reflectances(mi: Any, eta: float) -> Any:
    """(ALPHAS, COSINES) part of the light that Mitsuba's rough coat reflects, by drawing from it."""
    import numpy as np

    table = np.empty((len(ALPHAS), COSINES))
    for row, alpha in enumerate(ALPHAS):
        coat = {"type": "roughconductor", "distribution": "ggx", "alpha": alpha} | _index(eta)
        bsdf = mi.load_dict(coat)
        for column in range(COSINES):
            cosine = (column + 0.5) / COSINES
            si = mi.SurfaceInteraction3f()
            si.wi = mi.Vector3f(math.sqrt(1.0 - cosine * cosine), 0.0, cosine)
            random = np.random.default_rng(column).random((3, DRAWS)).astype(np.float32)
            _, weight = bsdf.sample(
                mi.BSDFContext(), si, mi.Float(random[0]), mi.Point2f(random[1], random[2])
            )
            table[row, column] = np.array(weight)[0].mean()
    return table


def coated_bsdf(mi: Any) -> Any:
    """Mitsuba's BSDF class for gain T(w_i) T(w_o) / pi under the reflection of a nested `coat`."""
    import drjit as dr

    class Coated(mi.BSDF):  # type: ignore[misc]
        def __init__(self, properties: Any) -> None:
            mi.BSDF.__init__(self, properties)
            self.gain, self.eta, self.coat = properties["gain"], properties["eta"], properties["coat"]
            self.rough = properties["rough"]
            base = mi.BSDFFlags.DiffuseReflection | mi.BSDFFlags.FrontSide
            kind = mi.BSDFFlags.GlossyReflection if self.rough else mi.BSDFFlags.DeltaReflection
            self.m_components = [base, kind | mi.BSDFFlags.FrontSide]
            self.m_flags = self.m_components[0] | self.m_components[1]

            if self.rough:
                self.alpha = properties["alpha"]
                self.table = mi.Float(reflectances(mi, self.eta).ravel().astype("float32"))

        def passed(self, cosine: Any, si: Any, active: Any) -> Any:
            """What the coat lets in: of a rough one by the table, between its rows and columns."""
            if not self.rough:
                return 1.0 - mi.fresnel(cosine, self.eta)[0]
            row = dr.clip(10.0 * self.alpha.eval_1(si, active) - 1.0, 0.0, len(ALPHAS) - 1.001)
            column = dr.clip(COSINES * cosine - 0.5, 0.0, COSINES - 1.001)
            i, j = mi.UInt32(row), mi.UInt32(column)
            a, c = row - mi.Float(i), column - mi.Float(j)

            def cell(di: int, dj: int) -> Any:
                return dr.gather(mi.Float, self.table, (i + di) * COSINES + j + dj, active)

            low = (1.0 - c) * cell(0, 0) + c * cell(0, 1)
            high = (1.0 - c) * cell(1, 0) + c * cell(1, 1)
            return 1.0 - ((1.0 - a) * low + a * high)

        def eval_pdf(self, context: Any, si: Any, wo: Any, active: Any = True) -> Any:
            """The value with the cosine, and the density of an even choice between base and coat."""
            cos_i, cos_o = mi.Frame3f.cos_theta(si.wi), mi.Frame3f.cos_theta(wo)
            active &= (cos_i > 0.0) & (cos_o > 0.0)
            pdf = mi.warp.square_to_cosine_hemisphere_pdf(wo)
            passed = self.passed(cos_i, si, active) * self.passed(cos_o, si, active)
            value = self.gain.eval(si, active) * (passed * pdf)
            sheen, sheen_pdf = self.coat.eval_pdf(context, si, wo, active)
            return (value + sheen) & active, (0.5 * (pdf + sheen_pdf)) & active

        def eval(self, context: Any, si: Any, wo: Any, active: Any = True) -> Any:
            return self.eval_pdf(context, si, wo, active)[0]

        def pdf(self, context: Any, si: Any, wo: Any, active: Any = True) -> Any:
            return self.eval_pdf(context, si, wo, active)[1]

        def sample(self, context: Any, si: Any, sample1: Any, sample2: Any, active: Any = True) -> Any:
            from_coat = sample1 >= 0.5
            found, mirrored = self.coat.sample(context, si, 2.0 * sample1 - 1.0, sample2, active & from_coat)
            found.wo = dr.select(from_coat, found.wo, mi.warp.square_to_cosine_hemisphere(sample2))
            value, pdf = self.eval_pdf(context, si, found.wo, active)
            value = dr.select(pdf > 0.0, value / pdf, 0.0)
            is_delta = from_coat & (not self.rough)
            found.pdf = dr.select(is_delta, 0.5 * found.pdf, pdf)
            found.eta = mi.Float(1.0)
            found.sampled_component = dr.select(from_coat, mi.UInt32(1), mi.UInt32(0))
            base = mi.UInt32(+mi.BSDFFlags.DiffuseReflection)
            kind = mi.BSDFFlags.GlossyReflection if self.rough else mi.BSDFFlags.DeltaReflection
            found.sampled_type = dr.select(from_coat, mi.UInt32(+kind), base)
            value = dr.select(is_delta, 2.0 * mirrored, value)
            return found, value & (active & (found.pdf > 0.0))

    return Coated


def register(mi: Any) -> None:
    """Make the class known to Mitsuba by its name."""
    mi.register_bsdf(NAME, coated_bsdf(mi))


def _index(eta: float) -> dict[str, Any]:
    """Refractive index of a conductor that absorbs nothing."""
    return {name: {"type": "spectrum", "value": value} for name, value in (("eta", eta), ("k", 0.0))}


def _attribute(name: str) -> dict[str, Any]:
    return {"type": "mesh_attribute", "name": f"vertex_{name}"}


def material(eta: float, rough: bool) -> dict[str, Any]:
    """Lambertian with the attribute `albedo`; or coated, with `gain` and, where rough, `alpha`.

    The coat is a conductor without absorption, whose Fresnel reflectance is that of a dielectric.
    """
    if eta == 0.0:
        return {"type": "twosided", "bsdf": {"type": "diffuse", "reflectance": _attribute("albedo")}}
    coat: dict[str, Any] = {"type": "conductor"}
    if rough:
        coat = {"type": "roughconductor", "distribution": "ggx", "alpha": _attribute("alpha")}
    coat |= _index(eta)
    coated = {"type": NAME, "gain": _attribute("gain"), "eta": eta, "rough": rough, "coat": coat}
    if rough:
        coated["alpha"] = _attribute("alpha")
    return {"type": "twosided", "bsdf": coated}
