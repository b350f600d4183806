"""Where the arrays of a picture lie, and who works on them: here the processor's memory and its threads.

`renderer.film.card` has the other place. What is done step by step in either is written once, over a place.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from renderer.film.share import shared_out
from renderer.kernels import denoise as kernel
from renderer.kernels.each import Each
from renderer.kernels.layout import Tally
from renderer.kernels.plate import Plate


class Place:
    """The processor.

    threads  None: as many as there are cores
    """

    def __init__(self, threads: int | None = None) -> None:
        self.threads = threads

    def bring(self, array: np.ndarray) -> Any:
        """The array as it lies in this place. Not a copy where it lies there already."""
        return array

    def back(self, array: Any) -> np.ndarray:
        """The array as numpy has it. Not a copy where it lies there already."""
        return np.asarray(array)

    def empty(self, shape: tuple[int, ...], dtype: np.typing.DTypeLike) -> Any:
        """A new array in this place, of any values."""
        return np.empty(shape, dtype)

    def do(self, step: Each, count: int, *arguments: Any) -> None:
        """A step for things 0 .. count - 1; arrays among the arguments lie in this place."""
        shared_out(lambda first, end: step.between(first, end, *arguments), count, self.threads)

    def clean(self, step: int, plate: Plate, how: kernel.Reach) -> None:
        """A step of `renderer.kernels.denoise` for all pixels of a plate that lies in this place."""
        rows, _ = kernel.extent(step, plate)
        shared_out(lambda first, end: kernel.work_on_rows(step, first, end, plate, how), rows, self.threads)

    def tally(self, tally: Tally) -> Tally:
        """A tally as it lies in this place."""
        return Tally(*map(self.bring, tally))
