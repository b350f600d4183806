"""The colour of skin of a given luminous reflectance."""

from __future__ import annotations

from renderer.scene.parts import RGB

LUMINANCE_WEIGHTS: RGB = (0.2126, 0.7152, 0.0722)
"""Y of linear Rec. 709 RGB (IEC 61966-2-1)."""

MEASURED: tuple[RGB, ...] = (
    (0.1725, 0.0838, 0.0576),
    (0.2267, 0.1112, 0.0683),
    (0.3674, 0.1918, 0.1081),
    (0.5498, 0.3371, 0.2245),
    (0.5744, 0.4109, 0.3079),
    (0.6116, 0.4292, 0.3386),
)
"""Linear sRGB under D65, darkest to lightest. The first is the dark skin patch of a 24-patch colour chart,
the average of many measured charts in the data of the colour-science library; the others are five of 100
subjects (44, 72, 55, 16, 42), from the spectra of Cooksey, Allen, Tsai, J. Res. NIST 122:26 (2017); inner
forearm, specular included."""

TONES: dict[str, float] = {
    "very_light_46": 0.46,
    "light_37": 0.37,
    "intermediate_31": 0.31,
    "tan_22": 0.22,
    "brown_13": 0.13,
    "dark_10": 0.10,
}
"""Luminous reflectance of skin tones. The words are the six classes of the individual typology angle
atan((L* - 50) / b*), bounded by 55, 41, 28, 10 and -30 degrees (Chardin, Cires & Hourseau, Int. J. Cosmetic
Sci. 13, 1991; bounds from memory); the number is the reflectance in per cent."""


def luminance(colour: RGB) -> float:
    """Y of a linear RGB triple."""
    return sum(weight * value for weight, value in zip(LUMINANCE_WEIGHTS, colour, strict=True))


def skin_colour(reflectance: float) -> RGB:
    """Linear RGB of skin whose luminous reflectance is `reflectance`, exactly.

    Between the measured tones the hue is interpolated by luminance; below the darkest and above the
    lightest it is theirs, scaled. Above 0.754 red would pass 1: the caller keeps below that.
    """
    levels = [luminance(colour) for colour in MEASURED]
    above = next((i for i, level in enumerate(levels) if level >= reflectance), len(levels) - 1)
    below = max(above - 1, 0) if levels[above] >= reflectance else above
    gap = levels[above] - levels[below]
    share = min(max((reflectance - levels[below]) / gap, 0.0), 1.0) if gap > 0 else 0.0
    pairs = zip(MEASURED[below], MEASURED[above], strict=True)
    red, green, blue = (low + share * (high - low) for low, high in pairs)
    factor = reflectance / luminance((red, green, blue))
    return red * factor, green * factor, blue * factor
