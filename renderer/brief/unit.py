"""Everything that a crew puts up or finds in place, numbered: lights, windows, boards."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from renderer.brief.what import what_of
from renderer.film.mix import Fader, Mix
from renderer.rigging.clearance import Clearance, clearances
from renderer.scene import gel, outline, sight, white
from renderer.scene.found import FOUND
from renderer.scene.layer import boards, layers
from renderer.scene.models import Scene
from renderer.scene.parts import Part, Vec3
from renderer.scene.vector import length, subtract


@dataclass(frozen=True)
class Unit:
    """One thing with its number.

    family        light, window, found, card, flag or breakup
    what          what it is, with its sizes
    centre, aim   [m]; None for the room's own light, and where turning it changes nothing
    azimuth       deg round the sitter from the lens axis, positive to camera right
    elevation     deg, of its centre over the level of the eyes
    distance      m from the midpoint of the eyes to its centre; `level` the same along the floor
    low, high     m over the floor, with its skirts
    tilt          deg that its face points over (+) or under the level; None without a face
    fader         its part in the mix; None for a board
    """

    number: int
    family: str
    name: str
    purpose: str
    what: str
    parts: tuple[Part, ...]
    centre: Vec3 | None
    aim: Vec3 | None
    azimuth: float
    elevation: float
    distance: float
    level: float
    low: float
    high: float
    tilt: float | None
    fader: Fader | None
    colour: str
    watts: float | None
    circuit: str | None
    support: str | None
    clearance: Clearance | None

    @property
    def path(self) -> str:
        """The scene's own name of it."""
        return {"window": "room.window.", "found": "room."}.get(self.family, f"{self.family}.") + self.name

    @property
    def is_lamp(self) -> bool:
        """Whether it hangs or stands in the room and gives light."""
        return self.family == "light"

    def as_data(self) -> dict[str, Any]:
        """Plain data, metres and degrees."""
        fader = self.fader
        return {
            "number": self.number,
            "name": self.path,
            "purpose": self.purpose,
            "what": self.what,
            "at_m": _rounded(self.centre),
            "aim_m": _rounded(self.aim),
            "azimuth_deg": _round(self.azimuth, 2),
            "elevation_deg": _round(self.elevation, 2),
            "distance_m": _round(self.distance, 4),
            "level_distance_m": _round(self.level, 4),
            "lowest_m": _round(self.low, 4),
            "highest_m": _round(self.high, 4),
            "tilt_deg": _round(self.tilt, 2),
            "dimmer": fader.dim if fader else None,
            "cct_k": _round(fader.cct, 1) if fader else None,
            "cct_behind_gels_k": _round(fader.white.behind, 1) if fader else None,
            "colour": self.colour,
            "watts_at_full": self.watts,
            "circuit": self.circuit,
            "support": self.support,
        }


def units(scene: Scene, mix: Mix) -> list[Unit]:
    """Lights and windows in the order of the scene, the room's own light, then cards, flags and breakups.

    mix  the levels that are meant, which may differ from the scene's
    """
    faders = {fader.name: fader for fader in mix.faders}
    holders = {support.holds(name): name for name, support in scene.support.items()}
    found: list[Unit] = []
    heights = clearances(scene)
    for layer in layers(scene):
        number, fader = len(found) + 1, faders[layer.name]
        if layer.name in scene.light:
            light = scene.light[layer.name]
            placed = light.placed(scene.sitter, scene.camera)
            has_face = light.source != "bulb"
            found.append(
                _unit(
                    scene, number, "light", layer.name, layer.purpose, what_of(light), layer.parts,
                    placed.centre, placed.aim if has_face else None, fader,
                    colour_of(light.gel, fader), light.watts, light.circuit,
                    holders.get(layer.name), heights.get(f"light.{layer.name}"),
                )
            )  # fmt: skip
        elif layer.name in scene.windows:
            window = scene.windows[layer.name]
            what = (
                f"window {window.width:.2f} x {window.height:.2f} m in the {window.wall.replace('_', ' ')}"
                " wall,"
                f" {window.lux:g} lux on the pane from outside, {100 * window.transmittance:.0f} % passes"
            )
            found.append(
                _unit(
                    scene, number, "window", layer.name, layer.purpose, what, layer.parts,
                    layer.parts[0].shape.centre, None, fader, colour_of(window.gel, fader),
                )
            )  # fmt: skip
        elif scene.room is not None and scene.room.found is not None:
            what = (
                f"the room's own light, {scene.room.found.lux:g} lux on a dome at the face with all else off"
            )
            found.append(
                _unit(scene, number, "found", FOUND, layer.purpose, what, layer.parts, None, None, fader,
                      colour_of((), fader))
            )  # fmt: skip
    for path, parts in boards(scene).items():
        family, _, name = path.partition(".")
        board = scene.boards()[family][name]
        aim = board.placed(scene.sitter, scene.camera).aim
        found.append(
            _unit(scene, len(found) + 1, family, name, "", what_of(board), parts, parts[0].shape.centre, aim,
                  clearance=heights.get(path))
        )  # fmt: skip
    return found


def _unit(
    scene: Scene,
    number: int,
    family: str,
    name: str,
    purpose: str,
    what: str,
    parts: tuple[Part, ...],
    centre: Vec3 | None,
    aim: Vec3 | None,
    fader: Fader | None = None,
    colour: str = "",
    watts: float | None = None,
    circuit: str | None = None,
    support: str | None = None,
    clearance: Clearance | None = None,
) -> Unit:
    low, high = outline.box(part.shape for part in parts)
    eyes = scene.sitter.eyes
    where = centre if centre is not None else parts[0].shape.centre
    azimuth, elevation, distance = sight.bearing(scene.camera, eyes, where)
    tilt = None
    if aim is not None and centre is not None and length(subtract(aim, centre)) > 1e-6:
        way = subtract(aim, centre)
        tilt = math.degrees(math.atan2(way[2], math.hypot(way[0], way[1])))
    return Unit(
        number, family, name, purpose, what, parts, centre, aim, azimuth, elevation, distance,
        math.hypot(where[0], where[1]), low[2], high[2], tilt, fader, colour, watts, circuit, support,
        clearance,
    )  # fmt: skip


def colour_of(gels: gel.Gels, fader: Fader) -> str:
    """The white of the lamp, its gels and what is behind them in this mix; by name if the scene's."""
    here = fader.white
    text = white.in_words(here)
    if here.gel != gel.CLEAR:
        named = (
            gel_words(gels) if gels and gel.stacked(gels) == here.gel else f"gel {here.gel.mired:+g} mired"
        )
        text += f", {named}: {here.behind:.0f} K, {here.gel.stops:.2f} stop less"
    if max(here.colour) - min(here.colour) > 1e-9:
        text += ", colour " + ", ".join(f"{factor:.2f}" for factor in here.colour)
    return text


def gel_words(gels: gel.Gels) -> str:
    """quarter warming and +20 mired"""
    return gel.in_words(gels).replace("_", " ")


def _round(value: float | None, places: int) -> float | None:
    return None if value is None else round(value, places)


def _rounded(point: Vec3 | None) -> list[float] | None:
    return None if point is None else [round(x, 4) for x in point]
