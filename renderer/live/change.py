"""What of a scene's light has to be traced anew after it was changed."""

from __future__ import annotations

import numpy as np

from renderer.scene.layer import boards
from renderer.world.build import World


def same_view(old: World, new: World) -> bool:
    """Whether both have one sitter, room and view: what is seen differs by lights and boards alone."""
    before, after = (
        (it.camera, it.packed.room, it.packed.lenses, it.packed.materials, *it.packed.mesh)
        for it in (old, new)
    )
    pairs = zip(before, after, strict=True)
    return all(one is other or np.array_equal(one, other) for one, other in pairs)


def lights_to_trace(old: World, new: World) -> list[int] | None:
    """Numbers in `new` of the lights whose own light has changed; None where that of all may have.

    The body of a light that has moved also stands in the way of the others: a small thing, which is left to
    the picture that follows. A card or a flag is there for what it does to all.
    """
    if [layer.name for layer in old.layers] != [layer.name for layer in new.layers]:
        return None
    if boards(old.scene) != boards(new.scene):
        return None
    pairs = enumerate(zip(old.layers, new.layers, strict=True))
    return [i for i, (before, after) in pairs if before.parts != after.parts]


def moved_bodies(old: World, new: World) -> np.ndarray:
    """(n, 4) centre and radius [m] of spheres about the shapes of either world that are not in the other."""
    here, there = (
        {(*map(float, shape["middle"]), float(shape["reach"])) for shape in world.packed.shapes}
        for world in (old, new)
    )
    return np.array(sorted(here ^ there)).reshape(-1, 4)
