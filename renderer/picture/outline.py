"""The outline that shows where skin lies at its target."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from renderer.picture.bands import Pixels
from renderer.picture.region import without_specks

Mask = NDArray[np.bool_]


def on_target(stops_from_target: NDArray[np.floating], face: Mask, within: float, smallest: int) -> Mask:
    """Where `face` is set and the level lies within that many stops of target, less specks and pinholes."""
    with np.errstate(invalid="ignore"):
        hit = face & (np.abs(stops_from_target) <= within)
    result: Mask = without_specks(hit.astype(np.int8), smallest) == 1
    return result


def draw_outline(pixels: Pixels, mask: Mask, scale: int = 1) -> Mask:
    """Draws, in place, a white line with black on both sides round `mask`, and tells where it ran.

    It is seen on every band, and lies outside the mask, so that what is on target stays fully in sight.
    """
    rings = [mask]
    for _ in range(4 * scale):
        rings.append(_grown(rings[-1]))
    line: Mask = rings[4 * scale] & ~mask
    pixels[line] = 0
    pixels[rings[3 * scale] & ~rings[scale]] = 255
    return line


def _grown(mask: Mask) -> Mask:
    grown = mask.copy()
    grown[1:] |= mask[:-1]
    grown[:-1] |= mask[1:]
    grown[:, 1:] |= mask[:, :-1]
    grown[:, :-1] |= mask[:, 1:]
    return grown
