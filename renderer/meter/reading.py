"""A number with its unit, its meaning and its standard error, from independent replicas."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np


@dataclass(frozen=True)
class Reading:
    """value +- error (one standard error) in `unit`; `meaning` says of what."""

    value: float
    error: float
    unit: str
    meaning: str

    def as_json(self) -> dict[str, Any]:
        """Plain data; a number that does not exist (no light, say) becomes null."""
        return {
            "value": _finite(self.value),
            "error": _finite(self.error),
            "unit": self.unit,
            "meaning": self.meaning,
        }


def _finite(value: float) -> float | None:
    return float(f"{value:.6g}") if math.isfinite(value) else None


def mean_reading(replicas: np.ndarray, unit: str, meaning: str) -> Reading:
    """The mean of independent replicas (n,), with its standard error."""
    error = float(replicas.std(ddof=1) / math.sqrt(len(replicas)))
    return Reading(float(replicas.mean()), error, unit, meaning)


def derived_reading(
    function: Callable[..., float], unit: str, meaning: str, *replicas: np.ndarray
) -> Reading:
    """A function of means, each given as replicas (n,) that belong together, with its standard error.

    source  the delete-one jackknife: Efron & Tibshirani, An Introduction to the Bootstrap, 1993, ch. 11
    """
    n = len(replicas[0])
    with np.errstate(divide="ignore", invalid="ignore"):
        value = function(*(float(r.mean()) for r in replicas))
        fewer = [((r.sum() - r) / (n - 1)).tolist() for r in replicas]
        left_out = np.array([function(*values) for values in zip(*fewer, strict=True)])
    if not np.isfinite(left_out).all():
        return Reading(value, math.nan, unit, meaning)
    error = math.sqrt((n - 1) / n * float(((left_out - left_out.mean()) ** 2).sum()))
    return Reading(value, error, unit, meaning)
