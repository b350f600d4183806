"""Light inside after any number of reflections, for patches that repeat from sector to sector.

Incident light follows E_i = E0_i + sum_j F_ij r_j E_j (radiosity, Goral et al., SIGGRAPH 1984; in heat
transfer Hottel 1954; both from memory). With exchange areas G = A F this is, for y = sqrt(r A) E,
    (1 - D G D) y = sqrt(r A) E0,   D = sqrt(r / A),
symmetric and positive definite as long as some light is lost: conjugate gradients. G repeats from sector
to sector, so multiplying by it is a product for each frequency round the turn (block circulant; Davis,
Circulant Matrices, 1979).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from renderer.errors import InputError

Floats = NDArray[np.float64]
CLOSE = 1e-15
"""Residual at which to stop, relative to the right-hand side: rounding."""
MOST_STEPS = 2000


class Circulant:
    """Multiplies patches (rows, sectors) by exchange areas (rows, rows, sectors)."""

    def __init__(self, exchange: Floats) -> None:
        self.sectors = exchange.shape[2]
        # Exchange is even in the step, so its transform is real.
        self._spectrum = np.ascontiguousarray(np.fft.rfft(exchange, axis=2).real.transpose(2, 0, 1))

    def times(self, patches: Floats) -> Floats:
        waves = np.fft.rfft(patches, axis=1).T
        parts = np.stack([waves.real, waves.imag], axis=2)
        product = self._spectrum @ parts
        result = (product[..., 0] + 1j * product[..., 1]).T
        return np.asarray(np.fft.irfft(result, n=self.sectors, axis=1))


def incident(exchange: Floats, areas: Floats, returned: Floats, first: Floats) -> Floats:
    """Illuminance [lx] on every patch from inside, first light and all that is returned.

    exchange  areas A_i F_ij [m2] (rows, rows, sectors)
    areas     of the patches [m2] (rows, 1)
    returned  share that a patch returns, 0 to 1 (rows, sectors)
    first     illuminance straight from the lamp [lx] (rows, sectors)

    Raises InputError where every patch returns everything: then no balance exists.
    """
    if returned.min() >= 1.0:
        raise InputError("enclosure: every wall returns all light: expected some of it to pass or be lost")
    circulant = Circulant(exchange)
    scale = np.sqrt(returned / areas)
    aim = np.sqrt(returned * areas) * first
    y = _conjugate_gradients(circulant, scale, aim)
    return np.asarray(first + circulant.times(scale * y) / areas)


def _conjugate_gradients(circulant: Circulant, scale: Floats, aim: Floats) -> Floats:
    """Solves (1 - D G D) y = aim. Hestenes & Stiefel, J. Res. NBS 49, 1952."""
    y = np.zeros_like(aim)
    residual, way = aim.copy(), aim.copy()
    left = float(np.sum(residual * residual))
    enough = CLOSE**2 * left
    best = math.inf
    for step in range(MOST_STEPS):
        # Rounding ends the descent: stop once 20 steps have brought nothing.
        if step % 20 == 0:
            if left >= best:
                break
            best = left
        if left <= enough:
            break
        onward = way - scale * circulant.times(scale * way)
        length = left / float(np.sum(way * onward))
        y += length * way
        residual -= length * onward
        left, before = float(np.sum(residual * residual)), left
        way = residual + left / before * way
    return y
