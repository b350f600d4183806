"""What a clear coat reflects, smooth or rough, tabled once for a refractive index."""

from __future__ import annotations

from functools import cache

import numpy as np

from renderer.kernels.layout import COAT_ALPHAS, COAT_COSINES

STEPS = 96  # of each of the two integrals over microfacets
NODES = 12  # of the integral over directions


def fresnel(cosine: np.ndarray, eta: float) -> np.ndarray:
    """Reflectance of a smooth dielectric met from outside (the twin of `renderer.kernels.coat.fresnel`)."""
    inner = np.sqrt(1.0 - (1.0 - cosine**2) / eta**2)
    parallel = (eta * cosine - inner) / (eta * cosine + inner)
    perpendicular = (cosine - eta * inner) / (cosine + eta * inner)
    return np.asarray(0.5 * (parallel**2 + perpendicular**2))


def _smith_lambda(cosine: np.ndarray, alpha: float) -> np.ndarray:
    tan2 = (1.0 - cosine**2) / cosine**2
    return np.asarray(0.5 * (np.sqrt(1.0 + alpha**2 * tan2) - 1.0))


def directional_reflectance(cosine: float, alpha: float, eta: float) -> float:
    """Albedo of the rough reflection of `renderer.kernels.coat` for light that comes at `cosine`.

    Facets h are drawn from D(h) cos h; each counts F G (o . h) / (cos o cos h). source  Walter et al.,
    Microfacet Models for Refraction, EGSR 2007, equations 33 to 41
    """
    if alpha == 0.0:
        return float(fresnel(np.array(cosine), eta))
    cos_o = max(cosine, 0.02)
    u = (np.arange(STEPS) + 0.5) / STEPS
    phi = 2.0 * np.pi * u
    tan2 = alpha**2 * u / (1.0 - u)
    cos_h = 1.0 / np.sqrt(1.0 + tan2)[:, None]
    sin_h = np.sqrt(1.0 - cos_h**2)
    along = np.sqrt(1.0 - cos_o**2) * sin_h * np.cos(phi)[None, :] + cos_o * cos_h  # o . h
    cos_i = 2.0 * along * cos_h - cos_o
    seen = (along > 0.0) & (cos_i > 1e-6)
    along, cos_i = np.where(seen, along, 1.0), np.where(seen, cos_i, 1.0)
    masking = 1.0 / (1.0 + _smith_lambda(np.array(cos_o), alpha) + _smith_lambda(cos_i, alpha))
    return float(np.mean(np.where(seen, fresnel(along, eta) * masking * along / (cos_o * cos_h), 0.0)))


def _mean(row: np.ndarray) -> float:
    """Part of even light that a row of the table reflects, as the kernels read it."""
    cosine = (np.arange(2048) + 0.5) / 2048
    return float(2.0 * np.mean(cosine * np.interp(cosine, COAT_COSINES, row)))


@cache
def coat_table(eta: float) -> np.ndarray:
    """(COAT_ALPHAS, COAT_COSINES) directional reflectance of the coat.

    Read along straight lines, the rows would reflect up to 0.3 % too much of even light: each is scaled to
    its integral by Gauss and Legendre's rule, so that base and coat together lose and make none.
    """
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    cosines = 0.5 * (nodes + 1.0)
    rows = [np.array([directional_reflectance(c, a, eta) for c in COAT_COSINES]) for a in COAT_ALPHAS]
    for row, alpha in zip(rows[1:], COAT_ALPHAS[1:], strict=True):
        there = np.array([directional_reflectance(c, alpha, eta) for c in cosines])
        row *= (weights * cosines) @ there / _mean(row)
    return np.asarray(np.clip(np.array(rows), 0.0, 1.0))


@cache
def even_reflectance(eta: float) -> np.ndarray:
    """(COAT_ALPHAS,) part of even light that the coat reflects, from the table as the kernels read it."""
    cosine = (np.arange(2048) + 0.5) / 2048
    smooth = 2.0 * np.mean(cosine * fresnel(cosine, eta))
    return np.array([smooth, *(_mean(row) for row in coat_table(eta)[1:])])
