"""halfstop: see the light before you rig it.

>>> import renderer
>>> preview = renderer.Preview.trace(renderer.load("scene.toml"), within=0.1)
>>> renderer.write(preview, "out")
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"
__all__ = [
    "Comparison",
    "InputError",
    "Live",
    "Preview",
    "Walk",
    "balanced",
    "before_and_after",
    "load",
    "loads",
    "placed",
    "read",
    "side_by_side",
    "toleranced",
    "walk",
    "write",
]

if TYPE_CHECKING:
    from renderer.compare import Comparison, Walk, before_and_after, side_by_side, walk
    from renderer.errors import InputError
    from renderer.live import Live
    from renderer.preview import Preview
    from renderer.record import read, write
    from renderer.scene.load import load, loads
    from renderer.solve import balanced, placed, toleranced


def __getattr__(name: str) -> Any:
    """Import on first use: reading a scene must not wait for the compiler."""
    from importlib import import_module

    homes = {
        "Comparison": "renderer.compare",
        "InputError": "renderer.errors",
        "Live": "renderer.live",
        "Preview": "renderer.preview",
        "Walk": "renderer.compare",
        "before_and_after": "renderer.compare",
        "load": "renderer.scene.load",
        "loads": "renderer.scene.load",
        "balanced": "renderer.solve",
        "placed": "renderer.solve",
        "read": "renderer.record",
        "side_by_side": "renderer.compare",
        "toleranced": "renderer.solve",
        "walk": "renderer.compare",
        "write": "renderer.record",
    }
    if name not in homes:
        raise AttributeError(f"module 'renderer' has no attribute {name!r}")
    return getattr(import_module(homes[name]), name)
