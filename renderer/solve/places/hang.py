"""Whether a light or board can hang in a place: in the room, out of the picture, clear of the sitter."""

from __future__ import annotations

from renderer.errors import InputError
from renderer.rigging.clearance import clearances
from renderer.scene import sight
from renderer.scene.layer import boards, layers
from renderer.scene.models import Scene
from renderer.solve.move import Spot, Thing, moved

OVER_HEAD = 0.30  # m that is kept between the top of the head and a thing over it (own choice, no rule)


def hung(scene: Scene, thing: Thing, spot: Spot) -> tuple[Scene | None, str]:
    """The scene with it there, or None and why not, in a few words."""
    try:
        made = moved(scene, thing, spot)
    except InputError as wrong:
        return None, "inside the sitter" if "inside the sitter" in wrong.lines[
            0
        ] else "does not fit in the room"
    if thing.family == "light":
        layer = next(it for it in layers(made) if it.name == thing.name)
        parts, practical = layer.parts, layer.purpose == "practical"
    else:
        parts, practical = boards(made)[thing.path], False
    if not practical and sight.in_picture(made.camera, parts):
        return None, "in the picture"
    over = clearances(made)[thing.path].over_head
    if over is not None and over < OVER_HEAD:
        return None, f"less than {100 * OVER_HEAD:.0f} cm over the head"
    return made, ""
