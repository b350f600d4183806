"""A scene traced to its end or not at all: half a trace cannot be compared with a whole one."""

from __future__ import annotations

from typing import Any

from renderer.film.pool import Pool
from renderer.preview import Preview
from renderer.scene.models import Scene


def whole_trace(scene: Scene, **options: Any) -> Preview:
    """`Preview.trace`. Raises KeyboardInterrupt where it was interrupted, InputError as it does."""
    before = Pool.interrupts
    preview = Preview.trace(scene, **options)
    if Pool.interrupts > before:
        raise KeyboardInterrupt
    return preview
