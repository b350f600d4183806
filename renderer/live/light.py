"""A picture whose lights are being moved, where it is traced: what a few pixels get becomes the whole."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from renderer.film.denoise import cleaned, empty_plate
from renderer.film.film import HALVES, Film
from renderer.film.mix import Mix
from renderer.film.place import Place
from renderer.kernels import lattice as kernel
from renderer.kernels.layout import Tally
from renderer.live.lattice import FAR_STEP, Lattice


class Relit:
    """Light of a film, of which that of some lights is traced anew.

    All arrays lie in `place`. The film's own are changed where that is the processor's memory.
    """

    def __init__(self, place: Place, film: Film, lattice: Lattice, single: np.ndarray) -> None:
        """single  (m,) int32: pixels that are traced and shown by themselves"""
        self._place, self._lattice = place, lattice
        self._tally = place.tally(film.pixels)
        self._part: Tally | None = None
        self._plate = empty_plate(lattice.nodes.shape, place)
        rows, columns = (-(-n // FAR_STEP) for n in lattice.nodes.shape)
        self._bright = place.empty((HALVES, rows, columns), np.float32)
        self._far = place.bring(np.ascontiguousarray(lattice.nodes[::FAR_STEP, ::FAR_STEP]))
        self._shared, self._nodes = place.bring(lattice.shared), place.bring(lattice.nodes)
        between = lattice.near, lattice.share, lattice.gain / kernel.WHITE
        self._between = tuple(map(place.bring, between))
        self._picture = place.empty((film.width * film.height, 3), np.float32)
        self.single_out(single)

    def single_out(self, single: np.ndarray) -> None:
        """Other pixels, (m,) int32, are shown by themselves from now on."""
        lattice = self._lattice
        to = np.concatenate([lattice.nodes.ravel(), single]).astype(np.int32)
        by = np.concatenate([lattice.source.ravel(), single]).astype(np.int32)
        self._to, self._by, self._single = map(self._place.bring, (to, by, single))

    def with_lights(self, count: int) -> None:
        """As many samples of the same things seen, of other lights, from which nothing has come so far."""
        dark = self._emptied(count)
        self._tally = self._tally._replace(radiance=dark.radiance, irradiance=dark.irradiance)

    def part(self, lights: int) -> Tally:
        """An empty tally for so many lights; what is seen is noted in that of the whole."""
        if self._part is None or self._part.radiance.shape[2] != lights:
            self._part = self._emptied(lights)
        else:
            self._place.do(kernel.emptied, self._part.samples.shape[1], self._part)
        return self._part

    def _emptied(self, lights: int) -> Tally:
        halves, n = self._tally.samples.shape
        empty = self._place.empty
        tally = Tally(
            empty((halves, n, lights, 2, 3), np.float32),
            empty((halves, n, lights, 3), np.float32),
            empty((halves, n), np.int32),
            self._tally.seen,
        )
        self._place.do(kernel.emptied, n, tally)
        return tally

    def take_over(self, part: Tally, lights: list[int]) -> None:
        """Put the light of `part` in the place of that of `lights`, at the nodes and at single pixels."""
        place, count = self._place, math.prod(self._far.shape)
        place.do(kernel.brightness, count, part, self._far, self._bright)
        place.do(kernel.without_speck, count, part, self._far, self._bright, self._shared)
        numbers = place.bring(np.array(lights, np.int32))
        place.do(kernel.take_over, len(self._to), self._tally, part, numbers, self._to, self._by)

    def picture(self, mix: Mix) -> Any:
        """(n, 3) float32 linear RGB: from light at the nodes, its grain taken out, and from single pixels."""
        place, picture = self._place, self._picture
        weights = place.bring(mix.weights().astype(np.float32))
        nodes = math.prod(self._nodes.shape)
        place.do(kernel.white_nodes, nodes, self._tally, weights, self._nodes, self._plate)
        shown = cleaned(self._plate, place).shown.reshape(nodes, 3)
        place.do(kernel.light_between, len(picture), shown, *self._between, picture)
        place.do(kernel.sent_by, len(self._single), self._tally, weights, self._single, picture)
        return picture
