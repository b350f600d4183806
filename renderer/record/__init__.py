"""A preview on disk: pictures, layers and numbers that anyone can read, and the way back from them."""

from renderer.record.load import read
from renderer.record.save import write, write_picture

__all__ = ["read", "write", "write_picture"]
