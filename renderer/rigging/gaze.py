"""What the sitter looks into: how bright each light is, and how near to the line of sight."""

from __future__ import annotations

import math
from dataclasses import dataclass

from renderer.scene import place, sight
from renderer.scene.layer import layers
from renderer.scene.models import Scene
from renderer.scene.vector import subtract

CONE = 30.0
"""Degrees from the line of sight within which a source is named; common practice, no source."""


@dataclass(frozen=True)
class Seen:
    """A light as the sitter's eyes have it.

    luminance  cd/m2 of its brightest face, with dimmer, gels and colour as they are
    angle      degrees from the line of sight to the nearest point of it that shines to the eyes
    """

    luminance: float
    angle: float


def seen(scene: Scene) -> dict[str, Seen]:
    """The lights and windows that shine to the sitter's eyes, the head as it is turned, the brightest first.

    Nothing that stands between is counted but flat parts of the light itself.
    """
    eyes = scene.sitter.eyes
    gaze = place.head_axes(scene.sitter, scene.camera)[0]
    found = {}
    for layer in layers(scene):
        if layer.name not in scene.light and layer.name not in scene.windows:
            continue  # the room's own light: its level is known when it is traced
        shining = sight.open_parts(layer.parts)
        points = [p for part in shining for p in sight.seen_points(part, eyes, layer.parts)]
        luminance = layer.luminance(eyes)
        if points and luminance > 0.0:
            angle = min(sight.angle(gaze, subtract(point, eyes)) for point in points)
            found[layer.name] = Seen(luminance, angle)
    return dict(sorted(found.items(), key=lambda item: -item[1].luminance))


def brightest(found: dict[str, Seen], cone: float = CONE) -> str | None:
    """The brightest of them within `cone` degrees of the line of sight."""
    near = [name for name, it in found.items() if it.angle <= cone]
    return near[0] if near else None


def even_field(lux: float) -> float:
    """Luminance [cd/m2] of an even field all round that gives the eye this illuminance [lux]: E / pi."""
    return lux / math.pi
