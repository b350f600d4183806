"""The meters of a scene, and nothing else, traced with as many samples as another tracing had."""

from __future__ import annotations

import time
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from renderer.film.layers import Layers
from renderer.film.mix import Fader, Mix
from renderer.film.tracing import probed, run
from renderer.meter.expected import Setting, alone_of, settings
from renderer.meter.found import settled
from renderer.meter.mark import Mark, marks_of, probes_of
from renderer.meter.numbers import numbers
from renderer.scene.models import Scene
from renderer.solve.size import sized
from renderer.world.build import build


@dataclass(frozen=True)
class Metering:
    """layers: of the marks alone; missing: a line for each standing mark that cannot be had; samples: of
    each replica"""

    scene: Scene
    layers: Layers
    marks: list[Mark]
    missing: list[str]
    samples: int

    @classmethod
    def traced(
        cls,
        scene: Scene,
        within: float = 0.01,
        seed: int = 0,
        threads: int | None = None,
        samples: int | None = None,
    ) -> Metering:
        """samples: trace just so many instead of as many as `within` [stops] asks for."""
        started = time.monotonic()
        world = settled(build(sized(scene, False)), threads, seed)
        marks, missing = marks_of(world)
        mix = Mix(tuple(Fader.of(layer) for layer in world.layers))
        given = (world.bare_faced.packed, world.camera, probes_of(marks), mix)
        if samples is None:
            film = run(*given, within=within, seed=seed, threads=threads, picture=False)
        else:
            film = probed(*given, samples, seed, threads)
        if film.halted:  # half a tracing is none
            raise KeyboardInterrupt
        layers = film.layers(time.monotonic() - started, seed, False)
        taken = int(film.probe_counts.max(initial=0))
        return cls(scene, layers, marks, missing, taken)

    @property
    def lights(self) -> list[str]:
        return self.layers.mix.names()

    @cached_property
    def replicas(self) -> np.ndarray:
        """(replicas, marks, lights) lux or cd/m2 of each light at its level."""
        return self.layers.values()

    @cached_property
    def levels(self) -> np.ndarray:
        """(marks, lights) their means."""
        return np.asarray(self.replicas.mean(axis=0))

    def error(self, mark: int, light: int | None) -> float:
        """Standard error [stops] of a light alone, or of all together, at a mark."""
        several = self.replicas[:, mark]
        values = several.sum(axis=1) if light is None else several[:, light]
        mean = float(values.mean())
        if not mean > 0.0:
            return float("inf")
        return float(values.std(ddof=1) / (np.sqrt(len(values)) * mean * np.log(2.0)))

    def settings(self) -> list[Setting]:
        """The readings to expect."""
        camera = self.scene.camera
        together = numbers(self.layers, self.marks, self.missing, camera, target=None)
        return settings(together, alone_of(self.layers, self.marks, camera))
