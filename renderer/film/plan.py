"""How many samples each pixel is to have, from the error that its shown value has now.

Skin, cloth and walls lose most of their grain afterwards, outlines and hair keep theirs: samples go where
error is left. What is shown is estimated twice as well, from halves that were cleaned apart, and their
difference tells its error.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from renderer.colour import Y_WEIGHTS
from renderer.film.denoise import Grain, box_mean
from renderer.film.film import Film
from renderer.kernels.layout import MESH
from renderer.world.material import CLOTH, CORNEA, HAIR

# A pixel's error counts against its own light plus this share of the sitter's mean, so that a pupil or a
# nostril without light does not decide when a picture is done.
FLOOR_SHARE = 0.01
# True error of a cleaned pixel, for one that its halves tell: they share their neighbours, and what the
# filter smears is in both. 2.0 to 3.7 on skin against converged pictures of five rigs; by 2.4 what is told of
# the whole sitter, outlines and hair with it, is 0.94 to 1.15 of the truth.
TOLD = 2.4
HAIR_WEIGHT = 0.5  # of an error in hair, whose texture hides what grain a cleaned picture has; own choice
BACKGROUND = 1.5  # error that the background may have, for one of the sitter
# How the error falls with samples: by 0.5 for random points, more for stratified ones; by 0.57 to 0.68 from
# the first pass to the second on six rigs.
FALL = 0.6
MARGIN = 0.95  # of the error asked for, that is aimed at
STEPS_TO_DOUBLE = 2  # numbers of samples go by this many steps from one power of two to the next
MOST_GROWTH = 8.0  # a pass may multiply the samples of a pixel by this much and no more, but for the least
MOST_SAMPLES = 1 << 16  # of each half
LOOKED_AT, HALVINGS = 20000, 24  # pixels and steps by which a number of samples is found
# Of each half, once more than the first pass is asked for: of a pixel that shows the sitter, but for cloth,
# since with 1 it has specks that the error hardly counts, and of one that shows two surfaces: no edge is a
# staircase.
LEAST, LEAST_ON_OUTLINE = 2, 4
# And of all pixels together that show a cornea: a small lamp in it fills a hundredth of a pixel, and is what
# eyes are looked at for. Of one alone, no more than leaves some to be had.
IN_EYES, MOST_IN_EYE = 80000, MOST_SAMPLES // 2

Plane = NDArray[np.floating]


@dataclass(frozen=True)
class Errors:
    """relative  (h, w) standard error of a pixel as it is shown, over its light
    sitter     (h, w) bool: the pixels that decide when a picture is done; all of them with nobody there
    least      (h, w) int32 samples of each half that each pixel is to have, where one pass is not enough
    """

    relative: Plane
    sitter: NDArray[np.bool_]
    least: NDArray[np.int32]

    def stops(self) -> float:
        """Root mean square over the sitter [stops]."""
        return float(np.log2(1.0 + math.sqrt(np.mean(self.relative[self.sitter] ** 2, dtype=np.float64))))


def errors_of(film: Film, grain: bool = False, threads: int | None = None) -> Errors:
    """Errors of the film in its own mix; with `grain`, of pixels that are shown as they come."""
    picture, half, arriving = film.mixed(threads=threads)
    seen = film.seen()
    sitter = film.sitter()
    if not sitter.any():
        sitter = np.ones_like(sitter)
    cleaned = Grain(picture, half, arriving, seen, threads)
    apart, light = np.abs(_luminance(half)), _luminance(picture)
    level = box_mean(light)
    if not grain:
        told = TOLD * np.abs(_luminance(cleaned.difference))
        apart = np.where(cleaned.plain, told, apart)
        level = np.where(cleaned.plain, _luminance(cleaned.shown), level)
    floor = FLOOR_SHARE * light[sitter].mean(dtype=np.float64)
    least = _least(seen, sitter, cleaned.outline)
    if not floor > 0.0:
        return Errors(np.full(sitter.shape, 0.0 if film.passes else math.inf), sitter, least)
    square = box_mean((apart / (np.maximum(level, 0.0) + np.float32(floor))) ** 2)
    relative = np.sqrt(square)
    if not grain:
        relative[(seen["number"] == HAIR) & (seen["family"] == MESH)] *= HAIR_WEIGHT
    relative[seen["emits"] > 0] = 0.0
    return Errors(relative, sitter, least)


def _least(
    seen: NDArray[np.void], sitter: NDArray[np.bool_], outline: NDArray[np.bool_]
) -> NDArray[np.int32]:
    cloth, cornea = ((seen["family"] == MESH) & (seen["number"] == number) for number in (CLOTH, CORNEA))
    least = np.where(sitter & ~cloth, LEAST, 1)
    least = np.where(outline, LEAST_ON_OUTLINE, least)
    least[cornea] = np.maximum(least[cornea], min(MOST_IN_EYE, IN_EYES // max(1, int(cornea.sum()))))
    return least.astype(np.int32)


def _luminance(picture: Plane) -> Plane:
    """As `renderer.colour` has it, but single: an error needs no more."""
    return np.asarray(picture @ Y_WEIGHTS.astype(np.float32))


def wanted_samples(errors: Errors, done: NDArray[np.integer], within: float) -> NDArray[np.int32]:
    """(h, w) samples of each half that bring the sitter's error down to `within` [stops] at the least cost.

    The cost is the sum of all n, the error the mean of s^2 n^(-2 FALL): by Lagrange, n goes with
    s^(2 / (1 + 2 FALL)) where that is more than a pixel has or gets in any case.
    """
    aim = MARGIN * (2.0**within - 1.0)
    s = errors.relative * done**FALL
    shape = s ** (2.0 / (1.0 + 2.0 * FALL))
    least = np.maximum(done, errors.least)
    most = np.maximum(np.minimum(MOST_GROWTH * done, MOST_SAMPLES), least)
    wanted = np.array(least, np.float64)
    for group, target in ((errors.sitter, aim), (~errors.sitter, BACKGROUND * aim)):
        if group.any():
            few = np.flatnonzero(group)[:: max(1, int(group.sum()) // LOOKED_AT)]
            factor = _factor(shape.flat[few], s.flat[few] ** 2, least.flat[few], most.flat[few], target)
            wanted[group] = _in_steps(factor * shape[group], least[group], most[group])
    return np.asarray(wanted, np.int32)


def _in_steps(wanted: Plane, least: Plane, most: Plane) -> Plane:
    """Numbers of samples, of which few differ: pixels of one number are traced together."""
    steps = np.rint(STEPS_TO_DOUBLE * np.log2(np.maximum(wanted, 1.0)))
    return np.asarray(np.clip(np.ceil(2.0 ** (steps / STEPS_TO_DOUBLE) - 1e-9), least, most))


def _factor(shape: Plane, square: Plane, least: Plane, most: Plane, target: float) -> float:
    """The factor on `shape` with which the error of numbers in steps comes down to `target`, by halving."""
    low = 1.0 / max(1e-30, float(shape.max()))  # with which no pixel gets more than 1
    high = MOST_SAMPLES * low
    for _ in range(HALVINGS):
        middle = math.sqrt(low * high)
        found = np.mean(square * _in_steps(middle * shape, least, most) ** (-2.0 * FALL))
        low, high = (middle, high) if found > target**2 else (low, middle)
    return high
