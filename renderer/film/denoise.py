"""A picture without grain, for the eye alone: no number, map or layer is made from it.

What a pixel sends is what arrives at its surface times what the surface does with it. The film keeps both
with the same samples, so their ratio carries texture (hair, brows, lips, an iris, the edge of a sleeve
within a pixel) and next to no noise. Only the light that arrives is filtered; the ratio is put back.

An edge-avoiding a-trous filter: neighbours count by surface, normal and depth, and by whether their light
differs by more than the noise. Each independent half gets its weights from the other.

source  Dammertz et al., Edge-Avoiding A-Trous Wavelet Transform for Fast Global Illumination Filtering,
        HPG 2010; weights from the other half: Rousselle et al., Adaptive Rendering with Non-Local Means
        Filtering, SIGGRAPH Asia 2012; light apart from albedo, and variance that guides: Schied et al.,
        Spatiotemporal Variance-Guided Filtering, HPG 2017 (all from memory)
"""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from renderer.colour import luminance
from renderer.film.layers import Layers
from renderer.film.pool import usable_cores
from renderer.kernels import denoise as kernel
from renderer.kernels.layout import MESH, NOTHING
from renderer.world.material import HAIR

Plane = NDArray[np.float32]
Mask = NDArray[np.bool_]

# Chosen on scenes/default.toml alone, by error against a converged picture.
PASSES = ((1, 2, 3.0), (2, 1, 3.0), (4, 1, 3.0), (8, 1, 3.0))
"""Step, reach [pixels], and standard errors of a difference of light at which a neighbour counts no more."""
TURN = 0.35  # length of the difference of unit normals at which a neighbour counts no more: 20 degrees
DEPTH = 0.004  # m for each pixel of distance, that a neighbour may lie off the plane
WINDOW = 7  # pixels: side of the square over which the noise of a pixel is taken
MOST_GAIN = 1.0  # reflectance; what a pixel sends beyond it (a lamp, a catchlight) is left alone
SPARK = 2.0  # standard errors of a pixel by which it may be brought down to its brightest neighbour
FAMILIES = 1000  # more than there are numbers in a family
ROWS = 16  # that a thread takes at a time


def denoised(layers: Layers, threads: int | None = None) -> Plane:
    """(h, w, 3) float32 linear RGB of the mix, luminance in cd/m2; raw where the halves were not kept."""
    picture = layers.picture()
    if layers.difference is None:
        return picture
    error = layers.half_difference()
    shown, _ = Grain(picture, error, layers.arriving(), layers.seen).filtered(threads)
    return _without_sparks(shown, np.abs(luminance(error)), layers.seen["emits"] > 0)


class Grain:
    """A picture and its noise, ready to be filtered.

    picture  (h, w, 3) float32 mean of two independent halves; error: half of what they differ by
    light    (h, w, 3) float32 light arriving at the first surface seen, with the same samples
    seen     (h, w) SEEN records
    plain    (h, w) bool: pixels that can be cleaned, one surface each. Hair is not: its strands differ more
             than its noise
    outline  (h, w) bool: pixels beside another surface
    """

    def __init__(self, picture: Plane, error: Plane, light: Plane, seen: NDArray[np.void]) -> None:
        surface = seen["family"] * FAMILIES + seen["number"]
        plain = (seen["emits"] == 0) & (seen["family"] != NOTHING)
        plain &= surface != MESH * FAMILIES + HAIR
        self.outline = _on_outline(surface)
        self.plain: Mask = plain & ~self.outline
        self.picture = picture
        self._light, self._gain = light, _gain(picture, light, self.plain)
        noise = np.divide(error, self._gain, out=np.zeros_like(error), where=self._gain > 1e-6)
        noise *= self.plain[..., None]
        first, second = _without_specks(light + noise, light - noise, self.plain)
        self._pixels = _pixels(seen, np.where(self.plain, surface, -1), first, second)

    def filtered(self, threads: int | None = None) -> tuple[Plane, Plane]:
        """(h, w, 3) the cleaned picture, and half the difference of its halves: raw in the one and 0 in the
        other where a pixel is not plain."""
        pixels = _filtered(self._pixels, self.picture.shape[1], threads).reshape(*self.plain.shape, -1)
        first = pixels[..., kernel.FIRST : kernel.FIRST + 3]
        second = pixels[..., kernel.SECOND : kernel.SECOND + 3]
        gain = self._gain * self.plain[..., None]
        shown = self.picture + gain * (np.float32(0.5) * (first + second) - self._light)
        return shown, gain * (np.float32(0.5) * (first - second))


def _gain(picture: Plane, light: Plane, plain: Mask) -> Plane:
    """(h, w, 3) radiance sent for the light that arrives [1/sr], up to MOST_GAIN of a white surface; that of
    the pixels about it where none has arrived so far."""
    least = np.maximum(np.float32(1e-4) * light.max(axis=2, keepdims=True), np.float32(1e-30))
    gain = np.divide(picture, light, out=np.zeros_like(picture), where=light > least)
    np.clip(gain, 0.0, MOST_GAIN / math.pi, out=gain)
    dark = plain & ~(light > 0.0).all(axis=2)
    if dark.any():
        known = plain & ~dark
        count = np.maximum(box_sum(known), 1.0)
        for k in range(3):
            gain[dark, k] = (box_sum(gain[..., k] * known) / count)[dark]
    return gain


def _without_specks(first: Plane, second: Plane, plain: Mask) -> tuple[Plane, Plane]:
    """The light of both halves, no pixel beyond all of its neighbours: no brighter than the brightest of
    them and its twin, no darker than the darkest.

    A speck would stand alone among neighbours that it is too far from to be averaged with.
    """
    bright = [np.where(plain, luminance(half), 0.0) for half in (first, second)]
    most_about = _most_about(np.maximum(*bright))
    for half, own, twin in ((first, *bright), (second, *bright[::-1])):
        most = np.maximum(most_about, twin)
        speck = plain & (own > most)
        half[speck] *= (most[speck] / own[speck])[:, None]
    least = -_most_about(np.where(plain, -np.minimum(*bright), -np.inf), -np.inf)
    for half, own in zip((first, second), bright, strict=True):
        speck = plain & (own < least) & np.isfinite(least)
        if speck.any():
            hue = np.stack([box_sum(half[..., k] * plain)[speck] for k in range(3)], axis=-1)
            lack = (least[speck] - own[speck])[:, None]
            half[speck] += (lack * hue / np.maximum(luminance(hue), 1e-30)[:, None]).astype(np.float32)
    return first, second


def _most_about(plane: NDArray[Any], beyond: float = 0.0) -> NDArray[Any]:
    """(h, w) the greatest of the eight neighbours of each pixel; `beyond` stands round the picture."""
    height, width = plane.shape
    padded = np.pad(plane, 1, constant_values=beyond)
    around = np.full_like(plane, beyond)
    for dy in range(3):
        for dx in range(3):
            if (dy, dx) != (1, 1):
                np.maximum(around, padded[dy : dy + height, dx : dx + width], out=around)
    return around


def _on_outline(surface: NDArray[np.integer]) -> Mask:
    """Pixels beside another surface: they show a part of both, so their light is that of neither."""
    found = np.zeros(surface.shape, np.bool_)
    for here, near in (
        (np.s_[1:], np.s_[:-1]),
        (np.s_[:, 1:], np.s_[:, :-1]),
        (np.s_[1:, 1:], np.s_[:-1, :-1]),
        (np.s_[1:, :-1], np.s_[:-1, 1:]),
    ):
        differ = surface[here] != surface[near]
        found[here] |= differ
        found[near] |= differ
    return found


def _pixels(seen: NDArray[np.void], surface: NDArray[np.integer], first: Plane, second: Plane) -> Plane:
    """(h * w, COLUMNS) rows as the kernel takes them, from the light of both halves."""
    pixels = np.zeros((*surface.shape, kernel.COLUMNS), np.float32)
    pixels[..., kernel.FIRST : kernel.FIRST + 3] = first
    pixels[..., kernel.SECOND : kernel.SECOND + 3] = second
    plain = surface >= 0
    noise = np.float32(0.5) * (first - second)
    # The mean has the variance noise^2, a half twice as much.
    variance = 2.0 * box_sum((noise * noise).sum(axis=2)) / np.maximum(1.0, box_sum(plain))
    pixels[..., kernel.VARIANCE] = variance
    pixels[..., kernel.SURFACE] = surface
    pixels[..., kernel.NORMAL : kernel.NORMAL + 3] = seen["normal"].astype(np.float16)  # as they are kept
    distance = np.where(plain, seen["distance"], 0.0)
    pixels[..., kernel.DISTANCE] = distance
    for k, axis in enumerate((1, 0)):
        pixels[..., kernel.RISE + k] = _rise(distance, axis)
    return pixels.reshape(-1, kernel.COLUMNS)


def box_sum(plane: NDArray[np.generic]) -> Plane:
    """Sums over the square of WINDOW pixels about every pixel, as far as it lies in the picture."""
    single = np.ascontiguousarray(plane, np.float32)
    total = np.empty_like(single)
    height, width = single.shape
    kernel.sum_square(single, WINDOW // 2, np.empty((height + 1, width)), total)
    return total


def box_mean(plane: NDArray[np.generic]) -> Plane:
    """Means over the square of WINDOW pixels about every pixel, as far as it lies in the picture."""
    return box_sum(plane) / box_sum(np.ones(plane.shape, np.float32))


def _rise(distance: Plane, axis: int) -> Plane:
    """Change of distance [m] to the next pixel: the smaller of both sides, so that no edge counts."""
    step = np.diff(distance, axis=axis)
    first, last = np.take(step, [0], axis), np.take(step, [-1], axis)
    before, after = np.concatenate([first, step], axis), np.concatenate([step, last], axis)
    return np.where(np.abs(after) < np.abs(before), after, before)


def _filtered(pixels: Plane, width: int, threads: int | None) -> Plane:
    height = len(pixels) // width
    result = np.empty_like(pixels)
    with ThreadPoolExecutor(threads or usable_cores()) as pool:
        for step, reach, limit in PASSES:
            most, turn, depth = (np.float32(it) for it in (limit**2, TURN**-2, DEPTH * step))
            how = (width, step, reach, pixels, most, turn, depth, result)
            starts = range(0, height, ROWS)
            list(pool.map(lambda y, how=how: kernel.filter_rows(y, min(height, y + ROWS), *how), starts))
            pixels, result = result, pixels
    return pixels


def _without_sparks(picture: Plane, error: NDArray[np.floating], lamps: Mask) -> Plane:
    """The picture without single bright pixels of which the halves do not agree; a catchlight is in both."""
    bright = luminance(picture)
    most = np.maximum(_most_about(bright), bright - SPARK * error)
    spark = (bright > most) & (bright > 0.0) & ~lamps
    picture[spark] *= (most[spark] / bright[spark])[:, None]
    return picture
