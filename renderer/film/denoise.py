"""A picture without grain, for the eye alone: no number, map or layer is made from it.

What a pixel sends is what arrives at its surface times what the surface does with it. The film keeps both
with the same samples, so their ratio carries texture (hair, brows, lips, an iris, the edge of a sleeve
within a pixel) and little noise, which is evened first (`renderer.kernels.gain`). Then the light that arrives
is filtered, and the ratio put back.

An edge-avoiding a-trous filter: neighbours count by surface, normal and depth, and by whether their light
differs by more than the noise. Each independent half gets its weights from the other.

source  Dammertz et al., Edge-Avoiding A-Trous Wavelet Transform for Fast Global Illumination Filtering,
        HPG 2010; weights from the other half: Rousselle et al., Adaptive Rendering with Non-Local Means
        Filtering, SIGGRAPH Asia 2012; light apart from albedo, and variance that guides: Schied et al.,
        Spatiotemporal Variance-Guided Filtering, HPG 2017 (all from memory)
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from renderer.film.layers import Layers
from renderer.film.place import Place
from renderer.kernels import denoise as kernel
from renderer.kernels.lanes import LANES
from renderer.kernels.layout import MESH, SEEN
from renderer.kernels.plate import ASIDE, FAMILIES, GUIDES, LIGHTS, MARGIN, WINDOW, Plate
from renderer.world.material import HAIR

Plane = NDArray[np.float32]
Mask = NDArray[np.bool_]

# Chosen on scenes/default.toml alone, by error against a converged picture.
PASSES = ((1, 2, 3.0), (2, 1, 3.0), (4, 1, 3.0), (8, 1, 3.0))
"""Step, reach [pixels], and standard errors of a difference of light at which a neighbour counts no more."""
TURN = 0.35  # length of the difference of unit normals at which a neighbour counts no more: 20 degrees
DEPTH = 0.004  # m for each pixel of distance, that a neighbour may lie off the plane
REACHES = [
    kernel.Reach(step, reach, *(np.float32(it) for it in (limit**2, TURN**-2, DEPTH * step)))
    for step, reach, limit in PASSES
]
"""The passes as the kernel takes them."""


def denoised(layers: Layers, threads: int | None = None) -> Plane:
    """(h, w, 3) float32 linear RGB of the mix, luminance in cd/m2; raw where the halves were not kept."""
    picture = layers.picture()
    if layers.difference is None:
        return picture
    seen, unlit = layers.seen, layers.unlit()
    if unlit.any():  # a surface as any other
        seen = seen.copy()
        seen["emits"][unlit] = 0
    grain = Grain(picture, layers.half_difference(), layers.arriving(), seen, threads)
    return grain.without_sparks()


class Grain:
    """A picture whose grain is taken out.

    picture  (h, w, 3) float32 mean of two independent halves; error: half of what they differ by
    light    (h, w, 3) float32 light arriving at the first surface seen, with the same samples
    seen     (h, w) SEEN records

    shown       (h, w, 3) float32 the cleaned picture, and
    difference  half of what its halves differ by: raw in the one and 0 in the other where it is not plain
    plain       (h, w) bool: pixels that can be cleaned, one surface each. Hair is not: its strands differ
                more than its noise
    outline     (h, w) bool: pixels beside another surface
    """

    def __init__(
        self, picture: Plane, error: Plane, light: Plane, seen: NDArray[np.void], threads: int | None = None
    ) -> None:
        self._place = Place(threads)
        self._plate = cleaned(plate_of(picture, error, light, seen, self._place), self._place)
        self.shown, self.difference = self._plate.shown, self._plate.difference
        self.plain, self.outline = self._plate.plain, self._plate.outline

    def without_sparks(self) -> Plane:
        """The cleaned picture without single bright pixels of which the halves do not agree."""
        self._place.clean(kernel.WITHOUT_SPARK, self._plate, REACHES[0])
        return self.shown


def cleaned(plate: Plate, place: Place) -> Plate:
    """All steps but the last, WITHOUT_SPARK, which only a picture that is looked at needs."""
    for step in kernel.BEFORE:
        place.clean(step, plate, REACHES[0])
    for how in REACHES:
        place.clean(kernel.FILTER, plate, how)
        plate = plate._replace(here=plate.there, there=plate.here)
    place.clean(kernel.FINISH, plate, REACHES[0])
    return plate


def plate_of(picture: Plane, error: Plane, light: Plane, seen: NDArray[np.void], place: Place) -> Plate:
    """What the steps work on, of arrays on the processor: nothing of it done."""
    picture, error, light = (
        place.bring(np.ascontiguousarray(it, np.float32)) for it in (picture, error, light)
    )
    seen_there = place.bring(np.ascontiguousarray(seen))
    return empty_plate(seen.shape, place)._replace(picture=picture, error=error, light=light, seen=seen_there)


def empty_plate(shape: tuple[int, int], place: Place) -> Plate:
    """A plate for a picture of so many rows and columns, of any values."""
    height, width = shape
    across = LANES * -(-width // LANES) + 2 * MARGIN

    def planes(count: int) -> Any:
        return place.empty((height + 2 * MARGIN, count, across), np.float32)

    def picture(*channels: int, dtype: np.typing.DTypeLike = np.float32) -> Any:
        return place.empty((height, width, *channels), dtype)

    return Plate(
        picture=picture(3),
        error=picture(3),
        light=picture(3),
        seen=picture(dtype=SEEN),
        textured=MESH * FAMILIES + HAIR,
        outline=picture(dtype=np.bool_),
        plain=picture(dtype=np.bool_),
        guide=planes(GUIDES),
        here=planes(LIGHTS),
        there=planes(LIGHTS),
        aside=planes(ASIDE),
        shown=picture(3),
        difference=picture(3),
    )


def box_sum(plane: NDArray[np.generic]) -> Plane:
    """Sums over the square of WINDOW pixels about every pixel, as far as it lies in the picture."""
    height, width = plane.shape
    padded = np.pad(plane, WINDOW // 2).astype(np.float32, copy=False)
    rows = sum((padded[k : k + height] for k in range(1, WINDOW)), start=padded[:height])
    total = sum((rows[:, k : k + width] for k in range(1, WINDOW)), start=rows[:, :width])
    return np.asarray(total)


def box_mean(plane: NDArray[np.generic]) -> Plane:
    """Means over the square of WINDOW pixels about every pixel, as far as it lies in the picture."""
    height, width = plane.shape
    return box_sum(plane) / np.outer(_inside(height), _inside(width))


def _inside(length: int) -> Plane:
    """How many pixels of a window lie in the picture, along one side of it."""
    at, reach = np.arange(length), WINDOW // 2
    return (np.minimum(at + reach, length - 1) - np.maximum(at - reach, 0) + 1).astype(np.float32)
