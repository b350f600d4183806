"""Measures of the picture as functions of the dimmers: background, edge light, separation.

Only the pixels that they read are kept, as layers, so a mix of them costs less than a millisecond.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from renderer.colour import luminance
from renderer.film.layers import Layers
from renderer.meter.face.background import (
    APART,
    EDGE_SHARE,
    LEAST_PIXELS,
    STRIP,
    Frame,
    near_mean,
    outline_of,
)
from renderer.solve.measure import Measure, OfSums, log2


@dataclass(frozen=True)
class Rim(Measure):
    """strip  (lights, pixels) luminance of the strip inside the outline; edges: numbers of the edge lights;
    cheek (lights,) luminance of the key-side cheek."""

    strip: np.ndarray
    edges: tuple[int, ...]
    cheek: np.ndarray

    def values(self, dims: np.ndarray) -> np.ndarray:
        found = np.full(len(dims), np.nan)
        cheek = dims @ self.cheek
        for i, dim in enumerate(dims):
            light = dim @ self.strip
            edge = dim[list(self.edges)] @ self.strip[list(self.edges)]
            rim = edge > EDGE_SHARE * light
            if rim.any() and cheek[i] > 0.0:
                found[i] = np.log2(light[rim].mean() / cheek[i])
        return found


@dataclass(frozen=True)
class Separation(Measure):
    """inside, outside  (lights, pixels) mean luminance either side of each pixel of the outline."""

    inside: np.ndarray
    outside: np.ndarray

    def values(self, dims: np.ndarray) -> np.ndarray:
        with np.errstate(divide="ignore", invalid="ignore"):
            step = np.abs(np.log2((dims @ self.inside) / (dims @ self.outside)))
            step = np.where(np.isnan(step), np.nan, step >= APART)
            return np.asarray(100.0 * np.nanmean(step, axis=1)) if step.size else np.full(len(dims), np.nan)


def picture_measures(
    layers: Layers, weights: np.ndarray, frame: Frame, cheek: np.ndarray, edges: list[int]
) -> Iterator[Measure]:
    """What `meter.face.background.outline_findings` finds, of a mix; nothing where it finds nothing.

    weights  (lights, 3) colour of each light at full dimmer
    cheek    (replicas, lights) spot reading of the key-side cheek at full dimmers
    """
    sitter = layers.sitter()
    pixel = frame.metre_per_pixel * frame.width / sitter.shape[1]
    reach = round(STRIP / pixel)
    behind = ~sitter & ~layers.emitting()
    if reach < LEAST_PIXELS or not sitter.any() or not behind.any():
        return
    light = np.stack([luminance(a.astype(float) * w) for a, w in zip(layers.radiance, weights, strict=True)])
    mean = light[:, behind].mean(axis=1)
    forms = np.stack([np.broadcast_to(mean, cheek.shape), cheek], axis=1)
    yield OfSums("background", "stops", forms, _stops)
    outline = outline_of(sitter)
    inside = np.stack([near_mean(it, sitter, reach)[outline] for it in light])
    outside = np.stack([near_mean(it, behind, reach)[outline] for it in light])
    yield Separation("separation", "%", inside, outside)
    if edges:
        rows = np.arange(sitter.shape[0])[:, None]
        strip = sitter & (near_mean(1.0 - sitter, np.ones_like(sitter), reach) > 0.0)
        strip &= rows < frame.chin * sitter.shape[0]
        yield Rim("rim", "stops", light[:, strip], tuple(edges), cheek.mean(axis=0))


def _stops(sums: np.ndarray) -> np.ndarray:
    with np.errstate(divide="ignore", invalid="ignore"):
        return log2(sums[0] / sums[1])
