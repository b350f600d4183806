"""The numbers of a scene: what each meter reads, which light it comes from, and the ratio of the cheeks."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from renderer.film.layers import Layers
from renderer.meter.face import FaceMeasures, FaceTrace, Finding, Metered, measures_of
from renderer.meter.face.verdict import Verdict, unanswered, verdicts
from renderer.meter.level import exposure_level, wanted_level
from renderer.meter.mark import KEY_CHEEK, KEY_SPOT, SHADOW_CHEEK, SHADOW_SPOT, Mark
from renderer.meter.reading import Reading, derived_reading, mean_reading
from renderer.scene.camera import Camera
from renderer.scene.level import Level
from renderer.scene.target import Target
from renderer.units import (
    C_DOME,
    C_FLAT,
    K,
    ev100_from_luminance,
    ev100_from_lux,
    t_stop_for_lux,
    t_stop_in_thirds,
)

DIRECT = 0


@dataclass(frozen=True)
class MarkNumbers:
    """What one meter says. `level` in lux, or cd/m2 for a spot meter; shares are parts of 1 by light."""

    mark: Mark
    level: Reading
    ev: Reading
    over_exposure: Reading
    t_stop: Reading
    shares: dict[str, Reading]
    direct_shares: dict[str, Reading]
    verdict: Verdict | None = None

    def as_json(self) -> dict[str, Any]:
        mark = self.mark
        data = {
            "meter": mark.meter,
            "where": mark.what,
            "at_m": [round(float(x), 4) for x in mark.at],
            "axis": [round(float(x), 4) for x in mark.axis],
            "level": self.level.as_json(),
            "ev100": self.ev.as_json(),
            "stops_from_exposure": self.over_exposure.as_json(),
            "t_stop": self.t_stop.as_json() | {"in_thirds": t_stop_in_thirds(self.t_stop.value)},
            "share": {name: reading.as_json() for name, reading in self.shares.items()},
            "direct_share": {name: reading.as_json() for name, reading in self.direct_shares.items()},
        }
        return data | (self.verdict.as_json() if self.verdict else {})


@dataclass(frozen=True)
class Numbers:
    """All numbers of one mix; `face` where a sitter was measured."""

    marks: dict[str, MarkNumbers]
    measures: dict[str, Reading]
    missing: list[str]
    face: FaceMeasures | None = None

    def named(self) -> dict[str, Finding]:
        """Every measure by its name, and `level.MARK`: what a mark reads, in stops from the exposure."""
        found = {name: Finding.of(reading) for name, reading in self.measures.items()}
        found |= self.face.findings if self.face else {}
        return found | {f"level.{name}": Finding.of(mark.over_exposure) for name, mark in self.marks.items()}

    def verdicts(self) -> dict[str, Verdict]:
        """Of every stated target that can be judged, by the names of `named`."""
        levels = {f"level.{name}": it.verdict for name, it in self.marks.items() if it.verdict is not None}
        return (self.face.verdicts if self.face else {}) | levels

    def as_json(self) -> dict[str, Any]:
        return {
            "marks": {name: mark.as_json() for name, mark in self.marks.items()},
            "measures": {name: reading.as_json() for name, reading in self.measures.items()}
            | (self.face.as_json() if self.face else {}),
            "not_given": self.missing + (self.face.missing if self.face else []),
        }


def _log2(a: float) -> float:
    return math.log2(a) if a > 0.0 else -math.inf


def _mark_numbers(
    mark: Mark,
    camera: Camera,
    by_light: np.ndarray,
    direct: np.ndarray,
    names: list[str],
    level: Level | None,
) -> MarkNumbers:
    """Numbers of one mark from its (replicas, lights) values and their direct part; `level` is its target."""
    total = by_light.sum(axis=1)
    iso, shutter = camera.iso, camera.shutter
    wanted = exposure_level(mark.meter, camera)
    if mark.meter == "spot":
        unit, constant = "cd/m2", f"K = {K:g}"

        def ev_of(x: float) -> float:
            return ev100_from_luminance(x, K) if x > 0.0 else -math.inf

        def t_stop_of(x: float) -> float:
            return camera.t_stop * math.sqrt(x / wanted)
    else:
        c = C_DOME if mark.meter == "dome" else C_FLAT
        unit, constant = "lux", f"C = {c:g}"

        def ev_of(x: float) -> float:
            return ev100_from_lux(x, c) if x > 0.0 else -math.inf

        def t_stop_of(x: float) -> float:
            return t_stop_for_lux(x, iso, shutter, c)

    kind = "luminance" if mark.meter == "spot" else "illuminance"
    shares, straight = {}, {}
    for i, name in enumerate(names):
        shares[name] = derived_reading(
            _share, "1", f"part of the reading that comes from {name}", by_light[:, i], total
        )
        straight[name] = derived_reading(
            _share, "1", f"part of the reading that comes straight from {name}", direct[:, i], total
        )
    over = derived_reading(
        lambda x: _log2(x / wanted), "stops", "above (+) or below the exposure of the camera", total
    )
    return MarkNumbers(
        mark,
        mean_reading(total, unit, f"{kind}, {mark.what}"),
        derived_reading(ev_of, "EV at ISO 100", f"exposure value, ISO 2720, {constant}", total),
        over,
        derived_reading(t_stop_of, "T-stop", f"asked for at ISO {iso:g} and the scene's shutter", total),
        shares,
        straight,
        wanted_level(level, mark.meter, camera).judged(over.value) if level is not None else None,
    )


def _share(part: float, whole: float) -> float:
    return part / whole if whole > 0.0 else math.nan


def numbers(
    layers: Layers,
    marks: list[Mark],
    missing: list[str],
    camera: Camera,
    face: FaceTrace | None = None,
    target: Target | None = None,
) -> Numbers:
    """All numbers under the layers' mix; with what was traced of the face, its measures too."""
    values, direct = layers.values(), layers.values(DIRECT)
    names = layers.mix.names()
    levels = target.level if target is not None else {}
    found = {
        mark.name: _mark_numbers(mark, camera, values[:, i], direct[:, i], names, levels.get(mark.name))
        for i, mark in enumerate(marks)
    }
    totals = {mark.name: values[:, i].sum(axis=1) for i, mark in enumerate(marks)}
    measures: dict[str, Reading] = {}
    if {KEY_CHEEK, SHADOW_CHEEK} <= totals.keys():
        pair = (totals[KEY_CHEEK], totals[SHADOW_CHEEK])
        meaning = "lighting ratio (key + fill) : fill, flat discs at the cheeks"
        measures["lighting_ratio_stops"] = derived_reading(
            lambda a, b: _log2(_share(a, b)), "stops", meaning, *pair
        )
        measures["lighting_ratio"] = derived_reading(_share, "x:1", meaning, *pair)
    if {KEY_SPOT, SHADOW_SPOT} <= totals.keys():
        measures["picture_contrast_stops"] = derived_reading(
            lambda a, b: _log2(_share(a, b)),
            "stops",
            "luminance of the key-side cheek over the other, as the lens sees them",
            totals[KEY_SPOT],
            totals[SHADOW_SPOT],
        )
    missing = missing + [
        f"target.level.{name}: cannot be judged, there is no such reading"
        for name in levels
        if name not in found
    ]
    if face is None:
        return _without_face(Numbers(found, measures, missing), target)
    light = np.stack([direct, values - direct], axis=3)
    metered = Metered(measures, [mark.name for mark in marks], light, layers if layers.samples else None)
    return Numbers(found, measures, missing, measures_of(face, layers.mix, target, metered))


def _without_face(found: Numbers, target: Target | None) -> Numbers:
    """The targets judged as far as the meters alone can."""
    of_meters = {name: Finding.of(it) for name, it in found.measures.items() if name == "lighting_ratio"}
    lines = unanswered(of_meters, target)
    if not of_meters:
        return replace(found, missing=found.missing + lines)
    return replace(found, face=FaceMeasures(of_meters, verdicts(of_meters, target), lines))


def constants() -> dict[str, Any]:
    """Constants that the numbers rest on, for the file."""
    return {
        "C_flat": C_FLAT,
        "C_dome": C_DOME,
        "K_spot": K,
        "mid_grey": 0.18,
        "source": "ISO 2720:1974; mid grey anchored to the flat-disc incident reading",
    }
