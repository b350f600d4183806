"""Scenes traced one after the other; a scene whose light is there already is mixed from it, exactly."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from renderer.compare.footprint import Footprint, footprint
from renderer.film.film import HALF_FLOAT
from renderer.film.layers import Layers
from renderer.film.mix import Fader, Mix
from renderer.film.pool import Pool
from renderer.meter.face import FaceTrace
from renderer.preview import Preview
from renderer.scene.models import Scene
from renderer.world.build import World, build

Trace = Callable[..., Preview]


@dataclass(frozen=True)
class Taken:
    """A preview, and the name of the scene whose layers it is mixed from; None where it was traced itself."""

    preview: Preview
    of: str | None = None


class Stock:
    """Traces what it has to; `options` go to `Preview.trace`.

    traced  how many scenes were traced
    """

    def __init__(self, trace: Trace = Preview.trace, **options: Any) -> None:
        self.traced = 0
        self._trace, self._options = trace, options
        self._kept: dict[str, tuple[str, Footprint, Preview]] = {}

    def take(self, scene: Scene, name: str) -> Taken:
        """The scene, traced or mixed anew. Raises InputError for what cannot be built, and KeyboardInterrupt
        where the tracing was interrupted, since half a trace is not comparable with a whole one."""
        world = build(scene)
        own = footprint(world)
        there = self._kept.get(own.digest)
        if there is not None:
            return Taken(mixed_anew(there[2], there[1], world, own), there[0])
        before = Pool.interrupts
        preview = self._trace(world, **self._options)
        if Pool.interrupts > before:
            raise KeyboardInterrupt
        self.traced += 1
        self._kept[own.digest] = (name, own, preview)
        return Taken(preview)

    def forget(self, digest: str) -> None:
        """Let go of the layers that no later scene is mixed from."""
        self._kept.pop(digest, None)


def mixed_anew(preview: Preview, own: Footprint, world: World, other: Footprint) -> Preview:
    """A preview of `world`, whose footprint `other` has the digest of `own`, from the layers of `preview`."""
    pairs = zip(other.levels, own.levels, strict=True)
    factors = np.array([1.0 if b == a else b / a for b, a in pairs])
    mix = Mix(tuple(Fader.of(layer) for layer in world.layers))
    eyes, face = preview.eyes, preview.face
    return Preview(
        world.scene,
        _brighter(preview.layers, factors).with_mix(mix),
        preview.marks,
        preview.missing,
        face and _brighter_face(face, factors),
        eyes and _brighter(eyes, factors).with_mix(mix),
    )


def _brighter(layers: Layers, factors: np.ndarray) -> Layers:
    """The layers with every light so many times as bright at full."""
    if (factors == 1.0).all():
        return layers
    planes = factors.astype(np.float32)[:, None, None, None]
    difference = layers.difference
    if difference is not None:
        difference = np.clip(difference * planes, -HALF_FLOAT, HALF_FLOAT).astype(np.float16)
    return replace(
        layers,
        radiance=layers.radiance * planes,
        bounced=layers.bounced * planes,
        irradiance=layers.irradiance * planes,
        replicas=layers.replicas * factors[:, None, None],
        difference=difference,
    )


def _brighter_face(face: FaceTrace, factors: np.ndarray) -> FaceTrace:
    if (factors == 1.0).all():
        return face
    glints = None
    if face.glints is not None:
        glints = tuple(
            replace(glint, luminance=tuple(float(x) for x in np.array(glint.luminance) * factors))
            for glint in face.glints
        )
    return replace(face, light=face.light * factors[:, None, None], glints=glints)
