"""Readings as a person reads them; terminal, brief and sheets all write them so."""

from __future__ import annotations

import math

from renderer.meter.reading import Reading


def plus_minus(reading: Reading, places: int = 2) -> str:
    """value ±error, to the given places."""
    return f"{reading.value:.{places}f} ±{reading.error:.{places}f}"


def amount(reading: Reading) -> str:
    """A level with as many places as its size deserves, without its unit; its error is not below them."""
    places = 0 if reading.value >= 100 else 1 if reading.value >= 10 else 2
    step = max(places, 1)
    error = max(reading.error, 10.0**-step) if math.isfinite(reading.error) else reading.error
    return f"{reading.value:.{places}f} ±{error:.{step}f}"


def level(reading: Reading) -> str:
    """A level with its unit."""
    return f"{amount(reading)} {reading.unit}"
