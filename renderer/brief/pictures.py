"""Pictures for the page: encoded once, at the pixels that paper shows."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from PIL import Image

from renderer.brief.material import Material
from renderer.brief.page import Beside, Block, Picture, Pictures, Section, Table, Text
from renderer.brief.unit import Unit
from renderer.colour.transfer import bt709_signal
from renderer.picture.legend import three_figures
from renderer.preview import Preview
from renderer.units import MID_GREY, lux_on_matte, signed, stops_to_ratio

DOTS = 200.0
"""Pixels per inch that are kept; more does not show at arm's length (own choice)."""
QUALITY = 90
GAP = 3.0
MAP, ROOM, ALONE = 60.0, 90.0, 46.0
"""Millimetres: height of the stops map, width of the room, most height of a light alone."""
LEGEND = 38.0
LEVELS = (2, 1, 0, -1, -2, -3, -4, -5)
MOST_COLUMNS = 7
MAP_PIXELS = 260
"""Least width of the map in pixels; the larger of its letters are then 2 to 4 mm high on paper."""


def picture_of(pixels: np.ndarray, wide: float, high: float, caption: str, flat: bool = False) -> Picture:
    """A picture that fills a box [mm] as far as its shape goes.

    flat  keep it without loss: maps with letters and even bands
    """
    rows, columns = pixels.shape[:2]
    fit = min(wide / columns, high / rows)
    size = columns * fit, rows * fit
    most = _dots(size[0])
    image = Image.fromarray(pixels)
    data = io.BytesIO()
    if flat:
        image.save(data, "PNG", optimize=True)
        return Picture(data.getvalue(), "png", *size, caption)
    if columns > most:
        image = image.resize((most, max(1, round(rows * most / columns))), Image.Resampling.LANCZOS)
    image.save(data, "JPEG", quality=QUALITY, subsampling=0)
    return Picture(data.getvalue(), "jpeg", *size, caption)


def _dots(wide: float) -> int:
    return max(1, round(wide / 25.4 * DOTS))


def pictures_section(material: Material, wide: float) -> Section:
    """Stops map and room, then each light alone, the key first."""
    preview = material.preview
    stops = picture_of(
        _coarse(preview).stops_map(legend="none"), 0.38 * wide, MAP, "stops from middle grey", flat=True
    )
    left = Beside((Pictures((stops,), 1),), (_legend(preview.grey()),), stops.wide, LEGEND)
    rest = wide - stops.wide - LEGEND - 2 * GAP
    room: Block = Text("No picture of the room: it was not traced.", "note")
    if material.room is not None:
        caption = "the room from the door: wide, from a corner behind the camera, at the same exposure"
        room = Pictures((picture_of(material.room, min(rest, ROOM), MAP, caption),), 1)
    blocks: list[Block] = [Beside((left,), (room,), stops.wide + GAP + LEGEND, rest)]
    small = list(_alone(material, wide))
    for first in range(0, len(small), MOST_COLUMNS):
        several = small[first : first + MOST_COLUMNS]
        blocks.append(Pictures(tuple(several), len(several)))
    return Section("Pictures", tuple(blocks), least=MAP + 14.0)


def _legend(grey: float) -> Table:
    """What the numbers on the map are: per cent of the camera curve, luminance, light on a grey card."""
    rows = []
    for stops in LEVELS:
        luminance = grey * stops_to_ratio(float(stops))
        signal = 100.0 * float(bt709_signal(MID_GREY * stops_to_ratio(float(stops))))
        rows.append(
            (
                signed(float(stops), 0),
                f"{signal:.0f}",
                three_figures(luminance),
                three_figures(lux_on_matte(luminance)),
            )
        )
    head = ("stops", "BT.709 %", "cd/m2", "lux on 18 %")
    return Table(head, tuple(rows), (0.95, 1.25, 1.0, 1.1), size=6.2)


def _alone(material: Material, wide: float) -> Iterator[Picture]:
    """The key alone, then every other light alone, all at the camera's exposure."""
    lit = sorted(material.lit, key=lambda unit: unit is not material.key)
    box = wide / max(3, min(MOST_COLUMNS, len(lit))) - GAP
    for unit in lit:
        caption = f"{unit.number} {unit.name} alone" + (" (the key)" if unit is material.key else "")
        yield picture_of(_solo(material.preview, unit, box), box, ALONE, caption)


def _coarse(preview: Preview) -> Preview:
    """With so few pixels that the numbers on a map, whose letters are so many pixels high, can be read."""
    block = preview.scene.camera.picture[0] // MAP_PIXELS
    if block < 2:
        return preview
    layers = preview.layers
    radiance, bounced, irradiance = (
        np.stack([_averaged(plane, block) for plane in planes])
        for planes in (layers.radiance, layers.bounced, layers.irradiance)
    )
    rows, columns = radiance.shape[1:3]
    coarse = replace(
        layers,
        radiance=radiance,
        bounced=bounced,
        irradiance=irradiance,
        seen=layers.seen[block // 2 :: block, block // 2 :: block][:rows, :columns],
        difference=None,
    )
    return replace(preview, layers=coarse)


def _averaged(plane: np.ndarray, block: int) -> np.ndarray:
    """Means over square blocks of pixels; what is left over at the edges is cut off."""
    rows, columns = (size // block for size in plane.shape[:2])
    cut = plane[: rows * block, : columns * block]
    return np.asarray(cut.reshape(rows, block, columns, block, -1).mean(axis=(1, 3)))


def _solo(preview: Preview, unit: Unit, wide: float) -> np.ndarray:
    """One light at its level. Where paper shows less than half the pixels across, blocks of raw ones are
    averaged, which takes more of their grain than filtering would; else it is taken out as of any picture."""
    alone = preview.mixed(solo=[unit.name])
    camera = preview.scene.camera
    high = min(ALONE, wide * camera.picture[1] / camera.picture[0])
    block = camera.picture[0] // _dots(high * camera.picture[0] / camera.picture[1])
    if block < 2:
        return alone.picture()
    return alone.developed(_averaged(alone.layers.picture(), block))
