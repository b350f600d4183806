"""A traced scene as means: a layer for each light, and the probes' replicas. What pictures and numbers read.

It can be made from a film that was just traced or from files written earlier; mixing needs no more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from renderer.colour import luminance
from renderer.film.mix import Mix
from renderer.film.share import shared_out
from renderer.kernels.layout import MESH, NOTHING

ROWS = 16  # that are mixed at a time: their light stays near the processor


@dataclass(frozen=True)
class Layers:
    """All at full dimmer and neutral colour of every light; `mix` says how they are to be added.

    radiance     (lights, h, w, 3) float32, linear RGB whose luminance is in cd/m2
    bounced      the part of it that met another surface before the first one seen
    irradiance   (lights, h, w, 3) light arriving at the first surface seen, lux as RGB
    seen         (h, w) SEEN records
    replicas     (replicas, probes, lights, 2, 3) means of independent estimates of each probe,
                 direct and bounced: lux or cd/m2 as RGB
    picture_error, passes, samples, seconds, seed, followed_all: how it was traced
    difference   (lights, h, w, 3) float16: half of what two independent halves of the samples differ by in
                 radiance, its standard error; None where it was not kept
    """

    mix: Mix
    radiance: np.ndarray
    bounced: np.ndarray
    irradiance: np.ndarray
    seen: np.ndarray
    replicas: np.ndarray
    picture_error: float
    passes: int
    samples: int
    seconds: float
    seed: int
    followed_all: bool
    difference: np.ndarray | None = None

    def with_mix(self, mix: Mix) -> Layers:
        """The same light, mixed otherwise."""
        return replace(self, mix=mix)

    def _mixed(self, layers: np.ndarray) -> np.ndarray:
        picture = np.zeros(layers.shape[1:], np.float32)
        weights = self.mix.weights().astype(np.float32)

        def work(first: int, end: int) -> None:
            for top in range(first, end, ROWS):
                rows = slice(top, min(end, top + ROWS))
                for layer, weight in zip(layers, weights, strict=True):
                    if weight.any():
                        picture[rows] += layer[rows] * weight

        shared_out(work, len(picture))
        return picture

    def picture(self) -> np.ndarray:
        """(h, w, 3) float32 linear RGB, luminance in cd/m2."""
        return self._mixed(self.radiance)

    def arriving(self) -> np.ndarray:
        """(h, w, 3) float32 light arriving at the first surface seen, lux as RGB."""
        return self._mixed(self.irradiance)

    def half_difference(self) -> np.ndarray:
        """(h, w, 3) float32 half the difference of two independent pictures, of which `picture` is the mean.

        Raises ValueError where the halves were not kept.
        """
        if self.difference is None:
            raise ValueError("these layers were kept without their halves")
        return self._mixed(self.difference)

    def illuminance(self) -> np.ndarray:
        """(h, w) lux on the first surface seen; nan on lights and where nothing is seen."""
        lux = luminance(self.arriving())
        return np.where(self.emitting() | (self.seen["family"] == NOTHING), np.nan, lux)

    def emitting(self) -> np.ndarray:
        """(h, w) bool: pixels where a light itself is seen, lit or not."""
        return np.asarray(self.seen["emits"] > 0)

    def unlit(self) -> np.ndarray:
        """(h, w) bool: pixels where a light itself is seen that is off in this mix: nothing that is on sends
        more from there than a white surface would."""
        there = self.emitting()
        shining = np.zeros(int(there.sum()), np.bool_)
        for sent, arriving, weight in zip(self.radiance, self.irradiance, self.mix.weights(), strict=True):
            if weight.any():
                shining |= luminance(sent[there]) > luminance(arriving[there]) / math.pi
        there[there] = ~shining
        return there

    def sitter(self) -> np.ndarray:
        """(h, w) bool: pixels that show the sitter."""
        return np.asarray(self.seen["family"] == MESH)

    def values(self, kind: int | None = None) -> np.ndarray:
        """(replicas, probes, lights) photometric values under the mix; `kind` 0 direct, 1 bounced."""
        rgb = self.replicas.sum(axis=3) if kind is None else self.replicas[:, :, :, kind]
        return luminance(rgb * self.mix.weights())
