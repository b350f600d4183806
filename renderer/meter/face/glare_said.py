"""Findings on glare under a mix: how much of lens, eye and pupil it covers, how strong, where it begins."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from renderer.colour import luminance
from renderer.film.mix import Mix
from renderer.meter.face.finding import Finding
from renderer.meter.face.glare import PARTS, PITCHES, SIDES, YAWS, Glare, GlareTrace
from renderer.units import signed

VEIL = 2.0 ** (1.0 / 6.0) - 1.0
"""Of the luminance of the skin behind: from there glare lifts it by a sixth of a stop, and counts (a change
that a crew notices within a take; common practice, no source)."""
MOST_OF_LENS = 10  # per cent of a lens that may show glare; of the pupil none (common practice, no source)
WORDS = {"lens": "a spectacle lens", "eye": "the eye's opening", "pupil": "the pupil"}
ERRORS = {"lens": 0.5, "eye": 1.0, "pupil": 3.0}  # per cent: about the outline of an image on so many points


def glare_findings(trace: GlareTrace, lids: Sequence[float], mix: Mix) -> dict[str, Finding]:
    """Everything that is told of glare.

    lids  lux on lid and eye under the mix, of each eye; where that is not known every light counts
    """
    skin = trace.behind * (float(np.mean(lids)) if lids else 0.0)
    levels = {it.thing: _strength(it, mix) for it in trace.found}
    counts = [it for it in trace.found if levels[it.thing] > VEIL * skin]
    found: dict[str, Finding] = {}
    for eye, side in enumerate(SIDES):
        for part, name in enumerate(PARTS):
            shares = {it.thing: float(it.now[eye, part]) for it in counts}
            if counts and any(math.isnan(share) for share in shares.values()):
                continue  # the opening is not known
            shown = {thing: share for thing, share in shares.items() if share > 0.0}
            found[f"glare_{name}.{side}"] = Finding(
                100.0 * sum(shown.values()),
                ERRORS[name],
                "%",
                f"part of {WORDS[name]} that images of lights, windows and cards cover, the head as it is",
                ", ".join(f"{thing} {100.0 * share:.0f} %" for thing, share in shown.items()),
            )
    here = [it for it in counts if (np.nan_to_num(it.now) > 0.0).any()]
    if here and skin > 0.0:
        brightest = max(here, key=lambda it: levels[it.thing])
        found["glare_level"] = Finding(
            math.log2(levels[brightest.thing] / skin),
            0.1,
            "stops",
            "luminance of the brightest image in a lens re the skin that is seen behind it",
            brightest.thing,
        )
    found["glare_margin"] = _margin(counts)
    if trace.clear_from is not None:
        now, box = trace.clear_from
        poses = f"for a head that turns {YAWS[-1]:.0f} and nods {PITCHES[-1]:.0f} deg either way"
        words = f"{box:.0f} deg {poses}" if box < 90.0 else f"none {poses}"
        found["glare_clear_from"] = Finding(
            now,
            1.0,
            "deg",
            "lowest elevation of the key over the eyes from which up the pupils and nine tenths of each lens"
            " are clear of it, swung at the distance and azimuth that it has",
            words,
            {"in_the_box": box},
        )
    return found


def _strength(glare: Glare, mix: Mix) -> float:
    """Luminance of its image in a lens under the mix [cd/m2]."""
    return glare.mirrored * float(luminance(mix.weights()) @ np.array(glare.luminance))


def _margin(counts: list[Glare]) -> Finding:
    """How far the head is from a pose with too much glare; less than 0: how far from one without."""
    shape = (len(PITCHES), len(YAWS))
    lens = sum((it.lens for it in counts), np.zeros(shape, int))
    pupil = sum((it.pupil for it in counts), np.zeros(shape, int))
    bad = (lens >= MOST_OF_LENS) | (pupil > 0)
    away = np.hypot(PITCHES[:, None], YAWS[None, :])
    as_is = bool(bad[len(PITCHES) // 2, len(YAWS) // 2])
    other = ~bad if as_is else bad
    reach = float(min(PITCHES[-1], YAWS[-1]))
    value = min(reach, float(away[other].min(initial=reach)))
    showing = [it for it in counts if it.lens.any() or it.pupil.any()]
    words = [corner_words(it.thing, (it.lens > 0) | (it.pupil > 0)) for it in showing]
    sides = [f"{signed(-most, 0)} to {signed(most, 0)}" for most in (PITCHES[-1], YAWS[-1])]
    box = f"pitch {sides[0]}, yaw {sides[1]}"
    return Finding(
        -value if as_is else value,
        0.75,
        "deg",
        "turn or nod of the head, from how it is, to glare on a pupil or on a tenth of a lens; under 0:"
        f" to get clear of it; looked for over a box of {box}",
        "; ".join(words) or f"no glare in the box: {box}",
        {"corners": {it.thing: _corner(it) for it in showing}},
    )


def _corner(glare: Glare) -> dict[str, list[float]]:
    """Range of pitch and of yaw [deg] about the pose as written in which it shows at all."""
    shows = (glare.lens > 0) | (glare.pupil > 0)
    pitches, yaws = PITCHES[shows.any(axis=1)], YAWS[shows.any(axis=0)]
    ends = {"pitch": (pitches.min(), pitches.max()), "yaw": (yaws.min(), yaws.max())}
    return {name: [float(low), float(high)] for name, (low, high) in ends.items()}


def corner_words(thing: str, shows: np.ndarray) -> str:
    """Where in the box a thing does not show, in words; `shows` (PITCHES, YAWS) bool with some true."""
    middle = len(PITCHES) // 2, len(YAWS) // 2
    if shows[middle]:
        return f"{thing} shows as the head is; {_way_out(shows)}"
    pitches, yaws = PITCHES[shows.any(axis=1)], YAWS[shows.any(axis=0)]
    clear = []
    if pitches.min() > 0.0:
        clear.append(f"the chin is up by less than {pitches.min():g}°")
    if pitches.max() < 0.0:
        clear.append(f"the chin is down by less than {-pitches.max():g}°")
    if yaws.min() > 0.0:
        clear.append(f"the head is turned to camera right by less than {yaws.min():g}°")
    if yaws.max() < 0.0:
        clear.append(f"the head is turned to camera left by less than {-yaws.max():g}°")
    if clear:
        return f"{thing}: clear while {' or '.join(clear)}"
    away = np.where(shows, np.hypot(PITCHES[:, None], YAWS[None, :]), np.inf)
    i, j = np.unravel_index(int(away.argmin()), shows.shape)
    return f"{thing}: comes first with {_pose(float(PITCHES[i]), float(YAWS[j]))}"


def _way_out(shows: np.ndarray) -> str:
    away = np.where(shows, np.inf, np.hypot(PITCHES[:, None], YAWS[None, :]))
    if np.isinf(away).all():
        return "no pose of the box is clear of it"
    i, j = np.unravel_index(int(away.argmin()), shows.shape)
    return f"clear with {_pose(float(PITCHES[i]), float(YAWS[j]))}"


def _pose(pitch: float, yaw: float) -> str:
    words = []
    if pitch:
        words.append(f"the chin {'up' if pitch > 0.0 else 'down'} by {abs(pitch):g}°")
    if yaw:
        words.append(f"the head turned to camera {'right' if yaw > 0.0 else 'left'} by {abs(yaw):g}°")
    return " and ".join(words)
