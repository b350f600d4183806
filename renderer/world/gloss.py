"""What a rough metal returns of light that meets one facet alone, tabled for a roughness."""

from __future__ import annotations

from functools import cache

import numpy as np

from renderer.kernels.layout import GLOSS_COLUMNS

STEPS = 256  # of each of the two integrals over facets
LEAST_COSINE = 1e-3


def _smith_lambda(cosine: np.ndarray, alpha: float) -> np.ndarray:
    tan2 = (1.0 - cosine**2) / cosine**2
    return np.asarray(0.5 * (np.sqrt(1.0 + alpha**2 * tan2) - 1.0))


def returned_once(cosine: float, alpha: float) -> float:
    """Albedo of the GGX lobe of `renderer.kernels.gloss`, mirror facets, for light that comes at `cosine`.

    Facets are drawn as they are seen; each then counts G2 / G1 if its mirror image leaves the surface.
    source  Heitz, Eric, Understanding the Masking-Shadowing Function, JCGT 3(2), 2014, section 5; the facets
            seen: Dupuy & Benyoub, CGF 42(8), 2023
    """
    cos_o = max(cosine, LEAST_COSINE)
    sin_o = np.sqrt(1.0 - cos_o**2)
    s = (np.arange(STEPS) + 0.5) / STEPS
    u, weight = 1.0 - s**4, 4.0 * s**3  # close in on steep facets, which mirror light into the surface
    across = np.array([alpha * sin_o, 0.0, cos_o]) / np.hypot(alpha * sin_o, cos_o)
    z = 1.0 - u[:, None] * (1.0 + across[2])
    r = np.sqrt(np.maximum(0.0, 1.0 - z * z))
    phi = np.pi * s[None, :]
    x, y = alpha * (r * np.cos(phi) + across[0]), alpha * r * np.sin(phi)
    z = np.broadcast_to(z + across[2], x.shape)
    length = np.sqrt(x * x + y * y + z * z)
    along = (sin_o * x + cos_o * z) / length  # o . h
    cos_i = 2.0 * along * z / length - cos_o
    seen = cos_i > 1e-6
    lambda_o = _smith_lambda(np.array(cos_o), alpha)
    lambda_i = _smith_lambda(np.where(seen, cos_i, 1.0), alpha)
    passed = np.where(seen, (1.0 + lambda_o) / (1.0 + lambda_o + lambda_i), 0.0)
    return float(np.mean(weight @ passed / STEPS))


@cache
def gloss_table(alpha: float) -> np.ndarray:
    """(2 + GLOSS_COLUMNS,): roughness, mean over even light of the columns as they are read, and these."""
    roots = np.linspace(0.0, 1.0, GLOSS_COLUMNS)
    row = np.array([returned_once(root**2, alpha) for root in roots])
    fine = (np.arange(8192) + 0.5) / 8192
    mean = 2.0 * float(np.mean(fine * np.interp(np.sqrt(fine), roots, row)))
    return np.array([alpha, mean, *row])
