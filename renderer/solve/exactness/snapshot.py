"""All numbers of one traced scene, with their replicas, so that two of them can be subtracted."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from renderer.preview import Preview
from renderer.scene.models import Scene
from renderer.solve.measure import jackknife
from renderer.solve.model import Model
from renderer.solve.size import needs_picture, sized
from renderer.solve.whole import whole_trace

RATIO = "x:1"
HOUR = "h"  # of a clock: left out, it jumps at twelve


@dataclass(frozen=True)
class Value:
    """A number, ratios as stops. left_out: with each replica left out in turn, None where there are none."""

    value: float
    error: float
    unit: str
    left_out: np.ndarray | None = None


@dataclass(frozen=True)
class Snapshot:
    """values by name of the measure; words: those that are no numbers, as the pattern"""

    preview: Preview
    values: dict[str, Value]
    words: dict[str, str]

    @classmethod
    def of(cls, preview: Preview) -> Snapshot:
        model = Model.of(preview)
        values: dict[str, Value] = {}
        words: dict[str, str] = {}
        for name, finding in preview.numbers().named().items():
            if isinstance(finding.value, str):
                words[name] = finding.value
                continue
            if finding.unit == HOUR or name == "lighting_ratio_stops":
                continue
            left = model.measures[name].left_out(model.dims) if name in model.measures else None
            value, error, unit = finding.value, finding.error, finding.unit
            if unit == RATIO:
                error = error / (value * math.log(2.0)) if value > 0.0 else math.nan
                value, unit = math.log2(value) if value > 0.0 else -math.inf, "stops"
                left = None if left is None else np.log2(left)
            values[name] = Value(value, error, unit, left)
        return cls(preview, values, words)

    @classmethod
    def traced(cls, scene: Scene, within: float, seed: int, threads: int | None) -> Snapshot:
        """The scene traced: face and marks, and a picture where its targets need one."""
        picture = needs_picture(scene)
        preview = whole_trace(
            sized(scene, picture),
            within=within * (10.0 if picture else 1.0),
            seed=seed,
            threads=threads,
            picture=picture,
            magnify=False,
        )
        return cls.of(preview)


def difference(one: Value, other: Value) -> tuple[float, float, bool]:
    """other - one, its standard error, and whether that is of replicas that belong together.

    Both are traced with the same random numbers: where each has its replicas, the error is the jackknife of
    their differences. Elsewhere it is the root of the sum of squares, which rather is too large.
    """
    gap = other.value - one.value
    if one.left_out is not None and other.left_out is not None and len(one.left_out) == len(other.left_out):
        with np.errstate(invalid="ignore"):
            error = jackknife(other.left_out - one.left_out)
        if math.isfinite(error):
            return gap, error, True
    return gap, math.hypot(one.error, other.error), False
