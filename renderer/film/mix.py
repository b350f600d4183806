"""A mix: how strongly, and in which colour, each light's layer counts. Mixing traces nothing."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from renderer.colour import rgb_of_cct
from renderer.film.change import check_changes


@dataclass(frozen=True)
class Fader:
    """One light's part in a mix.

    dim     0 or more; 1 is the full output that the scene states
    cct     K, colour temperature behind any gels of the trade that the scene puts before it; luminance
            stays the same
    colour  linear RGB factors of a gel; what the scene's gels cost in stops is in all three
    """

    name: str
    purpose: str = "key"
    dim: float = 1.0
    cct: float = 5600.0
    colour: tuple[float, float, float] = (1.0, 1.0, 1.0)

    def weight(self) -> np.ndarray:
        """(3,) factors on the layer's linear RGB."""
        return self.dim * np.array(self.colour) * rgb_of_cct(self.cct)


@dataclass(frozen=True)
class Mix:
    """All faders, in the order of the film's layers."""

    faders: tuple[Fader, ...]

    def names(self) -> list[str]:
        return [fader.name for fader in self.faders]

    def weights(self) -> np.ndarray:
        """(lights, 3) factors on each layer's linear RGB."""
        return np.array([fader.weight() for fader in self.faders]).reshape(-1, 3)

    def changed(
        self,
        dim: Mapping[str, float] | None = None,
        cct: Mapping[str, float] | None = None,
        colour: Mapping[str, Sequence[float]] | None = None,
        solo: Collection[str] = (),
        mute: Collection[str] = (),
    ) -> Mix:
        """The mix with some lights set anew; with `solo`, every light not in it is dark.

        raises InputError for a name that is no light of this mix, or a value that cannot be
        """
        dim, cct, colour = dim or {}, cct or {}, colour or {}
        check_changes(self.names(), dim, cct, colour, solo, mute)
        faders = []
        for fader in self.faders:
            name = fader.name
            silent = name in mute or (bool(solo) and name not in solo)
            rgb = colour.get(name, fader.colour)
            faders.append(
                replace(
                    fader,
                    dim=0.0 if silent else dim.get(name, fader.dim),
                    cct=cct.get(name, fader.cct),
                    colour=(float(rgb[0]), float(rgb[1]), float(rgb[2])),
                )
            )
        return Mix(tuple(faders))
