"""The film: sums over samples for every pixel, probe and light, and what they say of themselves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from renderer.colour import luminance
from renderer.film.mix import Mix
from renderer.film.pool import Pool
from renderer.kernels.layout import Tally
from renderer.kernels.scene import MESH

DIRECT, BOUNCED = 0, 1
HALVES = 2  # independent estimates of every pixel: their difference is the noise
REPLICAS = 16  # independent estimates of every probe
# A pixel's error counts against its own light plus this share of the sitter's mean, so that a pupil or
# a nostril without light does not decide when a picture is done.
FLOOR_SHARE = 0.01


@dataclass
class Film:
    """Sums of one scene, at full dimmer and neutral colour of every light.

    pixels        Tally of the picture (HALVES estimates)
    probe_sums    (REPLICAS, probes, lights, 2, 3) float64
    probe_counts  (REPLICAS, probes) samples
    mix           the levels and colours that the scene asks for
    passes        how many were completed
    """

    width: int
    height: int
    mix: Mix
    pixels: Tally
    probe_sums: np.ndarray
    probe_counts: np.ndarray
    passes: int = 0

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
        return int(self.pixels.count.sum(axis=0).max(initial=0))

    def layer(self, light: int, kind: int | None = None) -> np.ndarray:
        """Radiance (h, w, 3) of one light at full dimmer; `kind` picks DIRECT or BOUNCED alone."""
        sums = self.pixels.radiance[:, :, light]
        picked = sums.sum(axis=(0, 2)) if kind is None else sums[:, :, kind].sum(axis=0)
        return self._mean(picked)

    def layer_irradiance(self, light: int) -> np.ndarray:
        """Illuminance as RGB (h, w, 3) that one light at full dimmer sends to the first surface seen."""
        return self._mean(self.pixels.irradiance[:, light])

    def _mean(self, sums: np.ndarray) -> np.ndarray:
        count = np.maximum(1, self.pixels.count.sum(axis=0))
        return (sums / count[:, None]).reshape(self.height, self.width, 3)

    def radiance(self, mix: Mix | None = None) -> np.ndarray:
        """The picture (h, w, 3): linear RGB whose luminance is in cd/m2."""
        weights = (mix or self.mix).weights()
        return sum(
            (self.layer(i) * weights[i] for i in range(len(weights)) if weights[i].any()),
            start=np.zeros((self.height, self.width, 3)),
        )

    def illuminance(self, mix: Mix | None = None) -> np.ndarray:
        """Light arriving (h, w) [lux] at the first surface seen in each pixel."""
        weights = (mix or self.mix).weights()
        rgb = sum(
            (self.layer_irradiance(i) * weights[i] for i in range(len(weights)) if weights[i].any()),
            start=np.zeros((self.height, self.width, 3)),
        )
        return luminance(rgb)

    def seen(self) -> np.ndarray:
        """(h, w) SEEN records: what is in the middle of each pixel."""
        return self.pixels.seen.reshape(self.height, self.width)

    def sitter(self) -> np.ndarray:
        """(h, w) bool: pixels that show the sitter."""
        return self.seen()["family"] == MESH

    def half_luminances(self, mix: Mix | None = None) -> np.ndarray:
        """(HALVES, pixels) luminance [cd/m2] of the two independent halves."""
        weights = (mix or self.mix).weights()
        halves = np.empty((HALVES, self.width * self.height))
        for half in range(HALVES):
            rgb = np.einsum("plkc,lc->pc", self.pixels.radiance[half], weights)
            halves[half] = luminance(rgb) / np.maximum(1, self.pixels.count[half])
        return halves

    def picture_error(self, mix: Mix | None = None) -> float:
        """Root mean square standard error [stops] of the sitter's pixels (of all, with no sitter).

        The mean of two independent halves A, B has the standard error |A - B| / 2.
        """
        first, second = self.half_luminances(mix)
        mean = 0.5 * (first + second)
        mask = self.sitter().ravel()
        if not mask.any():
            mask = np.ones(mean.size, bool)
        floor = FLOOR_SHARE * mean[mask].mean()
        if not floor > 0.0:
            return 0.0 if self.passes else float("inf")
        relative = 0.5 * (first - second)[mask] / (mean[mask] + floor)
        return float(np.log2(1.0 + np.sqrt(np.mean(relative**2))))

    def probe_replicas(self, mix: Mix | None = None, kind: int | None = None) -> np.ndarray:
        """(REPLICAS, probes, lights) photometric value of every probe under the mix: lux or cd/m2."""
        sums = self.probe_sums.sum(axis=3) if kind is None else self.probe_sums[:, :, :, kind]
        means = sums / np.maximum(1, self.probe_counts)[:, :, None, None]
        return luminance(means * (mix or self.mix).weights())

    def probe_errors(self, mix: Mix | None = None) -> np.ndarray:
        """(probes,) standard error [stops] of each probe's total."""
        totals = self.probe_replicas(mix).sum(axis=2)
        mean = totals.mean(axis=0)
        error = totals.std(axis=0, ddof=1) / np.sqrt(REPLICAS)
        relative = np.divide(error, mean, out=np.zeros_like(mean), where=mean > 0.0)
        return np.log2(1.0 + relative)
