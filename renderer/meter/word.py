"""Readings as a person reads them; terminal, brief and sheets all write them so."""

from __future__ import annotations

from renderer.meter.reading import Reading


def plus_minus(reading: Reading, places: int = 2) -> str:
    """value ±error, to the given places."""
    return f"{reading.value:.{places}f} ±{reading.error:.{places}f}"


def amount(reading: Reading) -> str:
    """A level with as many places as its size deserves, without its unit."""
    places = 0 if reading.value >= 100 else 1 if reading.value >= 10 else 2
    return f"{reading.value:.{places}f} ±{reading.error:.{max(places, 1)}f}"


def level(reading: Reading) -> str:
    """A level with its unit."""
    return f"{amount(reading)} {reading.unit}"
