"""Lumens out of intensity that runs straight between angles: exact, and a table to sample directions from.

In a zone where I = a + b gamma, the flux is 2 pi times the integral of I sin(gamma), which has a closed
form; no quadrature is in here. `zone_flux` writes it about the middle of the zone, so that narrow zones
lose nothing to cancellation.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
SMALL = 0.02
"""Half a zone [rad] below which `_bend` is summed as a series; three terms leave 4e-15 of it."""


def _bend(half: Floats) -> Floats:
    """(sin h - h cos h) / h: how much a slope across a zone weighs."""
    near = np.minimum(half, SMALL) ** 2
    series = near * (1.0 / 3.0 - near * (1.0 / 30.0 - near / 840.0))
    far = np.maximum(half, SMALL)
    return np.where(half < SMALL, series, np.sin(far) / far - np.cos(far))


def zone_flux(low: Floats, high: Floats, at_low: Floats, at_high: Floats) -> Floats:
    """Lumens between two cones, intensity running straight from one to the other.

    low, high        gamma [rad], any shape
    at_low, at_high  candela there, averaged over C

    With m the middle and h half of the zone, a the mean and d half the difference of the two intensities:
    4 pi (a sin m sin h + d cos m (sin h - h cos h) / h).
    """
    middle, half = (low + high) / 2.0, (high - low) / 2.0
    mean, slope = (at_low + at_high) / 2.0, (at_high - at_low) / 2.0
    even = mean * np.sin(middle) * np.sin(half)
    return np.asarray(4.0 * math.pi * (even + slope * np.cos(middle) * _bend(half)))


@dataclass(frozen=True)
class FluxTable:
    """Where the lumens go: their sum from the axis on, at ascending gammas. Ready to sample from.

    degrees  gamma (k,), ascending, the first with no lumens within it
    lumens   within the cone of that gamma (k,), never falling, the last all of them
    """

    degrees: Floats
    lumens: Floats

    def gamma_at(self, share: Floats) -> Floats:
        """Gamma [degrees] within which a share of the lumens, 0 to 1, lies; any shape.

        Between two rows the lumens are spread evenly over solid angle: cos(gamma) runs straight. Fed with
        even numbers from 0 to 1 this draws directions with `pdf_solid_angle`, C being even over the turn.
        """
        wanted = np.asarray(share, float) * self.lumens[-1]
        row = np.clip(np.searchsorted(self.lumens, wanted, side="right") - 1, 0, len(self.lumens) - 2)
        row = np.where(np.diff(self.lumens)[row] > 0.0, row, np.maximum(self._last_lit(), 0))
        low, high = np.radians(self.degrees[row]), np.radians(self.degrees[row + 1])
        part = (wanted - self.lumens[row]) / (self.lumens[row + 1] - self.lumens[row])
        # In sin^2(gamma / 2), which is (1 - cos) / 2 without its loss of digits near the axis.
        bottom, top = np.sin(low / 2.0) ** 2, np.sin(high / 2.0) ** 2
        along = np.sqrt(np.clip(bottom + np.clip(part, 0.0, 1.0) * (top - bottom), 0.0, 1.0))
        return np.asarray(np.degrees(2.0 * np.arcsin(along)))

    def pdf_solid_angle(self, degrees: Floats) -> Floats:
        """Density [1/sr] with which `gamma_at` draws a direction at gamma [degrees]; any shape."""
        gamma = np.asarray(degrees, float)
        row = np.clip(np.searchsorted(self.degrees, gamma, side="right") - 1, 0, len(self.degrees) - 2)
        half = np.radians(self.degrees) / 2.0
        steradians = 4.0 * math.pi * np.diff(np.sin(half) ** 2)
        density = np.diff(self.lumens) / (steradians * self.lumens[-1])
        inside = (gamma >= self.degrees[0]) & (gamma <= self.degrees[-1])
        return np.where(inside, density[row], 0.0)

    def _last_lit(self) -> int:
        """The last row after which lumens are still to come; a share of 1 ends there."""
        return int(np.flatnonzero(np.diff(self.lumens) > 0.0)[-1])
