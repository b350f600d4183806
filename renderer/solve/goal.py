"""The targets of a scene as goals of a solver: which measure, which band, how far off."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from renderer.meter.face import Finding
from renderer.meter.face.verdict import Verdict, Wanted, verdicts, wanted_of
from renderer.meter.level import wanted_level
from renderer.preview import Preview
from renderer.solve.model import Model

FAR = 20.0  # margins at most that a miss counts, also where there is no light at all (own choice)
LEAST_MARGIN = 1.0 / 6.0  # of a margin of 0: a count, in its own unit (own choice)
MIDDLE = 0.25  # part of a band, from each of its ends, that is kept clear where that costs nothing
ALMOST = 0.5  # margins inside a one-sided target that are aimed at


@dataclass(frozen=True)
class Goal:
    """A measure and the band that it is wanted in.

    aim  the part of the band that is aimed at, so that what is met does not lie on its very edge
    """

    name: str
    wanted: Wanted
    aim: tuple[float, float]

    @classmethod
    def of(cls, name: str, wanted: Wanted) -> Goal:
        low, high, margin = wanted.low, wanted.high, max(wanted.margin, LEAST_MARGIN)
        if math.isinf(low):
            return cls(name, wanted, (-math.inf, high - ALMOST * margin))
        if math.isinf(high):
            return cls(name, wanted, (low + ALMOST * margin, math.inf))
        inner = MIDDLE * (high - low)
        return cls(name, wanted, (0.5 * (low + high),) * 2 if wanted.one else (low + inner, high - inner))

    @property
    def margin(self) -> float:
        return max(self.wanted.margin, LEAST_MARGIN)

    def scaled(self, values: np.ndarray) -> np.ndarray:
        """Values of the measure in the unit of the band."""
        if not self.wanted.log:
            return values
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray(np.log2(np.maximum(values, 0.0)))

    def misses(self, values: np.ndarray, band: tuple[float, float] | None = None) -> np.ndarray:
        """By how many margins each value lies over (+) or under (-) the band; at most FAR."""
        low, high = band or (self.wanted.low, self.wanted.high)
        value = self.scaled(values)
        over = np.where(value > high, value - high, np.where(value < low, value - low, 0.0))
        over = np.where(np.isnan(value), FAR, over / self.margin)
        return np.clip(over, -FAR, FAR)

    def short(self) -> str:
        """The measure in words."""
        return words_of(self.name)


def words_of(name: str) -> str:
    """eye_shade.sitter_left is "eye shade, sitter left"; level.wall is "wall"."""
    stem, _, of = name.partition(".")
    if stem == "level":
        return f"level at {of.replace('_', ' ')}"
    return stem.replace("_", " ") + (f", {of.replace('_', ' ')}" if of else "")


@dataclass(frozen=True)
class Goals:
    """solved  goals that dimmers move; fixed: verdicts on what no dimmer changes, with their findings;
    missing  a line for each target that nothing answers"""

    solved: tuple[Goal, ...]
    fixed: dict[str, tuple[Finding, Verdict]]
    missing: tuple[str, ...]

    @classmethod
    def of(cls, preview: Preview, model: Model) -> Goals:
        """The scene's `[target]` as goals."""
        target = preview.scene.target
        if target is None:
            return cls((), {}, ())
        # with every light on, so that each measure is there
        full = preview.mixed(dim=dict.fromkeys(model.lights, 1.0)).numbers()
        named = full.named()
        solved = []
        for name in model.measures:
            wanted = None
            if name.startswith("level."):
                mark = name.removeprefix("level.")
                if mark in target.level:
                    meter = full.marks[mark].mark.meter
                    wanted = wanted_level(target.level[mark], meter, preview.scene.camera)
            elif name in named:
                wanted = wanted_of(name, named[name], target)
            if wanted is not None:
                solved.append(Goal.of(name, wanted))
        constant = {name: it for name, it in named.items() if name in model.fixed}
        fixed = {name: (constant[name], it) for name, it in verdicts(constant, target).items()}
        missing = [line for line in full.as_json()["not_given"] if line.startswith("target.")]
        return cls(tuple(solved), fixed, tuple(missing))
