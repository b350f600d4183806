"""A tally's sums as means: of one mix, or light by light."""

import numpy as np

from renderer.kernels.compiler import entry
from renderer.kernels.tally import BOUNCED, DIRECT

ZERO, HALF, ONE = np.float32(0.0), np.float32(0.5), np.float32(1.0)


@entry
def mix_halves(first, last, radiance, irradiance, samples, weights, picture, error, light):
    """Of the pixels first .. last - 1 of a tally, under (lights, 3) weights: the mean of both halves into
    `picture`, half of what they differ by into `error`, the light arriving into `light`; (n, 3) float32."""
    for p in range(first, last):
        count = max(1, samples[0, p] + samples[1, p])
        for channel in range(3):
            arriving = a = b = ZERO
            for i in range(weights.shape[0]):
                weight = weights[i, channel]
                a += weight * (radiance[0, p, i, DIRECT, channel] + radiance[0, p, i, BOUNCED, channel])
                b += weight * (radiance[1, p, i, DIRECT, channel] + radiance[1, p, i, BOUNCED, channel])
                arriving += weight * (irradiance[0, p, i, channel] + irradiance[1, p, i, channel])
            a, b = a / np.float32(max(1, samples[0, p])), b / np.float32(max(1, samples[1, p]))
            picture[p, channel], error[p, channel] = HALF * (a + b), HALF * (a - b)
            light[p, channel] = arriving / np.float32(count)


@entry
def means(first, last, radiance, irradiance, samples, mean, bounced, light, error):
    """Of the pixels first .. last - 1 of a tally, for each light: means over both halves of the radiance, of
    its part that has bounced and of the light arriving, (lights, n, 3) float32; and half of what the halves
    differ by, (lights, last - first, 3)."""
    for p in range(first, last):
        share_a = ONE / np.float32(max(1, samples[0, p]))
        share_b = ONE / np.float32(max(1, samples[1, p]))
        share = ONE / np.float32(max(1, samples[0, p] + samples[1, p]))
        for i in range(mean.shape[0]):
            for channel in range(3):
                bounced_a, bounced_b = (
                    radiance[0, p, i, BOUNCED, channel],
                    radiance[1, p, i, BOUNCED, channel],
                )
                a = radiance[0, p, i, DIRECT, channel] + bounced_a
                b = radiance[1, p, i, DIRECT, channel] + bounced_b
                mean[i, p, channel] = (a + b) * share
                bounced[i, p, channel] = (bounced_a + bounced_b) * share
                light[i, p, channel] = (irradiance[0, p, i, channel] + irradiance[1, p, i, channel]) * share
                error[i, p - first, channel] = HALF * (a * share_a - b * share_b)
