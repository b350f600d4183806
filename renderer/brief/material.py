"""All that a brief is made from: the scene, the traced preview, what follows from both."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from renderer.brief.mast import Mast, masts
from renderer.brief.spot import Spot, spots
from renderer.brief.unit import Unit, units
from renderer.meter.expected import alone_of
from renderer.meter.numbers import Numbers
from renderer.preview import Preview
from renderer.rigging.report import Rig, rig
from renderer.scene.models import Scene


@dataclass(frozen=True)
class Material:
    """A preview in its mix; `room` is the wide picture of the room, None where it was not traced."""

    preview: Preview
    room: np.ndarray | None = None

    @property
    def scene(self) -> Scene:
        return self.preview.scene

    @cached_property
    def units(self) -> list[Unit]:
        return units(self.scene, self.preview.layers.mix)

    @cached_property
    def lit(self) -> list[Unit]:
        """Everything that gives light, the windows and the room's own among it."""
        return [unit for unit in self.units if unit.fader is not None]

    @cached_property
    def key(self) -> Unit:
        """The light that ratios are read against."""
        name = self.preview.key()
        return next(unit for unit in self.lit if unit.name == name)

    @cached_property
    def masts(self) -> list[Mast]:
        return masts(self.scene, self.units)

    @cached_property
    def spots(self) -> list[Spot]:
        return spots(self.preview.marks)

    @cached_property
    def numbers(self) -> Numbers:
        """As a preview writes them."""
        return self.preview.numbers()

    @cached_property
    def alone(self) -> dict[str, Numbers]:
        """The numbers of each light alone at its level, without the measures of the face."""
        return alone_of(self.preview.layers, self.preview.marks, self.scene.camera)

    @cached_property
    def rig(self) -> Rig:
        return rig(self.scene)
