"""Coated skin and eyes in terms of Mitsuba 3: a BSDF of our own for the base, Mitsuba's own for the coat."""

from __future__ import annotations

from typing import Any

BASE = "halfstop_base"


def base_bsdf(mi: Any) -> Any:
    """Mitsuba's BSDF class for what the base sends out through a coat: gain T(w_i) T(w_o) / pi.

    Mitsuba's own `plastic` is the same, but takes no colour from the corners of a mesh.
    """

    class Base(mi.BSDF):  # type: ignore[misc]
        def __init__(self, properties: Any) -> None:
            mi.BSDF.__init__(self, properties)
            self.gain, self.eta = properties["gain"], properties["eta"]
            flags = mi.BSDFFlags.DiffuseReflection | mi.BSDFFlags.FrontSide
            self.m_components, self.m_flags = [flags], flags

        def passed(self, cosine: Any) -> Any:
            return 1.0 - mi.fresnel(cosine, self.eta)[0]

        def eval_pdf(self, context: Any, si: Any, wo: Any, active: Any = True) -> Any:
            cos_i, cos_o = mi.Frame3f.cos_theta(si.wi), mi.Frame3f.cos_theta(wo)
            active &= (cos_i > 0.0) & (cos_o > 0.0)
            pdf = mi.warp.square_to_cosine_hemisphere_pdf(wo)
            value = self.gain.eval(si, active) * (self.passed(cos_i) * self.passed(cos_o) * pdf)
            return value & active, mi.Float(pdf) & active

        def eval(self, context: Any, si: Any, wo: Any, active: Any = True) -> Any:
            return self.eval_pdf(context, si, wo, active)[0]

        def pdf(self, context: Any, si: Any, wo: Any, active: Any = True) -> Any:
            return self.eval_pdf(context, si, wo, active)[1]

        def sample(self, context: Any, si: Any, sample1: Any, sample2: Any, active: Any = True) -> Any:
            found = mi.BSDFSample3f()
            found.wo = mi.warp.square_to_cosine_hemisphere(sample2)
            value, found.pdf = self.eval_pdf(context, si, found.wo, active)
            active &= found.pdf > 0.0
            found.eta = 1.0
            found.sampled_type = mi.UInt32(+mi.BSDFFlags.DiffuseReflection)
            found.sampled_component = mi.UInt32(0)
            return found, (value / found.pdf) & active

    return Base


def _attribute(name: str) -> dict[str, Any]:
    return {"type": "mesh_attribute", "name": f"vertex_{name}"}


def material(eta: float, rough: bool) -> dict[str, Any]:
    """Lambertian, or half and half the base and the coat's reflection, each of them doubled.

    The coat is a conductor without absorption, whose Fresnel reflectance is that of a dielectric.
    """
    if eta == 0.0:
        return {"type": "twosided", "bsdf": {"type": "diffuse", "reflectance": _attribute("albedo")}}
    coat: dict[str, Any] = {"type": "conductor"}
    if rough:
        coat = {"type": "roughconductor", "distribution": "ggx", "alpha": _attribute("alpha")}
    for name, value in (("eta", eta), ("k", 0.0), ("specular_reflectance", 2.0)):
        coat[name] = {"type": "spectrum", "value": value}
    base = {"type": BASE, "gain": _attribute("gain"), "eta": eta}
    return {"type": "twosided", "bsdf": {"type": "blendbsdf", "weight": 0.5, "base": base, "coat": coat}}


def register(mi: Any) -> None:
    """Make the base known to Mitsuba by its name."""
    mi.register_bsdf(BASE, base_bsdf(mi))
