"""Readings as numbers beside what the scene lets one expect: which can be used, and how sure they are."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from renderer.errors import InputError
from renderer.solve.readings.estimate import EVERY, NOTHING, Data, with_model_error
from renderer.solve.readings.given import Given
from renderer.solve.readings.metering import Metering


def used_of(readings: Sequence[Given], first: Metering) -> tuple[tuple[Given, ...], tuple[str, ...]]:
    """Readings that can be compared, and a line for each that cannot."""
    marks = [mark.name for mark in first.marks]
    faults = [
        f"line {it.line}: the scene has no reading at {it.mark}: {'; '.join(first.missing) or 'no such mark'}"
        for it in readings
        if it.mark not in marks
    ]
    if faults:
        raise InputError(*faults)
    used, unused = [], []
    for it in readings:
        light = None if it.light is None else first.lights.index(it.light)
        levels = first.levels[marks.index(it.mark)]
        if (levels.sum() if light is None else levels[light]) > 0.0:
            used.append(it)
        else:
            unused.append(f"{it.on} at {it.mark}, {it.text} (line {it.line}): the scene has no light there")
    if not used:
        raise InputError("no reading can be used", *unused)
    return tuple(used), tuple(unused)


def data_of(used: Sequence[Given], first: Metering, meter_error: float) -> Data:
    """Base 2 logarithms, with the errors of meter, last digit and tracing."""
    marks = [mark.name for mark in first.marks]
    mark = np.array([marks.index(it.mark) for it in used])
    light = np.array([EVERY if it.light is None else first.lights.index(it.light) for it in used])
    read = np.array([math.log2(it.level) for it in used])
    sigma = np.array([math.hypot(meter_error, it.rounding) for it in used])
    error = [first.error(m, None if n == EVERY else int(n)) for m, n in zip(mark, light, strict=True)]
    return with_model_error(Data(mark, light, read, sigma), np.array(error))


def log_levels(metering: Metering, data: Data) -> np.ndarray:
    """(n,) what the readings would be in that scene, base 2 logarithm."""
    total = metering.levels.sum(axis=1)
    alone = metering.levels[data.mark, np.maximum(data.light, 0)]
    return logs(np.where(data.light == EVERY, total[data.mark], alone))


def logs(levels: np.ndarray) -> np.ndarray:
    """Base 2 logarithm, of nothing NOTHING."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.maximum(np.log2(levels), NOTHING))
