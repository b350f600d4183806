"""Stops, exposure and the light meter's constants. Pure functions; numpy is not imported here.

Every function takes a float or a numpy array and answers in kind. Nothing else in the project writes
a photometric constant.

Which grey is middle grey
    The tool anchors middle grey to the INCIDENT meter: light whose flat-disc reading asks for exactly
    the exposure in use (E = C N^2 / (S t), C = 250) makes a matte 18 % card come out at 0.18 linear,
    so the card's luminance is L = 0.18 E / pi. A spot meter with K = 12.5 wants pi K / C = 15.7 % to
    come out in the middle instead: the two differ for ever by log2(0.18 C / (pi K)) = 0.196 stop. It
    is the textbook disagreement between meter and card and no fault of either.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Number = TypeVar("Number", float, "NDArray[np.float64]")

K = 12.5
"""Reflected-light (spot) constant [cd s/m2 at ISO 1]. ISO 2720:1974 allows 10.6-13.4; 12.5 is in wide use."""
C_FLAT = 250.0
"""Incident constant of the flat disc [lux s at ISO 1]. ISO 2720:1974 allows 240-400; 250 is usual."""
C_DOME = 340.0
"""Incident constant of the dome [lux s at ISO 1]. ISO 2720:1974 allows 320-540; 320-340 is usual."""
MID_GREY = 0.18
"""Reflectance of the grey card, and the linear value it is developed to."""
LUX_PER_FOOTCANDLE = 1.0 / 0.3048**2
"""One lumen per square foot [lux]; the international foot is 0.3048 m exactly, hence 10.7639."""

T_STOPS = ("0.5", "0.7", "1", "1.4", "2", "2.8", "4", "5.6", "8", "11", "16", "22", "32", "45", "64")
_FIRST_T_STOP = -2  # T_STOPS[0] is sqrt(2) to this power
MINUS = "\u2212"


def stops(a: Number, b: Number) -> Number:
    """How far `a` lies over `b`, in stops: log2(a / b). Nothing at all is minus infinity."""
    return ratio_to_stops(a / b)


def ratio_to_stops(ratio: Number) -> Number:
    """4 (as in 4:1) is 2 stops. A ratio of 0 is minus infinity; a negative one is not a number."""
    if isinstance(ratio, (int, float)):
        if ratio > 0.0:
            return math.log2(ratio)
        return -math.inf if ratio == 0.0 else math.nan
    import numpy as np

    with np.errstate(divide="ignore", invalid="ignore"):
        result: NDArray[np.float64] = np.log2(ratio)
    return result


def stops_to_ratio(value: Number) -> Number:
    """2 stops are 4 (as in 4:1)."""
    result: Number = 2.0**value
    return result


def lux_to_footcandles(lux: Number) -> Number:
    """10.764 lux are 1 fc."""
    return lux / LUX_PER_FOOTCANDLE


def footcandles_to_lux(footcandles: Number) -> Number:
    """1 fc is 10.764 lux."""
    return footcandles * LUX_PER_FOOTCANDLE


def mired(cct: Number) -> Number:
    """Micro reciprocal degree, 1e6 / T: equal steps of it look about equal. T in kelvin, and back."""
    return 1e6 / cct


def aperture_value(t_stop: Number) -> Number:
    """APEX Av = log2 N^2."""
    return ratio_to_stops(t_stop * t_stop)


def time_value(shutter_s: Number) -> Number:
    """APEX Tv = -log2 t, t in seconds."""
    return -ratio_to_stops(shutter_s)


def speed_value(iso: Number) -> Number:
    """APEX Sv = log2(S / 3.125)."""
    return ratio_to_stops(iso / 3.125)


def ev100(t_stop: Number, iso: Number, shutter_s: Number) -> Number:
    """The exposure that this setting gives, as an exposure value at ISO 100: log2(100 N^2 / (S t))."""
    return ratio_to_stops(100.0 * t_stop * t_stop / (iso * shutter_s))


def ev100_from_lux(lux: Number, constant: float = C_FLAT) -> Number:
    """EV at ISO 100 that an incident meter of this `constant` asks for. ISO 2720: 2^EV = 100 E / C."""
    return ratio_to_stops(100.0 * lux / constant)


def ev100_from_luminance(luminance: Number, constant: float = K) -> Number:
    """EV at ISO 100 that a spot meter asks for; luminance in cd/m2. ISO 2720: 2^EV = 100 L / K."""
    return ratio_to_stops(100.0 * luminance / constant)


def lux_for_exposure(t_stop: Number, iso: Number, shutter_s: Number, constant: float = C_FLAT) -> Number:
    """Illuminance whose incident reading asks for this exposure [lux]. ISO 2720: E = C N^2 / (S t)."""
    return constant * t_stop * t_stop / (iso * shutter_s)


def luminance_for_exposure(t_stop: Number, iso: Number, shutter_s: Number, constant: float = K) -> Number:
    """Luminance whose spot reading asks for this exposure [cd/m2]. ISO 2720: L = K N^2 / (S t)."""
    return constant * t_stop * t_stop / (iso * shutter_s)


def t_stop_for_lux(lux: Number, iso: Number, shutter_s: Number, constant: float = C_FLAT) -> Number:
    """T-stop that an incident reading of `lux` asks for: N = sqrt(E S t / C)."""
    root: Number = (lux * iso * shutter_s / constant) ** 0.5
    return root


def grey_luminance(t_stop: Number, iso: Number, shutter_s: Number) -> Number:
    """Scene luminance that is developed to 0.18 at this exposure [cd/m2].

    It is that of a matte 18 % card in the light that a flat disc (C = 250) asks this exposure for:
    0.18 E / pi. It lies 0.196 stop over `luminance_for_exposure` with K = 12.5; see the top of this file.
    """
    return luminance_of_matte(lux_for_exposure(t_stop, iso, shutter_s))


def luminance_of_matte(lux: Number, reflectance: float = MID_GREY) -> Number:
    """Luminance of a Lambertian surface in this light [cd/m2]: reflectance E / pi."""
    return lux * (reflectance / math.pi)


def lux_on_matte(luminance: Number, reflectance: float = MID_GREY) -> Number:
    """Light that a Lambertian surface of this luminance [cd/m2] stands in [lux]: pi L / reflectance."""
    return luminance * (math.pi / reflectance)


def t_stop_in_thirds(t_stop: float) -> str:
    """As a cameraman says it, to the nearest third: 3.2 is "T2.8 +1/3". "T-" where nothing can be set."""
    if not 0.0 < t_stop < math.inf:
        return "T-"
    full, third = divmod(round(6.0 * math.log2(t_stop)), 3)
    place = full - _FIRST_T_STOP
    if place < 0:
        return f"under T{T_STOPS[0]}"
    if place >= len(T_STOPS):
        return f"over T{T_STOPS[-1]}"
    return f"T{T_STOPS[place]}" + (f" +{third}/3" if third else "")


def shutter_in_words(shutter_s: float) -> str:
    """Exposure time as written on a slate: 0.02 is "1/50 s", 2.5 is "2.5 s"."""
    if shutter_s >= 0.4:
        return f"{shutter_s:g} s"
    return f"1/{round(1.0 / shutter_s, 1):g} s"


def clock_words(hours: float) -> str:
    """1.667 is "1:40", to the next five minutes."""
    minutes = round(hours * 12.0) * 5
    return f"{(minutes // 60 - 1) % 12 + 1}:{minutes % 60:02d}"


def signed(value: float, places: int = 1) -> str:
    """Stops as printed: "+1.3", "0.0", and a true minus sign below zero. Infinities say so in words."""
    if math.isinf(value):
        return "no light" if value < 0.0 else "without limit"
    text = f"{abs(value):.{places}f}"
    if float(text) == 0.0:
        return text
    return ("+" if value > 0.0 else MINUS) + text
