"""Ways to more contrast, as variants of a scene: what a crew would hang, take away or turn."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from renderer.errors import InputError
from renderer.scene import sight
from renderer.scene.change import changed, written
from renderer.scene.layer import boards, key_of, layers
from renderer.scene.models import Scene
from renderer.solve.move import Thing, moved, placing, spot_of

CRATE_ANGLE = 40.0  # deg, cut-off
CELL = 0.05  # m
DROP = 0.15  # m that a skirt hangs below the lower edge
BLACK = 0.04  # black cloth (common practice, no source)
FURTHER = 15.0  # deg
FLAG = (1.2, 1.6)  # m, width and height of a black frame
FLAG_AT = (0.6, 0.8, 1.0, 1.3)  # m from the sitter, the nearest that is out of the picture
FAR_HALF, ROUND = [90.0, 270.0], [-180.0, 180.0]  # deg of a cylinder's turn, 0 to the aim
Changes = dict[str, Any]


@dataclass(frozen=True)
class Variant:
    """what  in words; changes: the keys that make it, by path"""

    what: str
    changes: Changes

    def of(self, scene: Scene) -> Scene:
        """Raises InputError where it does not fit."""
        return changed(scene, self.changes)


def variants(scene: Scene) -> Iterator[Variant]:
    """All that can be had in this scene; what does not fit in the room is left out."""
    for variant in _all(scene):
        try:
            variant.of(scene)
        except InputError:
            continue
        yield variant


def _all(scene: Scene) -> Iterator[Variant]:
    key = key_of(layers(scene))
    if scene.card:
        yield Variant("all cards away", {"card": {}})
    if key in scene.light:
        yield from _on_key(scene, Thing("light", key))
    side = _shadow_side(scene, key)
    yield from _black_frame(scene, side)
    if scene.room is None:
        return
    wall = "camera_right" if side > 0.0 else "camera_left"
    words = wall.replace("_", " ")
    yield Variant(f"black cloth over the {words} wall", {f"room.reflectance.{wall}": BLACK})
    yield Variant("black cloth under the ceiling", {"room.reflectance.ceiling": BLACK})
    half = {
        f"room.reflectance.{name}": [round(0.5 * value, 4) for value in getattr(scene.room.reflectance, name)]
        for name in ("back", "front", "camera_left", "camera_right", "ceiling")
    }
    yield Variant("walls and ceiling half as light", half)


def _on_key(scene: Scene, thing: Thing) -> Iterator[Variant]:
    light = scene.light[thing.name]
    data = written(scene)["light"][thing.name]
    fields = type(light).model_fields
    if "skirt" in fields:
        skirts = list(data.get("skirt", []))
        covered = [abs(it["covers"][1] - it["covers"][0]) for it in skirts]
        silver = {"inside_reflectance": "silver"}
        if not covered:
            half: Changes = {"covers": FAR_HALF, **silver}
            yield Variant("a silver skirt over the key's far half", {f"{thing.path}.skirt": [half]})
        if not any(turn >= 360.0 for turn in covered):
            ring: Changes = {"covers": ROUND, **silver}
            yield Variant("a silver skirt right round the key", {f"{thing.path}.skirt": [ring]})
        if not any(
            it.get("drop", 0.0) > 0.0 and turn >= 360.0 for it, turn in zip(skirts, covered, strict=True)
        ):
            ring = {"covers": ROUND, "drop": DROP, **silver}
            what = f"a silver skirt right round the key, {100 * DROP:.0f} cm below its edge"
            yield Variant(what, {f"{thing.path}.skirt": [ring]})
    if "crate" in fields and data.get("crate") is None:
        depth = round(CELL / math.tan(math.radians(CRATE_ANGLE)), 4)
        crate = {"cell": CELL, "depth": depth}
        yield Variant(f"a {CRATE_ANGLE:.0f} deg crate before the key", {f"{thing.path}.crate": crate})
    spot = spot_of(scene, thing)
    if abs(spot.azimuth) + FURTHER <= 100.0:
        round_to = type(spot)(spot.azimuth + math.copysign(FURTHER, spot.azimuth), spot.distance, spot.height)
        further = placing(scene, thing, round_to)
        try:
            if not _in_picture(moved(scene, thing, round_to), thing.name):
                yield Variant(f"the key {FURTHER:.0f} deg further round", further)
        except InputError:
            return


def _shadow_side(scene: Scene, key: str) -> float:
    """+1 where the shadow side of the face is at camera right."""
    if key not in scene.light:
        return 1.0
    return -1.0 if spot_of(scene, Thing("light", key)).azimuth >= 0.0 else 1.0


def _black_frame(scene: Scene, side: float) -> Iterator[Variant]:
    """The nearest black frame at the shadow side that fits and is not in the picture."""
    for away in FLAG_AT:
        frame = {
            "around": {
                "azimuth": 90.0 * side,
                "distance": away,
                "height": round(scene.sitter.eye_height - 0.1, 3),
            },
            "width": FLAG[0],
            "height": min(FLAG[1], round(2.0 * (scene.sitter.eye_height - 0.12), 3)),
        }
        words = "camera right" if side > 0.0 else "camera left"
        variant = Variant(f"a black frame {away:g} m from the face, {words}", {"flag.black_side": frame})
        try:
            made = variant.of(scene)
        except InputError:
            continue
        if not sight.in_picture(made.camera, boards(made)["flag.black_side"]):
            yield variant
            return


def _in_picture(scene: Scene, name: str) -> bool:
    parts = next(layer.parts for layer in layers(scene) if layer.name == name)
    return sight.in_picture(scene.camera, parts)
