"""A head before one flat diffuser or several in a row, and the light that goes to and fro between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from renderer.enclosure.beam import Head
from renderer.enclosure.check import SAME, count, number
from renderer.enclosure.diffusion import Diffusion
from renderer.enclosure.outline import Cells, Outline, RectangleCells, Rectangular, Round, RoundCells
from renderer.enclosure.row_glow import RowGlow, Sheet
from renderer.errors import InputError

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Diffuser:
    """A flat diffuser, its middle on the axis of the head and square to it.

    diffusion  what it does to light
    outline    Round or Rectangular
    distance   from the head [m]. Raises InputError unless above 0
    """

    diffusion: Diffusion
    outline: Outline
    distance: float

    def __post_init__(self) -> None:
        number("diffuser: distance", self.distance, 0.0, 100.0, "metres from the head", above=True)


def solve_row(head: Head, diffusers: Sequence[Diffuser], cells: int = 16) -> RowGlow:
    """The light of a head through diffusers, nearest first, after all reflections between them.

    cells  across the longer side of each

    Between them lies open air: what leaves past an edge is lost to the row. Behind the head nothing
    returns light. The head is a point. Diffuse light that passes a middle diffuser straight goes on to
    the next, which is exact only where all outlines are alike: so from three on they have to be.
    Raises InputError for none, for mixed kinds, for wrong order, or where the cells are too coarse.
    """
    count("cells", cells, 1, 64)
    _check(diffusers)
    grids = [_cells(diffusers, i, cells) for i in range(len(diffusers))]
    direct = [_from_head(head, diffusers, grids, i) for i in range(len(diffusers))]
    exchange = {
        (i, j): grids[i].exchange(grids[j], diffusers[j].distance - diffusers[i].distance)  # type: ignore[arg-type]
        for i, j in combinations(range(len(grids)), 2)
        if all(between.diffusion.direct > 0.0 for between in diffusers[i + 1 : j])
    }
    back, front = _solve([d.diffusion for d in diffusers], [g.areas for g in grids], exchange, direct)
    sheets = [
        Sheet(d.diffusion, grid, *lights)
        for d, grid, *lights in zip(diffusers, grids, direct, back, front, strict=True)
    ]
    return RowGlow(head.lumens, tuple(sheets), exchange)


def _check(diffusers: Sequence[Diffuser]) -> None:
    if not diffusers:
        raise InputError("diffusers: none given: expected at least one before the head")
    for i, (near, far) in enumerate(pairwise(diffusers), 1):
        if type(near.outline) is not type(far.outline):
            raise InputError(f"diffuser {i}: round and rectangular are mixed: expected one kind in a row")
        if far.distance - near.distance <= SAME:
            raise InputError(
                f"diffuser {i}: {far.distance:g} metres from the head, behind one at {near.distance:g}:"
                " expected the nearest first, with a gap"
            )
    if len(diffusers) > 2 and len({d.outline for d in diffusers}) > 1:
        raise InputError("diffusers: three or more in a row have to be of one size")


def _shadows(diffusers: Sequence[Diffuser], i: int) -> list[tuple[Outline, float]]:
    """Outlines of those before diffuser i, as scaled by the head's light on its plane."""
    return [(d.outline, diffusers[i].distance / d.distance) for d in diffusers[:i]]


def _cells(diffusers: Sequence[Diffuser], i: int, cells: int) -> Cells:
    outline, shadows = diffusers[i].outline, _shadows(diffusers, i)
    if isinstance(outline, Round):
        return RoundCells(outline, [(o, k) for o, k in shadows if isinstance(o, Round)], cells)
    return RectangleCells(outline, [(o, k) for o, k in shadows if isinstance(o, Rectangular)], cells)


def _from_head(head: Head, diffusers: Sequence[Diffuser], grids: Sequence[Cells], i: int) -> Floats:
    """Illuminance [lx] straight from the head, through or past those before (n,)."""
    light = grids[i].from_head(head, diffusers[i].distance)
    for before, (outline, scale) in zip(diffusers[:i], _shadows(diffusers, i), strict=True):
        behind = grids[i].behind(outline, scale)  # type: ignore[arg-type]
        light = np.where(behind, light * before.diffusion.direct, light)
    return light


def _solve(
    cloths: Sequence[Diffusion],
    areas: Sequence[Floats],
    exchange: dict[tuple[int, int], Floats],
    direct: Sequence[Floats],
) -> tuple[list[Floats], list[Floats]]:
    """Illuminance [lx] of every cell on the head's side and on the far side.

    Unknowns are the faces in order: back and front of the first, of the second, ... The first back sees
    the head alone and the last front sees nothing, so their rows of the system stay empty.
    """
    starts = np.cumsum([0, *(len(a) for a in areas for _ in range(2))])
    face = [slice(int(a), int(b)) for a, b in pairwise(starts)]
    system = np.eye(int(starts[-1]))
    source = np.zeros(int(starts[-1]))
    for i, light in enumerate(direct):
        source[face[2 * i]] = light
    for (i, j), area in exchange.items():
        through = math.prod(cloth.direct for cloth in cloths[i + 1 : j])
        to_far, to_near = through * area.T / areas[j][:, None], through * area / areas[i][:, None]
        system[face[2 * j], face[2 * i]] = -to_far * cloths[i].scattered
        system[face[2 * j], face[2 * i + 1]] = -to_far * cloths[i].reflectance
        system[face[2 * i + 1], face[2 * j]] = -to_near * cloths[j].reflectance
        system[face[2 * i + 1], face[2 * j + 1]] = -to_near * cloths[j].scattered
    inner = slice(len(areas[0]), int(starts[-1]) - len(areas[-1]))
    light = source.copy()
    if inner.stop > inner.start and exchange:
        known = source[inner] - system[inner, face[0]] @ source[face[0]]
        light[inner] = np.linalg.solve(system[inner, inner], known)
    return [light[f] for f in face[0::2]], [light[f] for f in face[1::2]]
