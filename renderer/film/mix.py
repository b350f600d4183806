"""A mix: how strongly, and in which colour, each light's layer counts. Mixing traces nothing."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from renderer.colour import rgb_of_cct
from renderer.film.change import check_changes, gels_of
from renderer.scene.gel import CLEAR, Entry, Gel
from renderer.scene.layer import Layer
from renderer.scene.white import Locus, White


@dataclass(frozen=True)
class Fader:
    """One light's part in a mix.

    dim     0 or more; 1 is the full output that the scene states
    cct     K, colour temperature of the lamp itself; luminance stays the same
    colour  linear RGB factors
    locus   line that its white lies on, None for the blend
    duv     its place off the black bodies instead, None where not told
    gel     what stands before it: moves the white by mired, costs light in stops
    """

    name: str
    purpose: str = "key"
    dim: float = 1.0
    cct: float = 5600.0
    colour: tuple[float, float, float] = (1.0, 1.0, 1.0)
    locus: Locus | None = None
    duv: float | None = None
    gel: Gel = CLEAR

    @classmethod
    def of(cls, layer: Layer) -> Fader:
        """That of a scene's light as it is written."""
        white = layer.white
        return cls(
            layer.name, layer.purpose, layer.dim, white.cct, white.colour, white.locus, white.duv, white.gel
        )

    @property
    def white(self) -> White:
        return White(self.cct, self.locus, self.duv, self.colour, self.gel)

    def weight(self) -> np.ndarray:
        """(3,) factors on the layer's linear RGB."""
        white = self.white
        rgb = rgb_of_cct(white.behind, white.locus or "blend", white.duv)
        return np.asarray(self.dim * np.array(white.factors) * rgb)


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
        gel: Mapping[str, Entry | Sequence[Entry]] | None = None,
    ) -> Mix:
        """The mix with some lights set anew; with `solo`, every light not in it is dark.

        gel  sheets in place of all that stood before a light, none for no gel; as in a scene

        raises InputError for a name that is no light of this mix, or a value that cannot be
        """
        dim, cct, colour, gel = dim or {}, cct or {}, colour or {}, gel or {}
        lights = {fader.name: fader.white for fader in self.faders}
        check_changes(lights, dim, cct, colour, solo, mute, gel)
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
                    gel=gels_of(name, gel[name]) if name in gel else fader.gel,
                )
            )
        return Mix(tuple(faders))
