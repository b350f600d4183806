"""The filter of `renderer.film.denoise` told once more, over whole planes and in double precision.

Nothing of the kernels is used but their numbers, so that a slip in these cannot hide in both.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from scipy.ndimage import convolve, maximum_filter, minimum_filter

from renderer.colour import luminance
from renderer.film.denoise import DEPTH, PASSES, TURN
from renderer.kernels.layout import MESH, NOTHING
from renderer.world.material import HAIR

Plane = np.ndarray
ABOUT = np.array([[1, 1, 1], [1, 0, 1], [1, 1, 1]], bool)


def plain_grain(picture: Plane, error: Plane, light: Plane, seen: Plane) -> tuple[Plane, Plane, Plane]:
    """The cleaned picture, half of what its halves differ by, and the picture without sparks."""
    picture, error, light = (it.astype(float) for it in (picture, error, light))
    surface = seen["family"].astype(int) * 1000 + seen["number"]
    plain = (seen["emits"] == 0) & (seen["family"] != NOTHING) & (surface != MESH * 1000 + HAIR)
    plain &= maximum_filter(surface, 3, mode="nearest") == minimum_filter(surface, 3, mode="nearest")
    sent = _evened(picture, error, light, seen, plain, surface)
    told = _gain(picture, light, plain) * plain[..., None]
    gain = np.where(_lit(picture, light)[..., None], _gain(sent, light, plain) * plain[..., None], told)
    noise = np.divide(error, told, out=np.zeros_like(error), where=told > 1e-6)
    halves = _without_specks(np.stack([light + noise, light - noise]), plain)
    halves = _filtered(halves, plain, np.where(plain, surface, -1), seen)
    kept = (_lit(picture, light) | ~plain)[..., None]
    shown = kept * sent + gain * (halves.mean(axis=0) - kept * light)
    bright = luminance(shown)
    most = np.maximum(_most(bright, 0.0), bright - 2.0 * np.abs(luminance(error)))
    spark = (bright > most) & (bright > 0.0) & (seen["emits"] == 0)
    share = np.divide(most, bright, out=np.ones_like(most), where=spark)
    calm, albedo = shown * share[..., None], _albedo(seen)
    least = np.maximum(minimum_filter(bright, footprint=ABOUT, mode="constant", cval=0.0), 0.0)
    hole = bright < 0.0
    calm[hole] = albedo[hole] * (least[hole] / luminance(albedo[hole]))[:, None]
    return shown, gain * 0.5 * (halves[0] - halves[1]), calm


def _box(plane: Plane) -> Plane:
    return np.asarray(convolve(plane.astype(float), np.ones((7, 7)), mode="constant"))


def _most(plane: Plane, beyond: float) -> Plane:
    return np.asarray(maximum_filter(plane, footprint=ABOUT, mode="constant", cval=beyond))


def _albedo(seen: Plane) -> Plane:
    return np.maximum(seen["albedo"].astype(np.float16).astype(float), 1e-3)  # as it is kept


def _evened(picture: Plane, error: Plane, light: Plane, seen: Plane, plain: Plane, surface: Plane) -> Plane:
    """What every pixel sends: for its light as those about it do, but for what is no noise."""
    lit = plain & _lit(picture, light)
    albedo = _albedo(seen)
    white, light, error = (it * lit[..., None] for it in (picture / albedo, light, error / albedo))
    bright = np.where(lit, luminance(light), 1.0)
    ratio, doubt = luminance(white) / bright, 2.0 * np.abs(luminance(error)) / bright
    about = _most(ratio, 0.0)
    most = np.maximum(about, ratio - doubt)
    share = np.divide(most, ratio, out=np.ones_like(most), where=(ratio > most) & (about > 0.0))[..., None]
    white, error = share * white, share * error
    total = _about(light, surface)
    ratios = np.divide(_about(white, surface), total, out=np.zeros_like(white), where=lit[..., None])
    # the spread about one's own ratio, of all of them: its square, by the sums of its parts
    spread = (
        _about(white**2, surface)
        - 2.0 * ratios * _about(white * light, surface)
        + ratios**2 * _about(light**2, surface)
    )
    noise = _about(error**2, surface).sum(axis=2)
    kept = np.maximum(0.0, 1.0 - noise / np.maximum(spread.sum(axis=2), 1e-30))[..., None]
    mean = ratios * light
    return np.where(lit[..., None], albedo * (mean + kept * (white - mean)), picture)


def _about(planes: Plane, surface: Plane) -> Plane:
    """Sums over the square of 25 pixels about every pixel, by 1, 4, 6, 4, 1 along each side, of what shows
    its surface."""
    total, line = np.zeros_like(planes), (1.0, 4.0, 6.0, 4.0, 1.0)
    for down in range(-2, 3):
        for across in range(-2, 3):
            same = (_moved(surface, down, across) == surface)[..., None]
            total += line[down + 2] * line[across + 2] * np.where(same, _moved(planes, down, across), 0.0)
    return total


def _lit(picture: Plane, light: Plane) -> Plane:
    return np.asarray((light > 0.0).all(axis=2) & (picture >= 0.0).all(axis=2))


def _gain(picture: Plane, light: Plane, plain: Plane) -> Plane:
    least = np.maximum(1e-4 * light.max(axis=2, keepdims=True), 1e-30)
    gain = np.divide(picture, light, out=np.zeros_like(picture), where=light > least)
    gain = np.clip(gain, 0.0, 1.0 / math.pi)
    dark = plain & ~_lit(picture, light)
    known = plain & ~dark
    for k in range(3):
        gain[dark, k] = (_box(gain[..., k] * known) / np.maximum(_box(known), 1.0))[dark]
    return gain


def _without_specks(halves: Plane, plain: Plane) -> Plane:
    halves = halves * plain[..., None]
    bright = luminance(halves)
    least = -_most(np.where(plain, -bright.min(axis=0), -np.inf), -np.inf)
    most = np.broadcast_to(_most(np.maximum(bright.max(axis=0), 0.0), 0.0), bright.shape)
    share = np.divide(most, bright, out=np.ones_like(bright), where=plain & (bright > most) & (most > 0.0))
    halves = halves * share[..., None]
    for half, own in zip(halves, bright, strict=True):
        speck = plain & (own < least) & np.isfinite(least)
        hue = np.stack([_box(half[..., k]) for k in range(3)], axis=-1)
        hue[luminance(hue) <= 1e-30] = 1.0
        half[speck] += (least - own)[speck, None] * hue[speck] / luminance(hue)[speck, None]
    return halves


def _rise(distance: Plane, axis: int) -> Plane:
    step = np.diff(distance, axis=axis)
    before = np.concatenate([np.take(step, [0], axis), step], axis)
    after = np.concatenate([step, np.take(step, [-1], axis)], axis)
    return np.where(np.abs(after) < np.abs(before), after, before)


def _shifts(step: int, reach: int) -> Iterator[tuple[int, int, float]]:
    line = {1: (0.5, 1.0, 0.5), 2: (1 / 6, 2 / 3, 1.0, 2 / 3, 1 / 6)}[reach]
    for j in range(-reach, reach + 1):
        for i in range(-reach, reach + 1):
            if (i, j) != (0, 0):
                yield j * step, i * step, line[i + reach] * line[j + reach]


def _moved(plane: Plane, down: int, across: int) -> Plane:
    """What stands `down` and `across` from every pixel; not a number beyond the picture."""
    room = 8
    wide = ((room, room), (room, room)) + ((0, 0),) * (plane.ndim - 2)
    padded = np.pad(plane.astype(float), wide, constant_values=np.nan)
    height, width = plane.shape[:2]
    return padded[room + down : room + down + height, room + across : room + across + width]


def _filtered(halves: Plane, plain: Plane, surface: Plane, seen: Plane) -> Plane:
    distance = np.where(plain, seen["distance"], 0.0)
    rise_across, rise_down = _rise(distance, 1), _rise(distance, 0)
    normal = seen["normal"].astype(np.float16).astype(float)  # as they are kept
    squared = (0.25 * (halves[0] - halves[1]) ** 2).sum(axis=2)
    variance = 2.0 * _box(squared) / np.maximum(1.0, _box(plain))
    for step, reach, limit in PASSES:
        sums, totals = halves.copy(), np.ones((2, *plain.shape))
        noise, total = variance.copy(), np.ones(plain.shape)
        for down, across, weight in _shifts(step, reach):
            near = np.stack([_moved(half, down, across) for half in halves])
            near_variance = _moved(variance, down, across)
            rise = 0.5 * across * (rise_across + _moved(rise_across, down, across))
            rise = rise + 0.5 * down * (rise_down + _moved(rise_down, down, across))
            off = np.abs(_moved(distance, down, across) - distance - rise)
            same = plain & (_moved(surface, down, across) == surface)
            same &= off <= DEPTH * step + 0.5 * np.abs(rise)
            turn = ((_moved(normal, down, across) - normal) ** 2).sum(axis=2) / TURN**2
            k = weight * np.maximum(0.0, 1.0 - turn) ** 2
            apart = ((near - halves) ** 2).sum(axis=3) / (limit**2 * (variance + near_variance) + 1e-30)
            weights = np.where(same, k * np.maximum(0.0, 1.0 - apart[::-1]) ** 2, 0.0)
            sums += np.where(same[..., None], weights[..., None] * near, 0.0)
            totals += weights
            k = weights.mean(axis=0)
            total += k
            noise += np.where(same, k**2 * near_variance, 0.0)
        halves, variance = sums / totals[..., None], noise / total**2
    return halves
