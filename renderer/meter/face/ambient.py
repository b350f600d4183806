"""What the room gives back by itself: the key alone, every card taken away."""

from __future__ import annotations

import numpy as np

from renderer.colour import luminance
from renderer.kernels.layout import PackedScene
from renderer.meter.face.finding import Finding
from renderer.meter.face.points import Tracer, with_light_only, without_sitter
from renderer.meter.mark import KEY_CHEEK, SHADOW_CHEEK, Mark
from renderer.meter.reading import derived_reading
from renderer.scene.layer import boards
from renderer.units import stops
from renderer.world.build import World
from renderer.world.shape import pack_shapes

REPLICAS = 16
SAMPLES = 128  # of each replica of each disc
BEHIND_EYES = 0.08  # m: the middle of the head


def without_cards(world: World) -> PackedScene:
    """The world with its flags and breakups but without its cards."""
    named = boards(world.scene).items()
    others = [part for name, parts in named if not name.startswith("card.") for part in parts]
    packed = pack_shapes([layer.parts for layer in world.layers], others)
    return world.packed._replace(**packed._asdict())


def room_limits(
    tracer: Tracer, world: World, marks: list[Mark], key: int, ahead: np.ndarray
) -> dict[str, Finding]:
    """ambient_lift and highest_ratio, as findings; without the cheek marks the second is left out.

    ahead  direction of the nose in the world
    """
    scene = with_light_only(without_cards(world), key)
    cheeks = {mark.name: mark for mark in marks if mark.name in (KEY_CHEEK, SHADOW_CHEEK)}
    if KEY_CHEEK not in cheeks:
        return {}
    at = np.array([mark.at for mark in cheeks.values()])
    axis = np.array([mark.axis for mark in cheeks.values()])
    read = luminance(tracer.arriving(scene, at, axis, SAMPLES, REPLICAS, off=0.0)[:, :, 0])
    by_name = dict(zip(cheeks, read.sum(axis=2).T, strict=True))
    middle = np.array(world.scene.sitter.eyes) - BEHIND_EYES * ahead
    ways = np.concatenate([np.eye(3), -np.eye(3)])
    empty = without_sitter(scene)
    bounced = tracer.arriving(empty, np.broadcast_to(middle, ways.shape), ways, SAMPLES, REPLICAS, off=0.0)[
        :, :, 0, 1
    ]
    floor = luminance(bounced).mean(axis=1)
    found = {
        "ambient_lift": Finding.of(
            derived_reading(
                stops,
                "stops",
                "shadow floor: what the room alone gives back of the key, mean of six discs where the head"
                " is, re the disc facing the key",
                floor,
                by_name[KEY_CHEEK],
            )
        )
    }
    if SHADOW_CHEEK in by_name:
        far = by_name[SHADOW_CHEEK]
        direct = read[:, list(cheeks).index(SHADOW_CHEEK), 0].mean()
        own = direct > 0.5 * far.mean()
        found["highest_ratio"] = Finding.of(
            derived_reading(
                lambda a, b: a / b if b > 0.0 else float("inf"),
                "x:1",
                "lighting ratio with the key alone and no card: no dimmer can bring more",
                by_name[KEY_CHEEK],
                far,
            ),
            f"{100.0 * direct / far.mean():.0f} % of the far cheek's reading is the key itself: "
            "set it further round for more"
            if own
            else "the room's bounce sets it: black, skirts or a darker room for more",
        )
    return found
