"""Photons traced one by one through a fabric cylinder or a row of diffusers: no view factors, no equations.

Written apart from the solver; it shares with it only the description of what is lit. A photon that meets
a wall passes, returns or ends there by chance, so a share p of n photons has the standard error
sqrt(p (1 - p) / n).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from renderer.enclosure.cylinder import FabricCylinder
from renderer.enclosure.fabric import Sleeve
from renderer.enclosure.grid import Grid
from renderer.enclosure.outline import Round
from renderer.enclosure.row import Diffuser

LIMIT = 4.0  # standard errors


def off(seen: float, expected: float, photons: int, bias: float = 0.0) -> float:
    """Deviation of a share from `expected`, less a stated bias, in standard errors (binomial)."""
    beyond = max(0.0, abs(seen - expected) - bias)
    return beyond / math.sqrt(max(expected * (1.0 - expected), 1.0 / photons) / photons)


def beam_directions(exponent: float, count: int, down: bool, rng: np.random.Generator) -> np.ndarray:
    """Unit vectors (count, 3) of a cos^n beam along -z or +z: cos(theta) = u^(1 / (n + 1))."""
    return _about(rng.random(count) ** (1.0 / (exponent + 1.0)), rng) * (1.0, 1.0, -1.0 if down else 1.0)


def _about(cosine: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    turn = 2.0 * math.pi * rng.random(len(cosine))
    sine = np.sqrt(1.0 - cosine * cosine)
    return np.stack([sine * np.cos(turn), sine * np.sin(turn), cosine], axis=1)


def scatter(normals: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Unit vectors (n, 3) about unit normals (n, 3) by the cosine law."""
    x = np.where(np.abs(normals[:, 2:]) < 0.9, (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    u = np.cross(normals, x)
    u /= np.linalg.norm(u, axis=1)[:, None]
    v = np.cross(normals, u)
    local = _about(np.sqrt(rng.random(len(normals))), rng)
    return local[:, :1] * u + local[:, 1:2] * v + local[:, 2:] * normals


@dataclass
class CylinderTrace:
    """Counts of photons: out of every patch (rows, sectors), ended in sleeves, ended in fabric, in all."""

    out: np.ndarray
    in_sleeves: int
    in_fabric: int
    photons: int


def _patch_of(grid: Grid, p: np.ndarray, wall: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Row and sector of points (n, 3) on walls (n,): 0 side, 1 bottom, 2 top."""
    turn = np.arctan2(p[:, 1], p[:, 0]) % (2.0 * math.pi)
    sector = np.minimum((turn / (2.0 * math.pi) * grid.sectors).astype(int), grid.sectors - 1)
    band = np.clip(np.searchsorted(grid.heights, p[:, 2], "right") - 1, 0, grid.bands - 1)
    reach = np.hypot(p[:, 0], p[:, 1])
    ring = np.clip(np.searchsorted(grid.radii, reach, "right") - 1, 0, grid.rings - 1)
    row = np.where(wall == 0, band, grid.bands + ring + (wall == 2) * grid.rings)
    return row, sector


def _moved(grid: Grid, p: np.ndarray, wall: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Points moved to anywhere in the patch that they lie on, evenly by area."""
    row, sector = _patch_of(grid, p, wall)
    turn = (sector + rng.random(len(p))) * (2.0 * math.pi / grid.sectors)
    heights, squares = np.array(grid.heights), np.square(grid.radii)
    band = np.where(wall == 0, row, 0)
    z = heights[band] + rng.random(len(p)) * np.diff(heights)[band]
    ring = np.where(wall == 0, 0, (row - grid.bands) % grid.rings)
    reach = np.sqrt(squares[ring] + rng.random(len(p)) * np.diff(squares)[ring])
    reach = np.where(wall == 0, grid.radius, reach)
    z = np.where(wall == 0, z, np.where(wall == 1, 0.0, grid.heights[-1]))
    return np.stack([reach * np.cos(turn), reach * np.sin(turn), z], axis=1)


def _under(sleeve: Sleeve, p: np.ndarray, wall: np.ndarray) -> np.ndarray:
    turn = np.degrees(np.arctan2(p[:, 1], p[:, 0]))
    start, end = sleeve.covers
    here = (wall == ("side", "bottom", "top").index(sleeve.on)) & ((turn - start) % 360.0 < end - start)
    if sleeve.height is not None:
        here &= (p[:, 2] > sleeve.height[0]) & (p[:, 2] < sleeve.height[1])
    return here


def trace_cylinder(
    cylinder: FabricCylinder, exponent: float, at: float, photons: int, seed: int, grid: Grid, mixing: bool
) -> CylinderTrace:
    """Photons of a cos^n head on the axis, pointing down, counted on the patches of `grid`.

    mixing  every photon is moved about its patch before its fate falls. That is precisely the world in
            which each patch is evenly lit, and the solver's equations hold without any error of the grid
    """
    rng = np.random.default_rng(seed)
    trace = CylinderTrace(np.zeros((grid.rows, grid.sectors), int), 0, 0, photons)
    p = np.tile((0.0, 0.0, at), (photons, 1))
    d = beam_directions(exponent, photons, True, rng)
    cloth = np.array(
        [(f.transmittance, f.reflectance) for f in (cylinder.side, cylinder.bottom, cylinder.top)]
    )
    while len(p):
        p, wall = _hit(cylinder, p, d)
        if mixing:
            p = _moved(grid, p, wall, rng)
        passes, returns = cloth[wall].T
        chance = rng.random(len(p))
        back, through = chance < returns, (chance >= returns) & (chance < returns + passes)
        trace.in_fabric += int((chance >= returns + passes).sum())
        covered = np.zeros(len(p), bool)
        for sleeve in cylinder.sleeves:
            under = _under(sleeve, p, wall) & ~covered
            covered |= under
            if sleeve.outside:
                waiting = under & through
                through &= ~under
                back |= _between(sleeve, waiting, passes, returns, trace, rng)
            else:  # the fabric is never met: undo what it did
                trace.in_fabric -= int((under & (chance >= returns + passes)).sum())
                through &= ~under
                returned = under & (rng.random(len(p)) < sleeve.reflectance)
                trace.in_sleeves += int((under & ~returned).sum())
                back = np.where(under, returned, back)
        row, sector = _patch_of(grid, p, wall)
        np.add.at(trace.out, (row[through], sector[through]), 1)
        p, wall = p[back], wall[back]
        normals = np.stack([-p[:, 0] / cylinder.radius, -p[:, 1] / cylinder.radius, 0.0 * p[:, 2]], axis=1)
        normals = np.where((wall == 0)[:, None], normals, np.outer(np.where(wall == 1, 1.0, -1.0), (0, 0, 1)))
        d = scatter(normals, rng)
    return trace


def _between(
    sleeve: Sleeve,
    waiting: np.ndarray,
    passes: np.ndarray,
    returns: np.ndarray,
    trace: CylinderTrace,
    rng: np.random.Generator,
) -> np.ndarray:
    """Photons to and fro between fabric and sleeve; which of them come back inside (n,)."""
    inside = np.zeros(len(waiting), bool)
    while waiting.any():
        kept = waiting & (rng.random(len(waiting)) >= sleeve.reflectance)
        trace.in_sleeves += int(kept.sum())
        waiting = waiting & ~kept
        chance = rng.random(len(waiting))
        inside |= waiting & (chance < passes)
        trace.in_fabric += int((waiting & (chance >= passes + returns)).sum())
        waiting = waiting & (chance >= passes) & (chance < passes + returns)
    return inside


def _hit(cylinder: FabricCylinder, p: np.ndarray, d: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where rays from inside meet the walls (n, 3), and which (n,)."""
    a = d[:, 0] ** 2 + d[:, 1] ** 2
    b = p[:, 0] * d[:, 0] + p[:, 1] * d[:, 1]
    c = np.minimum(p[:, 0] ** 2 + p[:, 1] ** 2 - cylinder.radius**2, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        to_side = np.where(a > 0.0, (np.sqrt(b * b - a * c) - b) / a, np.inf)
        end = np.where(d[:, 2] > 0.0, cylinder.height - p[:, 2], -p[:, 2])
        to_end = np.where(d[:, 2] != 0.0, end / d[:, 2], np.inf)
    wall = np.where(to_side < to_end, 0, np.where(d[:, 2] > 0.0, 2, 1))
    point = p + np.minimum(to_side, to_end)[:, None] * d
    point[:, 2] = np.clip(point[:, 2], 0.0, cylinder.height)
    return point, wall


@dataclass
class RowTrace:
    """Counts of photons by where they end, under the names of `RowGlow`."""

    scattered_out: int = 0
    straight_out: int = 0
    to_head: int = 0
    beside: int = 0
    missed: int = 0
    absorbed: int = 0


def trace_row(diffusers: list[Diffuser], exponent: float, photons: int, seed: int) -> RowTrace:
    """Photons of a cos^n head through a row; each diffuser is met at the very place of its plane."""
    rng, trace = np.random.default_rng(seed), RowTrace()
    p = np.zeros((photons, 3))
    d = beam_directions(exponent, photons, False, rng)
    at = np.full(photons, -1)  # the sheet that a photon comes from
    fresh = np.ones(photons, bool)  # never scattered
    kept = np.zeros(photons, bool)  # passed the sheet that it comes from straight
    planes = np.array([diffuser.distance for diffuser in diffusers])
    fates = np.array(
        [(d.diffusion.reflectance, d.diffusion.direct, d.diffusion.scattered) for d in diffusers]
    ).cumsum(axis=1)
    while len(p):
        coming = at + np.where(d[:, 2] > 0.0, 1, -1)
        out, home = coming == len(diffusers), coming < 0
        trace.straight_out += int((out & kept).sum())
        trace.missed += int((out & ~kept & fresh).sum())
        trace.scattered_out += int((out & ~kept & ~fresh).sum())
        trace.to_head += int(home.sum())
        stay = ~(out | home)
        p, d, at, fresh = p[stay], d[stay], coming[stay], fresh[stay]
        p = p + ((planes[at] - p[:, 2]) / d[:, 2])[:, None] * d
        met = np.zeros(len(p), bool)
        for i, diffuser in enumerate(diffusers):
            met |= (at == i) & _inside(diffuser, p)
        trace.beside += int((~met & ~fresh).sum())
        chance = rng.random(len(p))
        back, kept, spread = (
            met & (chance >= low) & (chance < high)
            for low, high in zip((0.0 * chance, *fates[at].T[:2]), fates[at].T, strict=True)
        )
        gone = met & ~(back | kept | spread)
        trace.absorbed += int(gone.sum())
        normals = np.outer(np.where(back, -1.0, 1.0) * np.sign(d[:, 2]), (0.0, 0.0, 1.0))
        d = np.where((back | spread)[:, None], scatter(normals, rng), d)
        stay = np.where(met, ~gone, fresh)
        fresh = fresh & ~(back | spread)
        p, d, at, fresh, kept = (x[stay] for x in (p, d, at, fresh, kept))
    return trace


def _inside(diffuser: Diffuser, p: np.ndarray) -> np.ndarray:
    outline = diffuser.outline
    if isinstance(outline, Round):
        return np.asarray(np.hypot(p[:, 0], p[:, 1]) < outline.diameter / 2.0)
    return np.asarray((np.abs(p[:, 0]) < outline.width / 2.0) & (np.abs(p[:, 1]) < outline.height / 2.0))
