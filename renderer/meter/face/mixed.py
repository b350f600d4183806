"""Measures that follow the dimmers: light on the skin, key to fill, how many catchlights."""

from __future__ import annotations

import math

import numpy as np

from renderer.colour import luminance
from renderer.film.mix import Mix
from renderer.meter.face.catchlight import Catchlight
from renderer.meter.face.finding import Finding
from renderer.meter.face.glare_said import glare_findings
from renderer.meter.face.trace import FaceTrace
from renderer.meter.reading import Reading, derived_reading
from renderer.units import clock_words, stops

PATCHES = ("forehead_centre", "malar_l", "malar_r", "chin_front", "nose_bridge")
LOST = 7.0  # stops under the brightest: from there a card in the eye is not seen (own choice, no source)
FAR_DARKER, FAR_SMALLER = 1.5, 1.0 / 3.0  # stops; share of area: from there a second catchlight is weak
NOSE_HIT = -3.0  # stops re the key-side cheek, from where an edge light shows on the nose


def _over(a: float, b: float) -> float:
    return stops(a, b) if b > 0.0 else math.inf


def mixed(trace: FaceTrace, mix: Mix, edges: list[int]) -> dict[str, Finding]:
    """Findings under a mix; `edges` are the numbers of the lights that make an edge."""
    found: dict[str, Finding] = {}
    if trace.glints is not None:
        found["catchlights"] = _catchlights(trace.glints, mix)
        found["second_catchlight"] = second_catchlight(trace.glints, mix)
        for eye in ("sitter_left", "sitter_right"):
            found |= _one_eye(eye, [glint for glint in trace.glints if glint.eye == eye], mix)
    light = luminance(trace.light * mix.weights()[None, None, :, None, :])  # replicas, groups, lights, 2
    if trace.glare is not None:
        lids = {it: float(light[:, i].sum(axis=(1, 2)).mean()) for i, it in enumerate(trace.groups)}
        found |= glare_findings(trace.glare, [lids[it] for it in ("eye_l", "eye_r") if it in lids], mix)
    if not trace.groups:
        return found
    total = {name: light[:, i].sum(axis=(1, 2)) for i, name in enumerate(trace.groups)}
    if not all(values.mean() > 0.0 for name, values in total.items() if name in PATCHES):
        return found
    near = "l" if trace.key_at_left else "r"
    for side, eye in (("l", "sitter_left"), ("r", "sitter_right")):
        if not {f"eye_{side}", f"malar_{side}"} <= total.keys():
            continue
        which = "near" if side == near else "far"
        found[f"eye_shade.{eye}"] = Finding.of(
            derived_reading(
                _over,
                "stops",
                "light on upper lid and front of the eye re the cheek below it",
                total[f"eye_{side}"],
                total[f"malar_{side}"],
            ),
            f"the eye {'on the key side' if which == 'near' else 'on the shadow side'}",
        )
    if {"under_chin", "chin_front"} <= total.keys():
        found["under_chin"] = Finding.of(
            derived_reading(
                _over,
                "stops",
                "light under the chin and on the upper neck, as far as the lens sees it, re the chin's front",
                total["under_chin"],
                total["chin_front"],
            )
        )
    fields = [total[name] for name in trace.groups if name.startswith("field_")]
    if fields and f"malar_{near}" in total:
        found["forehead"] = _forehead(np.array(fields), total[f"malar_{near}"])
    if total.keys() >= set(PATCHES):
        found["evenness"] = Finding.of(
            derived_reading(
                lambda *levels: _over(max(levels), min(levels)),
                "stops",
                "brightest over darkest of forehead, cheeks, chin and nose bridge",
                *(total[name] for name in PATCHES),
            )
        )
    if edges and {"nose_tip", f"malar_{near}"} <= total.keys():
        tip = light[:, trace.groups.index("nose_tip")][:, edges, 0].sum(axis=1)
        reading = derived_reading(
            _over,
            "stops",
            "edge light that strikes the tip of the nose, re the key-side cheek",
            tip,
            total[f"malar_{near}"],
        )
        word = "it shows on the nose" if reading.value > NOSE_HIT else "the nose stays clear of it"
        found["rim_on_nose"] = Finding.of(reading, word)
    return found


def _forehead(fields: np.ndarray, cheek: np.ndarray) -> Finding:
    """The brightest of the fields (fields, replicas): chosen by one half of the replicas and read from the
    other, both ways round, since the largest of several noisy readings lies too high."""
    halves = []
    for chooses, reads in ((0, 1), (1, 0)):
        hottest = int(fields[:, chooses::2].mean(axis=1).argmax())
        halves.append(
            derived_reading(
                _over,
                "stops",
                "brightest 16 mm field of the forehead re the key-side cheek: light arriving, without shine",
                fields[hottest, reads::2],
                cheek[reads::2],
            )
        )
    one, two = halves
    mean = Reading(
        0.5 * (one.value + two.value), 0.5 * math.hypot(one.error, two.error), one.unit, one.meaning
    )
    return Finding.of(mean)


def key_to_fill(key_cheek: np.ndarray, shadow_cheek: np.ndarray, key: int) -> Finding:
    """K : F from the discs at the cheeks, (replicas, lights, 2) direct and bounced, under the mix.

    K is the key's direct light at the near disc; F all but the key's direct light at the far one.
    """
    main = key_cheek[:, key, 0]
    fill = shadow_cheek.sum(axis=(1, 2)) - shadow_cheek[:, key, 0]
    return Finding.of(
        derived_reading(
            lambda a, b: a / b if b > 0.0 else math.inf,
            "x:1",
            "key : fill, the key's direct light at its cheek over all other light at the far one; not the"
            " lighting ratio (key + fill) : fill",
            main,
            fill,
        )
    )


def _strength(glint: Catchlight, mix: Mix) -> float:
    """Luminance of the light or card behind it, under the mix [cd/m2]."""
    return float(luminance(mix.weights()) @ np.array(glint.luminance))


def _shining(glints: list[Catchlight], mix: Mix) -> list[Catchlight]:
    """Those that show: a card lit so little that it is lost beside the brightest does not."""
    strongest = max((_strength(glint, mix) for glint in glints), default=0.0)
    least = strongest * 2.0**-LOST
    return [glint for glint in glints if _strength(glint, mix) > least]


def _one_eye(eye: str, glints: list[Catchlight], mix: Mix) -> dict[str, Finding]:
    """Clock and size of the main catchlight: the one that sends most light to the lens."""
    shining = _shining(glints, mix)
    if not shining:
        return {}
    main = max(shining, key=lambda glint: _strength(glint, mix) * glint.size_mm**2)
    notes = [f"{main.light} at {clock_words(main.clock)}"]
    if main.clipped >= 0.05:
        notes.append(f"{100.0 * main.clipped:.0f} % of it hidden by the lid or brow")
    if main.on_pupil >= 0.5:
        notes.append("on the pupil")
    return {
        f"catchlight_clock.{eye}": Finding(
            main.clock,
            0.05,
            "h",
            "place of the main catchlight about the pupil, in the picture",
            "; ".join(notes),
        ),
        f"catchlight_size.{eye}": Finding(
            main.iris_percent,
            100.0 * 1e-4 / 0.0117,
            "%",
            "width of the main catchlight (disc of the same area) in parts of the iris",
        ),
    }


def second_catchlight(glints: tuple[Catchlight, ...], mix: Mix) -> Finding:
    """The next brightest light or card in an eye re its main one, of the eye where it is brighter.

    Further pieces of the main one's image, as a lid makes them, do not count. Without light: -inf.
    """
    least, words = -math.inf, "no second catchlight"
    for eye in ("sitter_left", "sitter_right"):
        shining = _shining([glint for glint in glints if glint.eye == eye], mix)
        if not shining:
            continue
        main = max(shining, key=lambda glint: _strength(glint, mix) * glint.size_mm**2)
        for glint in shining:
            under = stops(_strength(glint, mix), _strength(main, mix))
            if glint.light != main.light and under > least:
                least, words = under, f"{glint.light} beside {main.light}, {eye}"
    return Finding(
        least,
        0.0,
        "stops",
        "luminance of the next brightest light or card mirrored in an eye, re the main one",
        words,
    )


def _catchlights(glints: tuple[Catchlight, ...], mix: Mix) -> Finding:
    """How many lights the eye with more of them shows; why: whether all but one are weak."""
    by_eye = {
        eye: _shining([glint for glint in glints if glint.eye == eye], mix)
        for eye in ("sitter_left", "sitter_right")
    }
    several = max(by_eye.values(), key=len)
    strong = 0
    if several:
        main = max(several, key=lambda glint: _strength(glint, mix) * glint.size_mm**2)
        for glint in several:
            darker = stops(_strength(glint, mix), _strength(main, mix)) <= -FAR_DARKER
            smaller = glint.size_mm**2 <= FAR_SMALLER * main.size_mm**2
            strong += not (darker or smaller) or glint is main
    words = "; ".join(
        f"{eye}: " + (", ".join(f"{g.light} {clock_words(g.clock)}" for g in shown) or "none")
        for eye, shown in by_eye.items()
    )
    parts = {"strong": strong, "all": [glint.as_json() for glint in glints]}
    return Finding(
        float(len(several)),
        0.0,
        "1",
        "lights and cards mirrored in an eye, the eye that shows more of them",
        words,
        parts,
    )
