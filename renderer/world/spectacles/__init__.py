"""Spectacles made for a head: where the lenses stand before the eyes, and the frame that holds them.

Everything is in the head frame [m]: +x out of the nose, +y to the sitter's left, +z up.
"""

from renderer.world.spectacles.worn import Worn, worn

__all__ = ["Worn", "worn"]
