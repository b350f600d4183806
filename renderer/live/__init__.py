"""A scene followed while its lights are moved."""

from renderer.live.live import Live, Shown

__all__ = ["Live", "Shown"]
