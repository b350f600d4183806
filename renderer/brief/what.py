"""What a light or a board is, in words that a person packs a car by: kind, sizes, what is on it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from renderer.scene.board import Board, Flag
from renderer.scene.breakup import Breakup
from renderer.scene.lights.base import Lamp
from renderer.scene.lights.skirt import Skirt
from renderer.scene.skin import luminance

KIND = {"cylinder": "fabric cylinder", "disc": "round diffuser", "diffuser": "head behind diffusion"}
"""Spoken names; other kinds go by the word of `source`."""


def what_of(thing: Lamp | Board) -> str:
    """Kind and sizes, then what is before or on it, in one line. A kind that is new is told by its sizes."""
    return ", ".join([kind_of(thing), *fittings(thing)])


def kind_of(thing: Lamp | Board) -> str:
    """Kind and sizes alone."""
    kind = _board(thing) if isinstance(thing, Board) else KIND.get(thing.source, thing.source)
    return f"{kind} {size_of(thing)}".strip()


def size_of(thing: Any) -> str:
    """The sizes that it has: diameter, length, width and height [m]."""
    sizes = {key: getattr(thing, key, None) for key in ("diameter", "length", "width", "height")}
    if sizes["diameter"] is None and hasattr(thing, "aperture") and getattr(thing, "file", None):
        sizes["diameter"] = thing.aperture()
    words = f"Ø {metres(sizes['diameter'])}" if isinstance(sizes["diameter"], float) else ""
    if isinstance(sizes["length"], float):
        return f"{words} x {metres(sizes['length'])} m"
    if isinstance(sizes["width"], float) and isinstance(sizes["height"], float):
        return f"{metres(sizes['width'])} x {metres(sizes['height'])} m"
    return f"{words} m" if words else ""


def metres(value: float) -> str:
    """Centimetres are the least that anyone measures; millimetres where the thing is small."""
    return f"{value:.2f}" if value >= 0.1 and abs(value - round(value, 2)) < 1e-9 else f"{value:.3f}"


def _board(board: Board) -> str:
    if isinstance(board, Breakup):
        return f"breakup, {board.pattern or 'picture'}"
    if isinstance(board, Flag):
        return "flag"
    return "card" if board.gloss() is None else "silver card"


def fittings(thing: Lamp | Board) -> Iterator[str]:
    """Skirts, crates, sheets, the head or lamp inside; files of a lamp; what a board stops or reflects."""
    if isinstance(thing, Board):
        if isinstance(thing, Breakup):
            yield (
                f"stops {100 * (thing.stopped if thing.stopped is not None else 0.5):.0f} %"
                if (thing.pattern)
                else f'picture "{thing.picture}"'
            )
        else:
            front, back = luminance(thing.front()), luminance(thing.back_reflectance)
            gloss = thing.gloss()
            mirrors = "" if gloss is None else f" as a rough mirror (roughness {gloss:g})"
            yield f"reflects {front:.2f} in front{mirrors}, {back:.2f} behind"
        return
    beam, file = getattr(thing, "beam", None), getattr(thing, "file", None)
    if isinstance(beam, float):
        yield f"beam {beam:g}°"
    if isinstance(file, str):
        yield f'photometric file "{file}"'
    lamp, head = getattr(thing, "lamp", None), getattr(thing, "head", None)
    if lamp is not None:
        yield f"lamp inside {lamp.lumens:g} lm, beam {lamp.beam:g}°, {lamp.at:.2f} m above its lower end"
    open_ends = [end for end in ("top", "bottom") if getattr(thing, end, None) == "none"]
    if open_ends:
        yield f"nothing over the {' and the '.join(open_ends)}"
    if head is not None:
        yield f"head Ø {metres(head.diameter)} m, {head.lumens:g} lm, beam {head.beam:g}°"
    for sheet in getattr(thing, "sheet", None) or ():
        yield sheet_of(sheet)
    crate = getattr(thing, "crate", None)
    if crate is not None:
        yield f"crate, cells {metres(crate.cell)} x {metres(crate.depth)} m deep"
    for skirt in getattr(thing, "skirt", None) or ():
        yield skirt_of(skirt)
    for level, unit in (
        ("lumens", "lm"),
        ("lux_at_1m", "lux at 1 m"),
        ("luminance", "cd/m2"),
        ("candela", "cd"),
    ):
        value = getattr(thing, level, None)
        if value is not None:
            yield f"{value:g} {unit} at full"


def sheet_of(sheet: Any) -> str:
    """One sheet of diffusion."""
    cloth = sheet.grade or (
        f"{sheet.loss:g} stops" if sheet.loss is not None else f"{sheet.transmittance:g} passes"
    )
    straight = f" ({100 * sheet.straight:g} % of it straight)" if sheet.straight else ""
    return f"sheet {cloth}{straight}, {size_of(sheet)}, {sheet.distance:.2f} m before the head"


def skirt_of(skirt: Skirt) -> str:
    """One skirt: the turn that it covers and how far it hangs below."""
    drop = f", hangs {skirt.drop:.2f} m below" if skirt.drop else ""
    band = f", from {skirt.height[0]:.2f} to {skirt.height[1]:.2f} m up the side" if skirt.height else ""
    lining = max(skirt.inside_reflectance)
    inside = ", lined silver or white" if lining > 0.5 else ""
    return f"skirt over {skirt.covers[0]:g}° to {skirt.covers[1]:g}°{band}{drop}{inside}"


def skirt_size(skirt: Skirt, diameter: float, length: float) -> tuple[float, float]:
    """Width round the side and height of the fabric of a skirt [m]."""
    low, high = skirt.height or (0.0, length)
    return math.pi * diameter * (skirt.covers[1] - skirt.covers[0]) / 360.0, high - low + skirt.drop
