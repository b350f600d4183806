"""Measures as functions of the dimmers: each is made of sums that are linear in them.

Light adds up, so what a meter reads under dimmers d is `forms @ d`; a measure is a function of a few such
sums. A thousand mixes then cost a matrix product.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from renderer.meter.face.catchlight import Catchlight
from renderer.meter.face.mixed import LOST

Function = Callable[[np.ndarray], np.ndarray]
"""From sums (k, ...) to values (...)."""


def log2(x: np.ndarray) -> np.ndarray:
    """-inf where there is no light, without a warning."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.log2(np.maximum(x, 0.0)))


def stops(one: np.ndarray, other: np.ndarray, mean: bool = True) -> np.ndarray:
    """One over the other, of their means or one by one."""
    a, b = (one.mean(), other.mean()) if mean else (one, other)
    with np.errstate(divide="ignore", invalid="ignore"):
        return log2(np.asarray(a / b))


@dataclass(frozen=True)
class Measure:
    """One measure. unit  that of its finding."""

    name: str
    unit: str

    def values(self, dims: np.ndarray) -> np.ndarray:
        """(m,) values under dimmers (m, lights)."""
        raise NotImplementedError

    def left_out(self, dims: np.ndarray) -> np.ndarray | None:
        """(replicas,) values under dimmers (lights,), each replica left out in turn; None without any."""
        return None

    def leaving_out(self, replica: int) -> Measure:
        """The same from all replicas but one."""
        return self

    def error(self, dims: np.ndarray) -> float:
        """One standard error, by the jackknife as in `meter.reading`; nan without replicas."""
        found = self.left_out(dims)
        return math.nan if found is None else jackknife(found)


def jackknife(left_out: np.ndarray) -> float:
    """Standard error from the values with each replica left out in turn (n,).

    source  Efron & Tibshirani, An Introduction to the Bootstrap, 1993, ch. 11
    """
    n = len(left_out)
    if n < 2 or not np.isfinite(left_out).all():
        return math.nan
    return math.sqrt((n - 1) / n * float(((left_out - left_out.mean()) ** 2).sum()))


@dataclass(frozen=True)
class OfSums(Measure):
    """forms  (replicas, k, lights): k sums at full dimmers, of every replica."""

    forms: np.ndarray
    function: Function

    @cached_property
    def mean(self) -> np.ndarray:
        return np.asarray(self.forms.mean(axis=0))

    def values(self, dims: np.ndarray) -> np.ndarray:
        return np.asarray(self.function(self.mean @ dims.T))

    def left_out(self, dims: np.ndarray) -> np.ndarray | None:
        sums = self.forms @ dims  # replicas, k
        n = len(sums)
        return None if n < 2 else np.asarray(self.function(((sums.sum(axis=0) - sums) / (n - 1)).T))

    def leaving_out(self, replica: int) -> Measure:
        return replace(self, forms=np.delete(self.forms, replica, axis=0)) if len(self.forms) > 1 else self


@dataclass(frozen=True)
class BrightestOf(Measure):
    """The brightest of several fields re a cheek, in stops: chosen by one half of the replicas and read
    from the other, both ways round (as `meter.face.mixed` does it).

    fields  (replicas, fields, lights); cheek (replicas, lights); half (replicas,) 0 or 1
    """

    fields: np.ndarray
    cheek: np.ndarray
    half: np.ndarray

    def values(self, dims: np.ndarray) -> np.ndarray:
        return np.array(
            [0.5 * sum(float(stops(field, cheek)) for field, cheek in self._read(d)) for d in dims]
        )

    def _read(self, dims: np.ndarray) -> Iterator[tuple[np.ndarray, np.ndarray]]:
        """(replicas of a half,) levels of the chosen field and of the cheek, for either half that reads."""
        for chooses, reads in ((0, 1), (1, 0)):
            reading = self.half == reads
            hottest = int((self.fields[self.half == chooses].mean(axis=0) @ dims).argmax())
            yield self.fields[reading, hottest] @ dims, self.cheek[reading] @ dims

    def left_out(self, dims: np.ndarray) -> np.ndarray | None:
        """The choice of the field stays: to choose anew would make a jump of a noisy tie."""
        (one, its_cheek), (other, other_cheek) = self._read(dims)
        wholes = stops(one, its_cheek), stops(other, other_cheek)
        found = []
        for field, cheek, rest in ((one, its_cheek, wholes[1]), (other, other_cheek, wholes[0])):
            left = stops(field.sum() - field, cheek.sum() - cheek, mean=False)
            found.append(0.5 * (left + rest))
        return np.concatenate(found)

    def leaving_out(self, replica: int) -> Measure:
        fields, cheek, half = (np.delete(it, replica, axis=0) for it in (self.fields, self.cheek, self.half))
        return replace(self, fields=fields, cheek=cheek, half=half)


@dataclass(frozen=True)
class SecondGlint(Measure):
    """`second_catchlight`: the next brightest light or card in an eye re the main one, stops."""

    eyes: tuple[tuple[Catchlight, ...], ...]
    weights: np.ndarray
    """(lights,) luminance of each light's colour."""

    def values(self, dims: np.ndarray) -> np.ndarray:
        found = np.full(len(dims), -np.inf)
        for glints in self.eyes:
            if glints:
                found = np.maximum(found, self._of_eye(glints, dims))
        return found

    def _of_eye(self, glints: Sequence[Catchlight], dims: np.ndarray) -> np.ndarray:
        strength = (dims * self.weights) @ np.array([it.luminance for it in glints]).T  # m, glints
        shows = strength > strength.max(axis=1, keepdims=True) * 2.0**-LOST
        main = np.where(shows, strength * np.array([it.size_mm**2 for it in glints]), -1.0).argmax(axis=1)
        lights = np.array([it.light for it in glints])
        other = shows & (lights[None] != lights[main][:, None])
        mains = strength[np.arange(len(dims)), main]
        with np.errstate(divide="ignore", invalid="ignore"):
            under = log2(np.where(other, strength, 0.0).max(axis=1) / mains)
        return np.where(other.any(axis=1), under, -np.inf)
