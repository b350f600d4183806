"""The film: sums over samples for every pixel, probe and light, and how large their error is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from renderer.colour import luminance
from renderer.film.layers import Layers
from renderer.film.mix import Mix
from renderer.film.pool import Pool
from renderer.film.share import shared_out
from renderer.kernels.layout import MESH, Tally
from renderer.kernels.mean import means, mix_halves

HALVES = 2  # independent estimates of every pixel: their difference is the noise
REPLICAS = 16  # independent estimates of every probe
HALF_FLOAT = 65504.0  # the largest number of 16 bits


@dataclass
class Film:
    """Sums of one scene, at full dimmer and neutral colour of every light.

    pixels        Tally of the picture (HALVES estimates)
    probe_sums    (REPLICAS, probes, lights, 2, 3) float64
    probe_counts  (REPLICAS, probes) samples
    mix           the levels and colours that the scene asks for
    passes        how many were completed
    halted        whether an interrupt ended the tracing
    error         of the picture as it is shown [stops]
    wall_light    what the picture's paths ended on, for another picture of the same scene; None for nothing
    """

    width: int
    height: int
    mix: Mix
    pixels: Tally
    probe_sums: np.ndarray
    probe_counts: np.ndarray
    passes: int = 0
    halted: bool = False
    error: float = math.inf
    wall_light: np.ndarray | None = None

    @classmethod
    def empty(cls, width: int, height: int, probes: int, mix: Mix) -> Film:
        n, lights = width * height, len(mix.faders)
        pixels = Pool.tally(HALVES, n, lights, seen=n)
        return cls(
            width,
            height,
            mix,
            pixels,
            np.zeros((REPLICAS, probes, lights, 2, 3)),
            np.zeros((REPLICAS, probes), np.int64),
        )

    def samples(self) -> int:
        """Samples of the pixel that had most, over both halves."""
        return int(self.pixels.samples.sum(axis=0).max(initial=0))

    def samples_taken(self) -> int:
        """Samples of all pixels together, over both halves."""
        return int(self.pixels.samples.sum(dtype=np.int64))

    def sitter(self) -> np.ndarray:
        """(h, w) bool: pixels that show the sitter."""
        return np.asarray(self.seen()["family"] == MESH)

    def seen(self) -> np.ndarray:
        """(h, w) SEEN records."""
        return self.pixels.seen.reshape(self.height, self.width)

    def mixed(self, mix: Mix | None = None, threads: int | None = None) -> tuple[np.ndarray, ...]:
        """(h, w, 3) float32: linear RGB of the picture; half of what two independent halves of it differ by;
        and light arriving at the first surface seen, lux as RGB."""
        n, pixels = self.width * self.height, self.pixels
        found = tuple(np.empty((n, 3), np.float32) for _ in range(3))
        weights = (mix or self.mix).weights().astype(np.float32)
        tally = pixels.radiance, pixels.irradiance, pixels.samples
        shared_out(lambda first, end: mix_halves(first, end, *tally, weights, *found), n, threads)
        return tuple(plane.reshape(self.height, self.width, 3) for plane in found)

    def half_luminances(self) -> np.ndarray:
        """(HALVES, h, w) luminance [cd/m2] of the two independent halves."""
        picture, apart, _ = self.mixed()
        return luminance(np.stack([picture + apart, picture - apart]))

    def probe_errors(self, mix: Mix | None = None) -> np.ndarray:
        """(probes,) standard error [stops] of each probe's total."""
        weights = (mix or self.mix).weights()[:, None, :]
        totals = luminance(self._replicas() * weights).sum(axis=(2, 3))
        mean = totals.mean(axis=0)
        error = totals.std(axis=0, ddof=1) / np.sqrt(REPLICAS)
        relative = np.divide(error, mean, out=np.zeros_like(mean), where=mean > 0.0)
        return np.asarray(np.log2(1.0 + relative))

    def _replicas(self) -> np.ndarray:
        """(REPLICAS, probes, lights, 2, 3) means of every replica."""
        return np.asarray(self.probe_sums / np.maximum(1, self.probe_counts)[:, :, None, None, None])

    def layers(self, seconds: float, seed: int, followed_all: bool) -> Layers:
        """The means, ready to be mixed, shown and metered."""
        shape = (len(self.mix.faders), self.height * self.width, 3)
        radiance, bounced, irradiance = (np.empty(shape, np.float32) for _ in range(3))
        difference = np.empty(shape, np.float16)
        tally = self.pixels.radiance, self.pixels.irradiance, self.pixels.samples

        def work(first: int, end: int) -> None:
            half = np.empty((shape[0], end - first, 3), np.float32)
            means(first, end, *tally, radiance, bounced, irradiance, half)
            difference[:, first:end] = np.clip(half, -HALF_FLOAT, HALF_FLOAT, out=half)

        shared_out(work, shape[1])
        picture = (shape[0], self.height, self.width, 3)
        return Layers(
            self.mix,
            radiance.reshape(picture),
            bounced.reshape(picture),
            irradiance.reshape(picture),
            self.seen(),
            self._replicas(),
            self.error,
            self.passes,
            self.samples(),
            seconds,
            seed,
            followed_all,
            difference.reshape(picture),
        )
