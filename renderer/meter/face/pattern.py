"""The name of a light on a face, by the shape of its shadows; the angle explains and is the fallback.

The tests are common practice (no source), in order of precedence: the first that fits names the pattern.
Each test keeps by how much it failed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from renderer.meter.face.nose import NoseShadow, Points
from renderer.meter.face.region import label
from renderer.meter.face.visibility import Shadows

RIM_LIT, SPLIT_LIT = 0.15, 0.10  # of the mask; of its shadow half
MIDLINE = 0.006  # m that the terminator of a split light may stray
STRAIGHT_DOWN = 12.0  # deg off six o'clock
ASIDE = 6.0  # deg: a loop points at least so far to its side; what is straighter but lopsided is neither
FLAT_BELOW = 25.0  # deg; a butterfly is expected from here up
WIDEST_ISLAND = 1.5  # widths of an eye
FROM_ABOVE, OVERHEAD = 10.0, 75.0  # deg: a nose shadow that falls, from a light that is before the face
THIRD = 1.0 / 3.0
SOFT = 40.0  # deg: from here a nose shadow may have no core
LEAST_ISLAND = 0.3  # of the opening of the eye
BELOW_EYE = 0.008  # m under the pupils where the triangle begins


@dataclass(frozen=True)
class Test:
    passed: bool
    words: str


@dataclass(frozen=True)
class Island:
    """The lit piece of the shadow-side cheek: area [m2], width and height [m], all seen from the front."""

    area: float
    width: float
    height: float
    closed: bool
    leak: str


@dataclass(frozen=True)
class Pattern:
    """name; by "shape" or "angle"; why, in words."""

    name: str
    by: str
    why: str
    lit_share: float
    island: Island | None


def by_angle(azimuth: float, elevation: float) -> str:
    """The pattern that a small light there is expected to give; degrees in the head frame."""
    side = abs(azimuth)
    if side > 110.0:
        return "rim"
    if elevation < -10.0:
        return "under"
    if side >= 75.0:
        return "split"
    if side < 12.0 and FLAT_BELOW <= elevation <= 65.0:
        return "butterfly"
    if side < 15.0 and elevation < FLAT_BELOW:
        return "flat"
    if 40.0 <= side <= 65.0 and 30.0 <= elevation <= 55.0:
        return "triangle"
    if side <= 50.0 and 20.0 <= elevation <= 60.0:
        return "loop"
    return "mixed"


def classify(
    shadows: Shadows,
    points: Points,
    nose: NoseShadow,
    azimuth: float,
    elevation: float,
    angular_size: float,
    shadow_side: float,
) -> Pattern:
    """Name the pattern of one light from its direct light on the face."""
    face, lit = shadows.face, shadows.lit
    share = float(lit.sum() / max(1, face.sum()))
    island = lit_island(shadows, points, shadow_side)
    tests = {
        "rim": _rim(share, azimuth),
        "split": _split(shadows, points, shadow_side),
        "triangle": [_from_above(elevation), *_triangle(island, points)],
        "butterfly": [_from_above(elevation), *_butterfly(shadows, nose)],
        "loop": [_from_above(elevation), *_loop(nose, points)],
        "flat": _flat(nose, azimuth, elevation),
        "under": [
            Test(elevation < -10.0, f"the light stands {elevation:+.0f} deg to the eyes, under is below -10")
        ],
    }
    angle = by_angle(azimuth, elevation)
    too_soft = angular_size > SOFT and not nose.exists and angle not in ("flat", "under")
    for name, several in tests.items():
        if all(test.passed for test in several) and not (too_soft and name == "flat"):
            words = "; ".join(test.words.split(", ")[0] for test in several)  # without what was wanted
            return Pattern(name, "shape", words, share, island)
    if too_soft and angle != "mixed":
        words = f"by angle; shadow too soft to close (deepest V = {nose.deepest:.2f})"
        return Pattern(angle, "angle", words, share, island)
    if elevation > OVERHEAD:
        return Pattern("mixed", "shape", _from_above(elevation).words, share, island)
    nearest = angle
    if angle == "mixed":
        nearest = min(tests, key=lambda name: sum(not test.passed for test in tests[name]))
    failed = "; ".join(test.words for test in tests[nearest] if not test.passed)
    return Pattern("mixed", "shape", f"nearest is {nearest}, but {failed}", share, island)


def _rim(share: float, azimuth: float) -> list[Test]:
    return [
        Test(share < RIM_LIT, f"{100 * share:.0f} % of the face lit, rim is under {100 * RIM_LIT:.0f} %"),
        Test(abs(azimuth) > 90.0, f"{abs(azimuth):.0f} deg round from the nose, rim is beyond 90"),
    ]


def _split(shadows: Shadows, points: Points, shadow_side: float) -> list[Test]:
    grid, face, lit = shadows.grid, shadows.face, shadows.lit
    u = shadow_side * grid.position[..., 1]
    half = face & (u > 0.0)
    share = float((lit & half).sum() / max(1, half.sum()))
    rows = (grid.z > points.chin[2]) & (grid.z < points.glabella[2])
    over = grid.step * ((lit & (u > 0.0)).sum(axis=1) - (shadows.dark & (u <= 0.0)).sum(axis=1))
    stray = float(np.median(over[rows]))
    return [
        Test(
            share < SPLIT_LIT,
            f"{100 * share:.0f} % of the shadow half lit, split is under {100 * SPLIT_LIT:.0f} %",
        ),
        Test(
            abs(stray) <= MIDLINE,
            f"edge {1000 * abs(stray):.0f} mm {'past' if stray > 0 else 'short of'} the midline, split within"
            f" {1000 * MIDLINE:.0f}",
        ),
    ]


def lit_island(shadows: Shadows, points: Points, shadow_side: float) -> Island | None:
    """The lit region of the shadow-side cheek below the eye; None where there is none."""
    grid = shadows.grid
    u, z = shadow_side * grid.position[..., 1], grid.position[..., 2]
    below = (u > 0.002) & (z < -BELOW_EYE)
    numbers = label(shadows.lit & below)
    cheek = grid.of_patches("malar") & below
    counted = np.bincount(numbers[cheek])
    counted[:1] = 0
    if counted.sum() == 0:
        return None
    own = numbers == int(counted.argmax())
    # open where it runs on to the lit half under the nose, or down past the corner of the mouth
    under_nose = own & (z < points.wing[2] - 0.002) & (u < points.wing[1] + 0.001)
    past_mouth = own & (z < points.corner[2])
    leak = (
        "under the nose" if under_nose.any() else "past the corner of the mouth" if past_mouth.any() else ""
    )
    wide, tall = np.ptp(u[own]) + grid.step, np.ptp(z[own]) + grid.step
    return Island(float(own.sum()) * grid.step**2, float(wide), float(tall), not leak, leak)


def _from_above(elevation: float) -> Test:
    where = "over the head, " if elevation > OVERHEAD else ""
    wanted = f"wanted {FROM_ABOVE:+.0f} to {OVERHEAD:+.0f}"
    words = f"the light stands {where}{elevation:+.0f} deg to the eyes, {wanted}"
    return Test(FROM_ABOVE <= elevation <= OVERHEAD, words)


def _triangle(island: Island | None, points: Points) -> list[Test]:
    if island is None:
        return [Test(False, "no light on the shadow-side cheek")]
    least = LEAST_ISLAND * 0.25 * np.pi * points.eye_width * 0.010
    size = f"{1000 * island.width:.0f} x {1000 * island.height:.0f} mm"
    closed = f"closed lit piece of {size} on the shadow cheek"
    return [
        Test(island.closed, closed if island.closed else f"the lit shadow cheek is open {island.leak}"),
        Test(
            island.area >= least, f"its area {1e6 * island.area:.0f} mm2, wanted at least {1e6 * least:.0f}"
        ),
        Test(
            island.width <= WIDEST_ISLAND * points.eye_width,
            f"{island.width / points.eye_width:.1f} eyes wide, wanted up to {WIDEST_ISLAND:g}",
        ),
    ]


def _butterfly(shadows: Shadows, nose: NoseShadow) -> list[Test]:
    grid = shadows.grid
    malar = grid.of_patches("malar")
    left, right = (shadows.mean(malar & (sign * grid.position[..., 1] > 0.0)) for sign in (1.0, -1.0))
    apart = abs(float(np.log2(left / right))) if left > 0.0 and right > 0.0 else float("inf")
    return [
        Test(nose.exists and nose.drop > 0.0, f"nose shadow {1000 * nose.drop:.0f} mm down from the nose"),
        Test(
            abs(nose.off_vertical) <= STRAIGHT_DOWN,
            f"it points {abs(nose.off_vertical):.0f} deg off down, butterfly within {STRAIGHT_DOWN:.0f}",
        ),
        Test(apart <= THIRD, f"cheeks {apart:.2f} stop apart, butterfly within 1/3"),
    ]


def _loop(nose: NoseShadow, points: Points) -> list[Test]:
    over = 1000.0 * (nose.end[2] - points.corner[2])
    return [
        Test(nose.exists, f"nose shadow {1000 * nose.length:.0f} mm long"),
        Test(
            not nose.joined,
            "it joins the cheek's shadow" if nose.joined else "it stays clear of the cheek's shadow",
        ),
        Test(
            ASIDE < nose.off_vertical < 90.0,
            f"it points {abs(nose.off_vertical):.0f} deg off straight down, loop {ASIDE:.0f} to 90",
        ),
        Test(
            over > 0.0,
            f"it ends {abs(over):.0f} mm {'over' if over > 0 else 'under'} the corner of the mouth",
        ),
    ]


def _flat(nose: NoseShadow, azimuth: float, elevation: float) -> list[Test]:
    return [
        Test(not nose.exists, f"nose shadow {1000 * nose.length:.0f} mm long, flat is under 4"),
        Test(abs(azimuth) < 15.0, f"{abs(azimuth):.0f} deg round from the nose, flat is under 15"),
        Test(
            -10.0 <= elevation < FLAT_BELOW,
            f"{elevation:+.0f} deg to the eyes, flat is under {FLAT_BELOW:.0f}",
        ),
    ]
