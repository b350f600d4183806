"""How a measure differs between two scenes, how sure that is, and whether it is more than chance.

Every scene's readings are made of the same number of independent replicas. Replica i of one scene is paired
with replica i of the other, and the standard error of the difference comes from the jackknife over the pairs
(Efron & Tibshirani, An Introduction to the Bootstrap, 1993, ch. 11). So whatever two scenes share, the same
seed or the very same layers, drops out of the difference, and what they do not share stays in. Measures that
are not made of replicas (geometry, and what is read off the picture) take both errors in quadrature.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from renderer.compare.finding import findings_of
from renderer.compare.name import RATIO, in_stops
from renderer.meter.face import Finding
from renderer.meter.reading import Reading
from renderer.preview import Preview

CERTAIN = 2.131
"""Standard errors that a difference must pass to be marked: what equal scenes pass by chance 1 time in 20
(Student's t for 15 degrees of freedom, 16 pairs of replicas; any table of t)."""
RULE = (
    f"the difference is more than {CERTAIN:.2f} of its standard errors (of equal measures 1 in 20 passes that"
    " by chance), or the word is another (near its limit a word can change by chance)"
)
EXACT = 1e-5  # below this a difference is rounding: numbers on disk have six figures
ODD_AND_EVEN = frozenset({"forehead"})
"""Measures that split the replicas into two halves, which leaving one out would mix up."""


@dataclass(frozen=True)
class Difference:
    """The second less the first, in `unit`; of a ratio in stops. A word has the value nan.

    differs  whether it is more than chance (see RULE), or another word
    """

    value: float
    error: float
    unit: str
    differs: bool

    def as_json(self) -> dict[str, Any]:
        reading = Reading(self.value, self.error, self.unit, "")
        return reading.as_json() | {"differs": self.differs}


@dataclass(frozen=True)
class Measured:
    """All measures of a scene by name, and the numbers among them with each replica left out."""

    findings: Mapping[str, Finding]
    left_out: Mapping[str, np.ndarray]

    @classmethod
    def of(cls, preview: Preview) -> Measured:
        """Measures of a preview; traces nothing."""
        findings = findings_of(preview.numbers())
        layers, face = preview.layers, preview.face
        count = len(layers.replicas)
        found: list[Mapping[str, Finding]] = []
        for i in range(count):
            fewer = replace(layers, replicas=np.delete(layers.replicas, i, 0), samples=0)
            part = face
            if face is not None and len(face.light) == count:
                part = replace(face, light=np.delete(face.light, i, 0))
            found.append(replace(preview, layers=fewer, face=part, eyes=None).numbers().named())
        left_out = {
            name: np.array([it[name].number for it in found])
            for name, finding in findings.items()
            if not isinstance(finding.value, str)
            and name not in ODD_AND_EVEN
            and all(name in it for it in found)
        }
        return cls(findings, left_out)


def differences(first: Measured, second: Measured) -> dict[str, Difference]:
    """Of every measure that both have, by name."""
    return {name: _difference(name, first, second) for name in first.findings if name in second.findings}


def _difference(name: str, first: Measured, second: Measured) -> Difference:
    a, b = first.findings[name], second.findings[name]
    if isinstance(a.value, str) or isinstance(b.value, str):
        return Difference(math.nan, 0.0, "word", a.value != b.value)
    one, other = in_stops(a), in_stops(b)
    value = other.number - one.number
    if a.unit == "h":  # the nearest way round the clock
        value = (value + 6.0) % 12.0 - 6.0
    error = math.hypot(one.error, other.error)
    pairs = [it.left_out.get(name) for it in (first, second)]
    if pairs[0] is not None and pairs[1] is not None and len(pairs[0]) == len(pairs[1]):
        error = _paired(a.unit, pairs[0], pairs[1], error)
    if not math.isfinite(value) or math.isnan(error):
        return Difference(value, error, one.unit, False)
    return Difference(value, error, one.unit, abs(value) > max(CERTAIN * error, EXACT))


def _paired(unit: str, first: np.ndarray, second: np.ndarray, otherwise: float) -> float:
    """The jackknife's error of the difference; `otherwise` where leaving a replica out changes neither."""
    if (first == first[0]).all() and (second == second[0]).all():
        return otherwise
    with np.errstate(divide="ignore", invalid="ignore"):
        left = np.log2(second / first) if unit == RATIO else second - first
    if not np.isfinite(left).all():
        return math.nan
    n = len(left)
    return math.sqrt((n - 1) / n * float(((left - left.mean()) ** 2).sum()))
