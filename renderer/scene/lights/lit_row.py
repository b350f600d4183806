"""What a head makes of the sheets before it, by `renderer.enclosure`."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from renderer.enclosure.beam import CosineBeam, Floats, Head
from renderer.enclosure.outline import RectangleCells, Rectangular, Round, RoundCells
from renderer.enclosure.row import Diffuser, solve_row
from renderer.enclosure.row_glow import RowGlow, Sheet
from renderer.scene.lights.disc_beam import disc_lobe, lobe_flux
from renderer.scene.lights.uneven import CELLS, averaged, middles, numbers, read_between
from renderer.scene.parts import Numbers
from renderer.units import stops

if TYPE_CHECKING:
    from renderer.scene.lights.diffuser import DiffuserLight, Leaf

FINE = 48
"""Cells across a sheet that the light is worked out for."""
LEAST_PAST = 0.1
"""The head's share of the looks at this light is that of its light past or through the sheets, but at least
this."""
REACH = 1.0
"""Metres before the last sheet for which figures are given."""

solved = lru_cache(maxsize=32)(solve_row)


def row_of(light: DiffuserLight) -> RowGlow:
    """The light of its head through its sheets; kept for the next who asks."""
    head = Head(light.head.lumens, CosineBeam(light.head.exponent))
    row = []
    for sheet in light.sheet:
        outline = Rectangular(*sheet.size()) if sheet.diameter is None else Round(sheet.diameter)
        row.append(Diffuser(sheet.cloth(), outline, sheet.distance))
    return solved(head, tuple(row), FINE)


def leaf_sent(light: DiffuserLight, leaf: Leaf) -> tuple[float, Numbers | None]:
    """Mean luminance [cd/m2] of a face of a sheet, to those rays that do not pass it, and its table."""
    sheet = row_of(light).sheets[leaf.number]
    sent = sheet.onward if leaf.side == "front" else sheet.backward
    mean = sheet.flux(sent) / float(sheet.grid.areas.sum()) / math.pi / (1.0 - sheet.diffusion.direct)
    return mean, numbers(_table(sheet, sent)) if mean > 0.0 else None


def _table(sheet: Sheet, sent: Floats) -> Floats:
    """Rings of equal area, or rows up and columns across."""
    grid = sheet.grid
    if isinstance(grid, RoundCells):
        shares = np.square(grid.radii / grid.radii[-1])
        return averaged(shares, sent, np.linspace(0.0, 1.0, CELLS + 1))[:, None]
    across, up = (np.concatenate([-edges[:0:-1], edges]) for edges in grid.edges)
    values = grid.picture(sent)
    for edges in (up, across):  # along the rows, then along the columns
        at = np.linspace(edges[0], edges[-1], 2 * CELLS + 1)[1::2]
        values = read_between(middles(edges), values, at).T
    return values


def head_sent(light: DiffuserLight) -> tuple[float, Numbers]:
    """Nominal luminance [cd/m2] of the aperture, and its factors by direction: together the true ones.

    I0 cos^n from a flat face is a luminance I0 cos^(n - 1) over its area. Rows are straight lines apart, so
    the level is set by their own flux. How often the head is looked at goes by the nominal luminance;
    what lies before the sheets sees little of it, so that is the level of what goes past them.
    """
    head = light.head
    lobe = disc_lobe(head.exponent)
    area = math.pi * (head.diameter / 2) ** 2
    peak = head.lumens / (area * lobe_flux(lobe))
    row = row_of(light)
    nominal = max(row.missed + head_straight(light), LEAST_PAST * row.scattered_out) / (math.pi * area)
    return nominal, tuple((float(factor),) * CELLS for factor in lobe * (peak / nominal))


def head_straight(light: DiffuserLight) -> float:
    """Lumens of the head that pass the last sheet straight."""
    last = row_of(light).sheets[-1]
    return last.flux(last.direct) * last.diffusion.direct


def on_axis(light: DiffuserLight, distance: float) -> float:
    """Illuminance [lx] on the axis, `distance` [m] before the last sheet: of its light, and straight through.

    Its cells by the closed forms of a disc, R^2 / (R^2 + h^2), and of a rectangle with a corner on the axis
    (Howell, catalogue of configuration factors, B; Siegel and Howell, 4th ed., p. 842).
    """
    sheet = row_of(light).sheets[-1]
    grid = sheet.grid
    if isinstance(grid, RoundCells):
        squares = np.square(grid.radii)
        scattered = float(np.diff(squares / (squares + distance**2)) @ sheet.onward)
    else:
        scattered = 4.0 * float(_corner_cells(grid, distance) @ sheet.onward)
    passed = math.prod(each.diffusion.direct for each in row_of(light).sheets)
    return scattered + passed * bare_on_axis(light, distance)


def _corner_cells(grid: RectangleCells, distance: float) -> Floats:
    """Configuration factors of the cells of one quarter (n,)."""
    x, y = grid.edges[0][None, :] / distance, grid.edges[1][:, None] / distance
    p, q = np.sqrt(1.0 + x * x), np.sqrt(1.0 + y * y)
    corner = (x / p * np.arctan(y / p) + y / q * np.arctan(x / q)) / (2.0 * math.pi)
    return np.asarray(np.diff(np.diff(corner, axis=0), axis=1).ravel())


def figures(light: DiffuserLight) -> Iterator[tuple[str, str]]:
    """Head, where its light goes, and the last face, in words."""
    row, head, last = row_of(light), light.head, light.sheet[-1]
    yield (
        "head",
        f"{head.lumens:.0f} lumens, {head.beam:g} degrees, aperture {head.diameter:g} m,"
        f" {last.distance:.2f} m behind the last sheet",
    )
    beside = f", {row.beside:.0f} out between the sheets" if len(light.sheet) > 1 else ""
    straight = row.straight_out
    through = f" scattered and {straight:.0f} straight" if straight > 0.0 else ""
    yield (
        "light",
        f"{row.scattered_out:.0f} lumens go on{through}, {row.to_head:.0f} come back,"
        f" {row.missed:.0f} go past{beside}, {row.absorbed:.0f} stay in the sheets",
    )
    yield (
        "face",
        f"{light.face_luminance():,.0f} cd/m2 on average, its middle {row.sheets[-1].hot_centre():+.2f} stop;"
        f" {REACH:g} m before it {on_axis(light, REACH):.0f} lux, {loss(light, REACH):.2f} stops less than"
        " the bare head",
    )


def bare_on_axis(light: DiffuserLight, distance: float) -> float:
    """Illuminance [lx] of the head alone at that place, by the inverse square law."""
    head = light.head
    peak = head.lumens * (head.exponent + 1.0) / (2.0 * math.pi)
    return peak / (light.sheet[-1].distance + distance) ** 2


def loss(light: DiffuserLight, distance: float) -> float:
    """Stops that the sheets take on the axis, `distance` [m] before the last, against the bare head."""
    return stops(bare_on_axis(light, distance), on_axis(light, distance))
