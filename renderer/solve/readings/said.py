"""What a person writes down from a meter: `T2.8 +1/3`, `122 lux`, `EV 7.3`, `8.6 cd/m2`.

>>> said("T4", "flat", 800, 0.02).level
250.0
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from renderer.units import (
    C_DOME,
    C_FLAT,
    MINUS,
    T_STOPS,
    K,
    footcandles_to_lux,
    luminance_for_exposure,
    lux_for_exposure,
)

EXAMPLES = "T2.8 +1/3, EV 7.3 or 122 lux"
SPOT_EXAMPLES = "T2.8 +1/3, EV 7.3 or 8.6 cd/m2"
LUX = {"lux": 1.0, "lx": 1.0, "klx": 1000.0, "klux": 1000.0, "fc": footcandles_to_lux(1.0)}
LUMINANCE = ("cd/m2", "cd/m\u00b2", "cd/m^2", "nit", "nits")
NUMBER = r"(\d+(?:[.,]\d+)?)"
STEPS = (2, 3, 10)  # parts of a stop that meters are marked in
ENGRAVED = (
    *("0.8", "0.9", "1.1", "1.2", "1.6", "1.8", "2.2", "2.5", "3.2", "3.5", "4.5", "5"),
    *("6.3", "7.1", "9", "10", "13", "14", "18", "20", "25", "29"),
)
"""Thirds between the whole stops as they are engraved, from T0.7 up; each stands for the exact third."""
SPREAD = 1.0 / math.sqrt(12.0)  # standard deviation of what is rounded to steps of 1: a uniform distribution
LEAST, MOST = 1e-4, 1e7  # lux or cd/m2


class Unreadable(ValueError):
    """Nothing that a meter says; its text says what was expected."""


@dataclass(frozen=True)
class Said:
    """level  lux, of a spot meter cd/m2; rounding: standard deviation of its last digit or third [stops]"""

    level: float
    rounding: float


def said(text: str, meter: str, iso: float, shutter_s: float, unit: str = "") -> Said:
    """What was written down, as a level. ISO 2720: E = C N^2 / (S t), E = C 2^EV / 100; L with K for C.

    unit  of a number without one
    Raises Unreadable.
    """
    words = " ".join(text.replace(MINUS, "-").replace("\u2212", "-").split())
    if re.fullmatch(NUMBER, words) and unit:
        words = f"{words} {unit}"
    found = _stop(words)
    if found is not None:
        doubled, step = found
        of_stop = luminance_for_exposure if meter == "spot" else lux_for_exposure
        return _checked(
            of_stop(2.0 ** (doubled / 2.0), iso, shutter_s, constant(meter)), step * SPREAD, meter
        )
    found_ev = re.fullmatch(rf"EV\s*([-+]?)\s*{NUMBER}|([-+]?){NUMBER}\s*EV", words, re.IGNORECASE)
    if found_ev:
        sign, digits = (found_ev[1], found_ev[2]) if found_ev[2] else (found_ev[3], found_ev[4])
        ev = (-1.0 if sign == "-" else 1.0) * _float(digits)
        return _checked(constant(meter) * 2.0 ** min(ev, 99.0) / 100.0, _last(digits) * SPREAD, meter)
    found_level = re.fullmatch(rf"{NUMBER}\s*([a-z/^\d\u00b2]+)", words, re.IGNORECASE)
    if found_level:
        name = found_level[2].lower()
        value, least = _float(found_level[1]), _last(found_level[1])
        if (meter == "spot") != (name in LUMINANCE) and (name in LUX or name in LUMINANCE):
            raise Unreadable(f"expected {_examples(meter)}: the meter there {_reads(meter)}")
        if name in LUX or name in LUMINANCE:
            factor = LUX.get(name, 1.0)
            stops = math.log2(1.0 + least / value) if value > 0.0 else 0.0
            return _checked(factor * value, stops * SPREAD, meter)
    raise Unreadable(f"expected {_examples(meter)}")


def constant(meter: str) -> float:
    """C of the flat disc or dome, K of the spot meter."""
    return {"spot": K, "dome": C_DOME}.get(meter, C_FLAT)


def _stop(words: str) -> tuple[float, float] | None:
    """Twice the base 2 logarithm of the T-stop, and the step [stops] that it is told in; None for none."""
    found = re.fullmatch(rf"[tf]\s*/?\s*{NUMBER}\s*(?:([-+]?)\s*(\d+)/(\d+))?", words, re.IGNORECASE)
    if not found or not _float(found[1]) > 0.0:
        return None
    name = found[1].replace(",", ".")
    full = f"{float(name):g}"
    part, parts = (int(found[3]), int(found[4])) if found[3] else (0, 3)
    if parts not in STEPS or part >= parts:
        raise Unreadable(f'expected thirds, halves or tenths of a stop; got "{part}/{parts}"')
    sign = -1.0 if found[2] == "-" else 1.0
    if full in T_STOPS:
        stops = float(T_STOPS.index(full) - T_STOPS.index("1"))
        return stops + sign * part / parts, 1.0 / parts
    if found[3]:
        near = min(T_STOPS, key=lambda word: abs(math.log(float(word) / float(full))))
        raise Unreadable(f'expected a whole stop before {part}/{parts}; did you mean "T{near}"?')
    exact = 2.0 * math.log2(float(full))
    if full in ENGRAVED:
        place = ENGRAVED.index(full)
        return place // 2 - 1 + (1 + place % 2) / 3.0, 1.0 / 3.0
    return exact, 0.1


def _checked(level: float, rounding: float, meter: str) -> Said:
    if not LEAST <= level <= MOST:
        raise Unreadable(f"expected {_examples(meter)}, above 0: leave blank what could not be read")
    return Said(level, rounding)


def _float(digits: str) -> float:
    return float(digits.replace(",", "."))


def _last(digits: str) -> float:
    """The step of the last digit: 0.1 of "7.3"."""
    return 10.0 ** -len(digits.replace(",", ".").partition(".")[2])


def _examples(meter: str) -> str:
    return SPOT_EXAMPLES if meter == "spot" else EXAMPLES


def _reads(meter: str) -> str:
    return "reads luminance" if meter == "spot" else "reads illuminance"
