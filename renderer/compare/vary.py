"""What a walk steps through: one key of the scene, and its values.

>>> vary("light.key.around.height = 1.4..2.6 in 5")
>>> vary("light.key.dim = 0.25, 0.5, 1")
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

from renderer.errors import InputError
from renderer.scene.change import changed, value_at
from renderer.scene.models import Scene

EXPECTED = "expected KEY=LOW..HIGH in STEPS, or KEY=VALUE, VALUE, ..., numbers without units"
EXAMPLE = "such as light.key.around.height=1.4..2.6 in 5"
MOST_STEPS, MOST_PICTURES = 41, 120
TOLD = 6
"""Bad steps that are told one by one."""
NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
UNITS = {
    **dict.fromkeys(
        ("azimuth", "elevation", "head_yaw", "head_pitch", "roll", "beam", "field", "tilt"), "degrees"
    ),
    **dict.fromkeys(("height", "distance", "radius", "diameter", "length", "width", "depth", "drop"), "m"),
    **dict.fromkeys(("eye_height", "back_wall", "x", "y", "z"), "m"),
    **dict.fromkeys(("cct", "white_balance"), "K"),
    "lens_mm": "mm",
    "lumens": "lm",
    "lux": "lux",
    "lux_at_1m": "lux at 1 m",
    "luminance": "cd/m\u00b2",
    "watts": "W",
}
"""Units of keys, for the axes of curves."""


@dataclass(frozen=True)
class Vary:
    """A key of the scene, as `renderer.scene.change.keys_of` reads it, and the values that it takes."""

    path: str
    values: tuple[Any, ...]

    @property
    def numeric(self) -> bool:
        """Whether all values are numbers, so that a curve has an axis."""
        return all(isinstance(it, (int, float)) and not isinstance(it, bool) for it in self.values)

    @property
    def places(self) -> tuple[float, ...]:
        """Where the steps stand on an axis: their values, or 1, 2, 3."""
        return tuple(map(float, self.values if self.numeric else range(1, len(self.values) + 1)))

    @property
    def unit(self) -> str:
        return UNITS.get(self.path.split(".")[-1], "")

    @property
    def title(self) -> str:
        return f"{self.path}, {self.unit}" if self.unit else self.path

    def words(self, i: int) -> str:
        """A step's value with its unit."""
        return f"{plain(self.values[i])} {self.unit}".rstrip()


def plain(value: Any) -> str:
    """A value as a person writes it."""
    if isinstance(value, float):
        return f"{value:.4g}"
    return ", ".join(map(plain, value)) if isinstance(value, (list, tuple)) else str(value)


def vary(text: str) -> Vary:
    """What `--vary` says. Raises InputError with one line."""
    path, equals, rest = (part.strip() for part in text.partition("="))
    where = f"--vary {text}"
    if not equals or not path or not rest:
        raise InputError(f"{where}: {EXPECTED}, {EXAMPLE}")
    found = re.fullmatch(rf"({NUMBER})\s*\.\.\s*({NUMBER})\s+in\s+(\d{{1,3}})", rest)
    if found is not None:
        return Vary(path, _even(where, float(found[1]), float(found[2]), int(found[3])))
    if ".." in rest:
        raise InputError(f"{where}: {EXPECTED}, {EXAMPLE}")
    try:
        values = tomllib.loads(f"values = [{rest}]")["values"]
    except tomllib.TOMLDecodeError:
        words = [word.strip() for word in rest.split(",")]
        if not all(re.fullmatch(r"[A-Za-z][\w-]*", word) for word in words):
            raise InputError(f"{where}: {EXPECTED}, {EXAMPLE}") from None
        values = words
    if not 2 <= len(values) <= MOST_STEPS:
        raise InputError(f"{where}: expected 2 to {MOST_STEPS} values; got {len(values)}")
    for i, value in enumerate(values):
        if value in values[:i]:
            raise InputError(f"{where}: {plain(value)} is given twice; expected values that differ")
    return Vary(path, tuple(values))


def _even(where: str, low: float, high: float, steps: int) -> tuple[float | int, ...]:
    if not 2 <= steps <= MOST_STEPS:
        raise InputError(f"{where}: expected 2 to {MOST_STEPS} steps; got {steps}")
    if low == high:
        raise InputError(f"{where}: both ends are {low:g}; expected two values")
    values = [round(low + i * (high - low) / (steps - 1), 9) for i in range(steps)]
    whole = all(value.is_integer() for value in values)
    return tuple(int(value) if whole else value for value in values)


def scenes_of(scene: Scene, varied: Sequence[Vary]) -> dict[tuple[int, ...], Scene]:
    """The scene of every step, by the numbers of its values; the last key changes fastest.

    Raises InputError for a key that leads nowhere, and with a line for each step that cannot be.
    """
    for it in varied:
        value_at(scene, it.path)
    if len(varied) == 2 and varied[0].path == varied[1].path:
        raise InputError(f"--vary {varied[0].path}: given twice; expected two keys, or one")
    count = 1
    for it in varied:
        count *= len(it.values)
    if count > MOST_PICTURES:
        raise InputError(f"--vary: {count} steps in all; expected at most {MOST_PICTURES}")
    found: dict[tuple[int, ...], Scene] = {}
    faults: dict[str, list[str]] = {}
    for numbers in product(*(range(len(it.values)) for it in varied)):
        values = {it.path: it.values[i] for it, i in zip(varied, numbers, strict=True)}
        try:
            found[numbers] = changed(scene, values)
        except InputError as wrong:
            asked, _, text = wrong.lines[0].partition(": ")
            faults.setdefault(text, []).append(asked)
    if faults:
        told = [f"{asked[0]}{_and_more(len(asked) - 1)}: {text}" for text, asked in faults.items()]
        left = sum(len(asked) for asked in list(faults.values())[TOLD:])
        raise InputError(*told[:TOLD], *([f"and {left} more steps that cannot be"] if left else []))
    return found


def _and_more(count: int) -> str:
    return f" (and {count} more steps)" if count > 1 else " (and one more step)" if count else ""
