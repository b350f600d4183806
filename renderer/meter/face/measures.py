"""All measures of a face under one mix, judged against the scene's targets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from renderer.film.layers import Layers
from renderer.film.mix import Mix
from renderer.film.pool import Pool
from renderer.meter.face.background import outline_findings
from renderer.meter.face.finding import Finding
from renderer.meter.face.mixed import key_to_fill, mixed
from renderer.meter.face.report import lines_of_face
from renderer.meter.face.trace import FaceTrace, trace_face
from renderer.meter.face.verdict import Verdict, unanswered, verdicts
from renderer.meter.mark import KEY_CHEEK, KEY_SPOT, SHADOW_CHEEK
from renderer.meter.reading import Reading, mean_reading
from renderer.scene.target import Target
from renderer.world.build import World

EDGE_PURPOSES = ("edge", "back")


@dataclass(frozen=True)
class FaceMeasures:
    """findings and verdicts by name; missing: a line for each measure that cannot be given."""

    findings: dict[str, Finding]
    verdicts: dict[str, Verdict]
    missing: list[str]

    def as_json(self) -> dict[str, Any]:
        return {
            name: finding.as_json() | (self.verdicts[name].as_json() if name in self.verdicts else {})
            for name, finding in self.findings.items()
        }

    def lines(self) -> list[str]:
        """One line a measure, as a person reads it."""
        return lines_of_face(self.findings, self.verdicts)


@dataclass(frozen=True)
class Metered:
    """What the scene's meters and its picture add: readings of `Numbers`, illuminances (replicas, marks,
    lights, 2) under the mix, names of the marks, and the layers where a picture was traced."""

    readings: dict[str, Reading]
    marks: list[str]
    light: np.ndarray
    layers: Layers | None = None


def measures_of(
    trace: FaceTrace, mix: Mix, target: Target | None = None, metered: Metered | None = None
) -> FaceMeasures:
    """Everything under a mix; traces nothing."""
    findings: dict[str, Finding] = {}
    missing = list(trace.missing)
    if metered is not None and "lighting_ratio" in metered.readings:
        findings["lighting_ratio"] = Finding.of(metered.readings["lighting_ratio"])
    if metered is not None and {KEY_CHEEK, SHADOW_CHEEK} <= set(metered.marks):
        near, far = (metered.light[:, metered.marks.index(name)] for name in (KEY_CHEEK, SHADOW_CHEEK))
        findings["key_to_fill"] = key_to_fill(near, far, trace.key)
    findings |= trace.fixed
    edges = [i for i, fader in enumerate(mix.faders) if fader.purpose in EDGE_PURPOSES]
    findings |= mixed(trace, mix, edges)
    if metered is not None and metered.layers is not None and trace.frame is not None:
        cheek = Reading(0.0, 0.0, "cd/m2", "luminance of the key-side cheek")
        if KEY_SPOT in metered.marks:
            spot = metered.light[:, metered.marks.index(KEY_SPOT)].sum(axis=(1, 2))
            cheek = mean_reading(spot, cheek.unit, cheek.meaning)
        seen = outline_findings(metered.layers, trace.frame, cheek.value, edges, cheek.error)
        findings |= seen
        if not seen:
            missing.append("background, separation, rim: the picture is too coarse or shows no sitter")
        elif edges and "rim" not in seen:
            missing.append("rim: the edge light is nowhere the main light of the outline")
    if not edges:
        missing.append('rim: no light has the purpose "edge" or "back"')
    missing += unanswered(findings, target)
    return FaceMeasures(findings, verdicts(findings, target), missing)


def measure(
    world: World, threads: int | Pool | None = None, mix: Mix | None = None, seed: int = 0
) -> FaceMeasures | None:
    """Trace and measure the face of a world; None with nobody in the chair.

    threads  a number, a pool that is running already, or None for all cores
    mix      levels; None takes those of the scene
    Measures that need meter readings or a picture are left out: a preview has them.
    """
    from renderer.film.mix import Fader

    trace = trace_face(world, threads, seed)
    if trace is None:
        return None
    if mix is None:
        mix = Mix(tuple(Fader.of(layer) for layer in world.layers))
    return measures_of(trace, mix, world.scene.target)
