"""Estimated values as they are written into a scene: no finer than anyone measures."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from renderer.scene.change import value_at
from renderer.scene.models import Scene

PLACES = 3  # decimals of a reflectance, or of metres
DEGREES = 1  # decimals
DIGITS = 4  # of lumens, lux, candela


def told(scene: Scene, keys: Mapping[str, Any]) -> dict[str, Any]:
    """The keys rounded, without those that come to what the scene has already."""
    found = {path: _rounded(path.rpartition(".")[2], value) for path, value in keys.items()}
    return {path: value for path, value in found.items() if not _same(value_at(scene, path), value)}


def _rounded(key: str, value: Any) -> Any:
    if isinstance(value, dict):
        return {inner: _rounded(inner, it) for inner, it in value.items()}
    if isinstance(value, list):
        return [_rounded(key, it) for it in value]
    if key == "azimuth":
        return round(value, DEGREES)
    if key in ("at", "distance", "height") or value <= 1.0:
        return round(value, PLACES)
    return float(f"{value:.{DIGITS}g}")


def _same(now: Any, value: Any) -> bool:
    """A reflectance is held as three numbers, and may be written as one."""
    if isinstance(now, (list, tuple)) and isinstance(value, float):
        return all(it == value for it in now)
    return list(now) == value if isinstance(now, tuple) else bool(now == value)
