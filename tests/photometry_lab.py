"""Writes photometric files for the tests to read: every generation, every symmetry. It shares no code with
the readers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

Intensity = Callable[[float, float], float]
"""Candela at C and gamma [degrees]."""

FIRST_LINES = {1991: "IESNA91", 1995: "IESNA:LM-63-1995", 2002: "IESNA:LM-63-2002", 2019: "IES:LM-63-2019"}
YEARS = (1986, 1991, 1995, 2002, 2019)


def lobe(c: float, gamma: float) -> float:
    """Without any symmetry; 1 averaged over C times a cosine."""
    turn = math.radians(c)
    wave = 1.0 + 0.3 * math.cos(turn) + 0.2 * math.sin(2 * turn)
    return 1000.0 * wave * max(math.cos(math.radians(gamma)), 0.0)


def about_c0(c: float, gamma: float) -> float:
    """Mirrored at the plane C0 to C180."""
    return 1000.0 * (1.0 + 0.4 * math.cos(math.radians(c))) * max(math.cos(math.radians(gamma)), 0.0)


def about_c90(c: float, gamma: float) -> float:
    """Mirrored at the plane C90 to C270."""
    return 1000.0 * (1.0 + 0.4 * math.sin(math.radians(c))) * max(math.cos(math.radians(gamma)), 0.0)


def about_both(c: float, gamma: float) -> float:
    """Mirrored at both planes."""
    return 1000.0 * (1.0 + 0.4 * math.cos(math.radians(2 * c))) * max(math.cos(math.radians(gamma)), 0.0)


def cosine(c: float, gamma: float) -> float:
    """A Lambertian disc of 1000 cd."""
    return 1000.0 * max(math.cos(math.radians(gamma)), 0.0)


def steps(first: float, last: float, step: float) -> list[float]:
    return [first + i * step for i in range(round((last - first) / step) + 1)]


def lm63(
    intensity: Intensity = cosine,
    planes: Sequence[float] = (0.0,),
    gammas: Sequence[float] = tuple(steps(0.0, 90.0, 10.0)),
    *,
    year: int = 2002,
    lamps: int = 1,
    lumens: float = -1.0,
    multiplier: float = 1.0,
    kind: int = 1,
    units: int = 2,
    opening: tuple[float, float, float] = (0.2, 0.2, 0.0),
    ballast: float = 1.0,
    eleventh: float = 1.0,
    watts: float = 100.0,
    tilt: str = "NONE",
    keywords: Sequence[str] = ("[TEST] none", "[MANUFAC] nobody"),
    a_line: int = 10,
    comma: bool = False,
) -> str:
    """An LM-63 text. The candela that it means are those of `intensity`: it divides by the factors."""
    blank = ", " if comma else " "
    factor = multiplier * ballast * (eleventh if year < 2002 else 1.0)

    def wrapped(values: Sequence[float]) -> list[str]:
        words = [f"{value:.9g}" for value in values]
        return [blank.join(words[i : i + a_line]) for i in range(0, len(words), a_line)]

    head = [lamps, lumens, multiplier, len(gammas), len(planes), kind, units, *opening]
    lines = [FIRST_LINES[year]] if year in FIRST_LINES else []
    lines += [*keywords, f"TILT={tilt}"]
    lines += [
        blank.join(f"{x:.9g}" for x in head),
        blank.join(f"{x:.9g}" for x in (ballast, eleventh, watts)),
    ]
    lines += [*wrapped(gammas), *wrapped(planes)]
    for plane in planes:
        lines += wrapped([intensity(plane, gamma) / factor for gamma in gammas])
    return "\r\n".join(lines) + "\r\n"


def eulumdat(
    intensity: Intensity = cosine,
    isym: int = 1,
    turn: int = 24,
    gammas: Sequence[float] = tuple(steps(0.0, 90.0, 10.0)),
    *,
    lamps: int = 1,
    lumens: float = 2000.0,
    ratio: float = 100.0,
    conversion: float = 1.0,
    sets: int = 1,
    sizes: tuple[float, float, float] = (200.0, 0.0, 0.0),
    comma: bool = False,
) -> str:
    """An EULUMDAT text. The candela that it means with the first set of lamps are those of `intensity`."""
    planes = [i * 360.0 / turn for i in range(turn)]
    listed = {
        0: planes,
        1: planes[:1],
        2: planes[: turn // 2 + 1],
        3: [*planes[3 * turn // 4 :], *planes[: turn // 4 + 1]],
        4: planes[: turn // 4 + 1],
    }[isym]
    length, width, height = sizes
    lines = ["nobody", 1 if isym == 1 else 3, isym, turn, 360.0 / turn, len(gammas), gammas[1] - gammas[0]]
    lines += [
        "report",
        "a head",
        "number",
        "file",
        "today",
        250,
        0,
        100,
        length,
        width,
        height,
        height,
        height,
        height,
    ]
    lines += [100, ratio, conversion, 0, sets]
    for i in range(sets):
        lines += [lamps, "LED", lumens * (i + 1), "5600 K", "95", 100 * (i + 1)]
    lines += [0.5] * 10
    lines += [*planes, *gammas]
    lines += [intensity(c, gamma) * 1000.0 / lumens / conversion for c in listed for gamma in gammas]
    words = [word if isinstance(word, str) else f"{word:.9g}" for word in lines]
    return "\r\n".join(word.replace(".", ",") if comma else word for word in words) + "\r\n"
