"""A flat disc that sends I0 cos^n: its luminance by direction, as a part keeps it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
DEGREES = np.arange(91.0)
"""Rows of a beam: whole degrees off the normal, as a part keeps them."""


def disc_lobe(exponent: float) -> Floats:
    """cos^(n - 1) at `DEGREES` (91,): I0 cos^n from a flat face is I0 cos^(n - 1) over its area."""
    lobe = np.cos(np.radians(DEGREES)) ** (exponent - 1.0)
    lobe[-1] = lobe[-1] if exponent <= 1.0 + 1e-9 else 0.0
    return np.asarray(lobe)


def lobe_flux(lobe: Floats) -> float:
    """Lumens from 1 m2 of such a luminance [cd/m2], read along straight lines between its rows."""
    fine = np.radians(np.linspace(0.0, 90.0, 90 * 40 + 1))
    sent = np.interp(np.degrees(fine), DEGREES, lobe) * np.cos(fine) * np.sin(fine)
    return 2.0 * math.pi * float(np.trapezoid(sent, fine))
