"""A traced scene as a model of its measures under any dimmers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from renderer.colour import luminance
from renderer.film.mix import Mix
from renderer.meter.face import Finding
from renderer.meter.face.measures import EDGE_PURPOSES
from renderer.meter.face.mixed import PATCHES
from renderer.meter.level import exposure_level
from renderer.meter.mark import KEY_CHEEK, KEY_SPOT, SHADOW_CHEEK, SHADOW_SPOT
from renderer.preview import Preview
from renderer.solve.measure import BrightestOf, Measure, OfSums, SecondGlint, log2
from renderer.solve.seen import picture_measures


@dataclass(frozen=True)
class Model:
    """lights  names, in the order of dimmers; dims: as the scene has them
    measures by name; those that no dimmer changes are in `fixed`, as findings
    """

    lights: tuple[str, ...]
    dims: np.ndarray
    measures: dict[str, Measure]
    fixed: dict[str, Finding]
    replicas: int

    @classmethod
    def of(cls, preview: Preview) -> Model:
        """Builds the sums once; raises nothing that the preview did not."""
        faders = preview.layers.mix.faders
        dims = np.array([fader.dim for fader in faders])
        found = {it.name: it for it in _measures(preview)}
        named = preview.numbers().named()
        fixed = {name: it for name, it in named.items() if name not in found}
        replicas = len(preview.layers.replicas)
        return cls(tuple(fader.name for fader in faders), dims, found, fixed, replicas)

    def leaving_out(self, replica: int) -> Model:
        """The same from all replicas but one."""
        return replace(self, measures={name: it.leaving_out(replica) for name, it in self.measures.items()})

    def value(self, name: str, dims: np.ndarray) -> float:
        return float(self.measures[name].values(dims[None])[0])


def _ratio(sums: np.ndarray) -> np.ndarray:
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(sums[0] / sums[1])


def _stops(sums: np.ndarray) -> np.ndarray:
    return log2(_ratio(sums))


def _spread(sums: np.ndarray) -> np.ndarray:
    return _stops(np.stack([sums.max(axis=0), sums.min(axis=0)]))


def _measures(preview: Preview) -> Iterator[Measure]:
    mix = preview.layers.mix
    full = Mix(tuple(replace(fader, dim=1.0) for fader in mix.faders))
    weights = full.weights()
    read = luminance(preview.layers.replicas * weights[None, None, :, None, :])  # replicas, marks, lights, 2
    names = [mark.name for mark in preview.marks]
    total = {name: read[:, i].sum(axis=2) for i, name in enumerate(names)}
    for mark in preview.marks:
        at_exposure = exposure_level(mark.meter, preview.scene.camera)
        forms = total[mark.name][:, None] / at_exposure
        yield OfSums(f"level.{mark.name}", "stops", forms, lambda sums: log2(sums[0]))
    if {KEY_SPOT, SHADOW_SPOT} <= total.keys():
        pair = np.stack([total[KEY_SPOT], total[SHADOW_SPOT]], axis=1)
        yield OfSums("picture_contrast_stops", "stops", pair, _stops)
    if {KEY_CHEEK, SHADOW_CHEEK} <= total.keys():
        pair = np.stack([total[KEY_CHEEK], total[SHADOW_CHEEK]], axis=1)
        yield OfSums("lighting_ratio", "x:1", pair, _ratio)
        yield OfSums("lighting_ratio_stops", "stops", pair, _stops)
    face = preview.face
    if face is None:
        return
    if {KEY_CHEEK, SHADOW_CHEEK} <= total.keys():
        main, fill = np.zeros_like(total[KEY_CHEEK]), total[SHADOW_CHEEK].copy()
        main[:, face.key] = read[:, names.index(KEY_CHEEK), face.key, 0]
        fill[:, face.key] -= read[:, names.index(SHADOW_CHEEK), face.key, 0]
        yield OfSums("key_to_fill", "x:1", np.stack([main, fill], axis=1), _ratio)
    if face.glints is not None:
        eyes = tuple(
            tuple(glint for glint in face.glints if glint.eye == eye)
            for eye in ("sitter_left", "sitter_right")
        )
        yield SecondGlint("second_catchlight", "stops", eyes, luminance(weights))
    edges = [i for i, fader in enumerate(mix.faders) if fader.purpose in EDGE_PURPOSES]
    if face.groups:
        light = luminance(face.light * weights[None, None, :, None, :])
        yield from _skin(
            dict(zip(face.groups, np.moveaxis(light, 1, 0), strict=True)), face.key_at_left, edges
        )
    if preview.layers.samples and face.frame is not None and KEY_SPOT in total:
        yield from picture_measures(preview.layers, weights, face.frame, total[KEY_SPOT], edges)


def _skin(light: dict[str, np.ndarray], key_at_left: bool, edges: list[int]) -> Iterator[Measure]:
    """Of light on groups of skin, by name: (replicas, lights, 2), direct and bounced."""
    total = {name: it.sum(axis=2) for name, it in light.items()}
    near = "l" if key_at_left else "r"

    def pair(one: str, other: str) -> np.ndarray:
        return np.stack([total[one], total[other]], axis=1)

    for side, eye in (("l", "sitter_left"), ("r", "sitter_right")):
        if {f"eye_{side}", f"malar_{side}"} <= total.keys():
            yield OfSums(f"eye_shade.{eye}", "stops", pair(f"eye_{side}", f"malar_{side}"), _stops)
    if {"under_chin", "chin_front"} <= total.keys():
        yield OfSums("under_chin", "stops", pair("under_chin", "chin_front"), _stops)
    fields = [it for name, it in total.items() if name.startswith("field_")]
    if fields and f"malar_{near}" in total:
        half = np.arange(len(fields[0])) % 2
        yield BrightestOf("forehead", "stops", np.stack(fields, axis=1), total[f"malar_{near}"], half)
    if total.keys() >= set(PATCHES):
        yield OfSums("evenness", "stops", np.stack([total[name] for name in PATCHES], axis=1), _spread)
    if edges and {"nose_tip", f"malar_{near}"} <= total.keys():
        tip = np.zeros_like(total["nose_tip"])
        tip[:, edges] = light["nose_tip"][:, edges, 0]
        yield OfSums("rim_on_nose", "stops", np.stack([tip, total[f"malar_{near}"]], axis=1), _stops)
