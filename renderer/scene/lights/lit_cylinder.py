"""What a lamp inside a cylinder makes of its open faces, by `renderer.enclosure`."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from renderer.enclosure.beam import Beam, CosineBeam, Floats, Head
from renderer.enclosure.check import SAME
from renderer.enclosure.cylinder import FabricCylinder, solve
from renderer.enclosure.fabric import FULL_TURN, WALLS, Fabric, Sleeve, Wall
from renderer.enclosure.gain import sleeve_gains
from renderer.enclosure.glow import Glow
from renderer.enclosure.landing import Points, first_light
from renderer.scene.field import plain
from renderer.scene.lights.disc_beam import DEGREES, disc_lobe, lobe_flux
from renderer.scene.lights.inside import InnerLamp
from renderer.scene.lights.skirt import Patch
from renderer.scene.lights.uneven import CELLS, averaged, covered, middles, numbers, read_between
from renderer.scene.parts import Numbers
from renderer.scene.skin import luminance

if TYPE_CHECKING:
    from renderer.scene.lights.cylinder import CylinderLight

LEAST_SEEN = 0.1
"""The lamp's share of the looks at this light is that of what it sends out unscattered, but at least this."""

solved = lru_cache(maxsize=32)(solve)


class BareBulb:
    """Even in all directions: 1 / (4 pi) cd/lm. One object, `BARE`, so that what it lights is found again."""

    def intensity(self, theta: Floats) -> Floats:
        return np.full_like(np.asarray(theta, float), 1.0 / (4.0 * np.pi))

    def within(self, theta: Floats) -> Floats:
        return np.asarray((1.0 - np.cos(theta)) / 2.0)


BARE = BareBulb()


def head_of(lamp: InnerLamp) -> Head:
    beam: Beam = BARE if lamp.is_bare else CosineBeam.of_angle(lamp.beam)
    return Head(lamp.lumens, beam)


def enclosure_of(light: CylinderLight) -> tuple[FabricCylinder, Head, float, Points]:
    """The cylinder of a light that has a lamp and fabric, with its skirts as sleeves, and the lamp."""
    lamp, cloth = light.lamp, light.fabric
    if lamp is None or cloth is None:
        raise ValueError("a cylinder without lamp and fabric has nothing to work out")
    plate = Fabric(0.0, light.plate_reflectance)
    fabric = Fabric(cloth.transmittance, cloth.reflectance)

    def end(wall: Wall) -> Fabric:
        own = light.cloth(wall)
        if light.end(wall) == "none":
            return Fabric(1.0, 0.0)
        return Fabric(own.transmittance, own.reflectance) if light.end(wall) == "open" and own else plate

    sleeves = []
    for skirt in light.skirt:
        low, high = skirt.height or (0.0, light.length)
        if skirt.covers[1] - skirt.covers[0] > SAME and high - low > SAME:
            height = (max(0.0, low), min(high, light.length))
            sleeves.append(Sleeve(luminance(skirt.inside_reflectance), skirt.covers, height))
    cylinder = FabricCylinder(
        light.diameter / 2,
        light.length,
        fabric if light.side == "open" else plate,
        end("bottom"),
        end("top"),
        tuple(sleeves),
    )
    return cylinder, head_of(lamp), lamp.at, lamp.points


def glow_of(light: CylinderLight) -> Glow:
    """The light of its lamp after all reflections inside; kept for the next who asks."""
    return solved(*enclosure_of(light))


def sent(light: CylinderLight, wall: Wall, patch: Patch | None) -> tuple[float, Numbers | None]:
    """Mean luminance [cd/m2] and table of an end, or of an open patch of the side."""
    glow = glow_of(light)
    return end_sent(glow, wall) if patch is None else patch_sent(glow, patch)


def end_sent(glow: Glow, wall: Wall) -> tuple[float, Numbers | None]:
    """Mean luminance [cd/m2] of an end, and the table of it: rings of equal area, sectors."""
    radii = np.array(glow.grid.radii)
    shares = np.square(radii / radii[-1])
    values = glow.luminance_of(wall)
    mean = float((np.diff(shares) @ values).mean())
    table = averaged(shares, values, np.linspace(0.0, 1.0, CELLS + 1))
    return mean, numbers(_round(table))


def _round(table: Floats) -> Floats:
    """Columns (rows, sectors) as `CELLS` columns; one stays one."""
    sectors = table.shape[1]
    if sectors == 1:
        return table
    places, wanted = (np.arange(sectors) + 0.5) / sectors, (np.arange(CELLS) + 0.5) / CELLS
    return read_between(places, table.T, wanted, 1.0).T


def patch_sent(glow: Glow, patch: Patch) -> tuple[float, Numbers | None]:
    """Mean luminance [cd/m2] of an open patch of the side, and the table of it: bands, sectors.

    The mean weighs cells by what of them lies in the patch, so that the flux of all patches is that of the
    side; the table only gives the shape and runs smoothly from band to band.
    """
    values = glow.luminance_of("side")
    heights, (low, high) = np.array(glow.grid.heights), patch.height
    bands = covered(heights, low, high)
    start, end = patch.turn
    whole = end - start >= FULL_TURN - SAME
    unrolled = np.linspace(0.0, 2.0 * FULL_TURN, 2 * values.shape[1] + 1)
    sectors = covered(unrolled, start, end)
    twice = np.concatenate([values, values], axis=1)
    mean = float(bands @ twice @ sectors / (bands.sum() * sectors.sum()))
    rows, columns = bands > SAME, sectors > SAME
    up = np.linspace(low, high, 2 * CELLS + 1)[1::2]
    table = read_between(middles(heights)[rows], twice[rows], up)
    if values.shape[1] == 1:
        return mean, numbers(table[:, :1])
    around = np.linspace(start, end, 2 * CELLS + 1)[1::2]
    places, period = (middles(unrolled)[columns], FULL_TURN if whole else 0.0)
    return mean, numbers(read_between(places, table[:, columns].T, around, period).T)


def lamp_sent(light: CylinderLight) -> tuple[float, Numbers]:
    """Nominal luminance [cd/m2] of the lamp where it is seen, and its factors by direction: together the true
    ones.

    A bare bulb is even: lumens over pi times its surface. A disc sends I0 cos^n (`disc_beam`). How often the
    lamp is looked at goes by the nominal luminance, which is that of what leaves without being scattered.
    """
    lamp = light.lamp
    if lamp is None:
        raise ValueError("a cylinder without a lamp shows none")
    if lamp.is_bare:
        lobe, area = np.ones_like(DEGREES), math.pi * lamp.diameter**2
        peak = lamp.lumens / (math.pi * area)
    else:
        exponent = CosineBeam.of_angle(lamp.beam).exponent
        lobe, area = disc_lobe(exponent), math.pi * (lamp.diameter / 2.0) ** 2
        peak = lamp.lumens / (area * lobe_flux(lobe))
    nominal = max(straight_out(light), LEAST_SEEN * glow_of(light).emitted()) / (math.pi * area)
    return nominal, tuple((float(factor),) * CELLS for factor in lobe * (peak / nominal))


def straight_out(light: CylinderLight) -> float:
    """Lumens of the lamp that leave without meeting anything, and those that pass fabric straight."""
    _, head, at, points = enclosure_of(light)
    grid = glow_of(light).grid
    landed = first_light(grid, head, at, points)[:, 0] * grid.row_areas()
    bare = glow_of(light).bare.mean(axis=1)
    total = 0.0
    for wall in WALLS:
        cloth = light.cloth(wall)
        passed = cloth.weave if cloth is not None else 0.0
        if wall == "side":
            passed *= light.side == "open"
        else:
            passed = {"none": 1.0, "open": passed, "closed": 0.0}[light.end(wall)]
        rows = grid.rows_of(wall)
        total += passed * float((landed * bare)[rows].sum())
    return total


def figures(light: CylinderLight) -> Iterator[tuple[str, str]]:
    """Lamp, faces and what the skirts bring, in words."""
    cylinder, head, at, points = enclosure_of(light)
    glow = glow_of(light)
    lamp = light.lamp
    beam = "bare bulb" if lamp is None or lamp.is_bare else f"{plain(lamp.beam)} degrees, pointing {points}"
    yield (
        "lamp",
        f"{head.lumens:.0f} lumens, {beam}, {at:.2f} m above the lower end: {glow.emitted():.0f} lumens leave"
        f" the fabric ({glow.efficiency:.0%})",
    )
    walls: tuple[tuple[Wall, str], ...] = (("side", "bottom"), ("bottom", "middle"), ("top", "middle"))
    for wall, first in walls:
        mean = glow.mean_luminance(wall)
        if wall != "side" and light.end(wall) == "none":
            yield wall, f"nothing there: {glow.emitted(wall):.0f} lumens leave, straight or off the inside"
            continue
        if mean <= 0.0:
            continue
        profile = glow.side_profile()[1] if wall == "side" else glow.end_profile(wall)[1]
        seen = profile[~np.isnan(profile)]
        names = (first, "middle", "top") if wall == "side" else (first, "half way", "edge")
        picked = (seen[0], seen[len(seen) // 2], seen[-1])
        along = ", ".join(f"{name} {value:,.0f}" for name, value in zip(names, picked, strict=True))
        yield wall, f"{mean:,.0f} cd/m2 on average: {along}"
    if cylinder.sleeves:
        gain = sleeve_gains(cylinder, cylinder.sleeves, head, at, points)[-1]
        brighter = ", ".join(f"{wall} {stops:+.2f}" for wall, stops in gain.stops.items()) or "nothing open"
        yield "skirts", f"against none, what stays open: {brighter} stop; all light {gain.flux:+.2f} stop"
