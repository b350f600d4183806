"""What a light leaves clear: over the floor, over the sitter's head, under the ceiling."""

from __future__ import annotations

from dataclasses import dataclass

from renderer.scene import outline
from renderer.scene.caution import HEADROOM, OVERHEAD_REACH, off_the_sitter
from renderer.scene.fit import HEAD_HALF
from renderer.scene.layer import boards, layers
from renderer.scene.models import Scene


@dataclass(frozen=True)
class Clearance:
    """Metres, all of them.

    lowest      over the floor, the lowest part of it with its skirts
    highest     over the floor
    over_head   from the top of the sitter's head, hair included, up to the lowest part; None where it is over
                1 m off to the side, or nobody sits
    to_ceiling  from its top; None without a room
    """

    lowest: float
    highest: float
    over_head: float | None
    to_ceiling: float | None

    @property
    def under_headroom(self) -> bool:
        """Whether people would walk into it; 2.1 m is a warning line of common practice, no rule."""
        return self.lowest < HEADROOM


def clearances(scene: Scene) -> dict[str, Clearance]:
    """Of every light, card and flag by `light.NAME` and so on; windows stand in the wall and are left out."""
    shapes = {
        f"light.{layer.name}": [part.shape for part in layer.parts]
        for layer in layers(scene)
        if layer.name in scene.light
    }
    shapes |= {name: [part.shape for part in parts] for name, parts in boards(scene).items()}
    top = scene.sitter.eye_height + HEAD_HALF[2]
    found = {}
    for name, several in shapes.items():
        low, high = outline.box(several)
        overhead = scene.sitter.mesh != "none" and off_the_sitter(low, high) < OVERHEAD_REACH
        found[name] = Clearance(
            low[2],
            high[2],
            low[2] - top if overhead and low[2] > scene.sitter.eye_height else None,
            scene.room.height - high[2] if scene.room is not None else None,
        )
    return found
