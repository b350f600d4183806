"""What a row of flat diffusers sends out, and where the rest of the light goes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from renderer.enclosure.diffusion import Diffusion
from renderer.enclosure.outline import Cells
from renderer.units import stops

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Sheet:
    """One diffuser of a row, solved; arrays run over its cells (n,), `grid.picture` lays them out.

    diffusion  what it does to light
    grid       its cells
    direct     illuminance straight from the head [lx]
    back       illuminance on the head's side, all light [lx]
    front      illuminance on the far side, returned by those after it [lx]
    """

    diffusion: Diffusion
    grid: Cells
    direct: Floats
    back: Floats
    front: Floats

    @property
    def onward(self) -> Floats:
        """Scattered exitance of the far side [lm/m2] (n,)."""
        return self.diffusion.scattered * self.back + self.diffusion.reflectance * self.front

    @property
    def backward(self) -> Floats:
        """Scattered exitance of the head's side [lm/m2] (n,)."""
        return self.diffusion.reflectance * self.back + self.diffusion.scattered * self.front

    @property
    def illuminance(self) -> Floats:
        """On the head's side [lx], as its cells lie: outward (rings,) or (up, across)."""
        return self.grid.picture(self.back)

    @property
    def luminance(self) -> Floats:
        """Of the far side, scattered light alone: M / pi [cd/m2], laid out as `illuminance`."""
        return self.grid.picture(self.onward) / math.pi

    def flux(self, exitance: Floats) -> float:
        """[lm] of an exitance or illuminance over the cells (n,)."""
        return float(exitance @ self.grid.areas)

    def hot_centre(self) -> float:
        """Brightest cell over the mean of the sheet, from the far side [stops]; 0 if it is dark."""
        mean = self.flux(self.onward) / float(self.grid.areas.sum())
        return stops(float(self.onward.max()), mean) if mean > 0.0 else 0.0


@dataclass(frozen=True)
class RowGlow:
    """A solved row, the sheet nearest to the head first.

    lumens    flux of the head
    sheets    the diffusers
    exchange  exchange areas [m2] of sheets i < j between which light passes (n_i, n_j)
    """

    lumens: float
    sheets: tuple[Sheet, ...]
    exchange: dict[tuple[int, int], Floats]

    @property
    def scattered_out(self) -> float:
        """Flux [lm] that the last sheet sends on scattered: the light that a camera sees as its face."""
        return self.sheets[-1].flux(self.sheets[-1].onward)

    @property
    def straight_out(self) -> float:
        """Flux [lm] that passes the last sheet with its direction kept."""
        last = self.sheets[-1]
        return last.flux(last.direct) * last.diffusion.direct + self._scatter[0]

    @property
    def to_head(self) -> float:
        """Flux [lm] that comes back out of the first sheet, towards the head."""
        return self.sheets[0].flux(self.sheets[0].backward) + self._scatter[1]

    @property
    def beside(self) -> float:
        """Flux [lm] of scattered light that leaves past the edges, between the sheets."""
        return self._scatter[2]

    @property
    def missed(self) -> float:
        """Flux [lm] straight from the head that goes past an edge: what no sheet and no exit accounts for."""
        kept = sum(s.flux(s.direct) * (1.0 - s.diffusion.direct) for s in self.sheets)
        last = self.sheets[-1]
        return self.lumens - kept - last.flux(last.direct) * last.diffusion.direct

    @property
    def absorbed(self) -> float:
        """Flux [lm] that ends in the sheets."""
        return sum((s.flux(s.back) + s.flux(s.front)) * s.diffusion.absorbed for s in self.sheets)

    @property
    def balance_error(self) -> float:
        """(all that leaves or stays - flux of the head) / flux of the head.

        It tests the exchange between the sheets; `missed` is itself a difference.
        """
        parts = (self.scattered_out, self.straight_out, self.to_head, self.beside, self.missed, self.absorbed)
        return (sum(parts) - self.lumens) / self.lumens

    @cached_property
    def _scatter(self) -> tuple[float, float, float]:
        """Scattered flux [lm] that passes the last sheet straight, the first one straight, and the edges."""
        count = len(self.sheets)
        onward, backward, beside = 0.0, 0.0, 0.0
        for i, sheet in enumerate(self.sheets):
            out, lost = self._followed(i, range(i + 1, count), sheet.onward)
            onward, beside = onward + out, beside + lost
            out, lost = self._followed(i, range(i - 1, -1, -1), sheet.backward)
            backward, beside = backward + out, beside + lost
        return onward, backward, beside

    def _followed(self, i: int, others: range, exitance: Floats) -> tuple[float, float]:
        """Of light scattered by sheet i, [lm] that passes all `others` straight, and [lm] lost past edges."""
        if len(others) == 0:
            return 0.0, 0.0
        going, passing, lost = self.sheets[i].flux(exitance), 1.0, 0.0
        for j in others:
            if passing == 0.0:
                break
            area = self.exchange[min(i, j), max(i, j)]
            lands = passing * float((area.T if i < j else area).sum(axis=0) @ exitance)
            lost += going - lands
            passing *= self.sheets[j].diffusion.direct
            going = lands * self.sheets[j].diffusion.direct
        return going, lost
