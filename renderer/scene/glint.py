"""Whether a light shows in the sitter's spectacles, by the law of reflection alone: nothing is traced."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import cos, radians, sin

from renderer.scene import place
from renderer.scene.models import Scene
from renderer.scene.parts import Vec3
from renderer.scene.vector import add, blend, dot, scale, subtract, unit

LENS_AHEAD, LENS_DOWN = 0.018, 0.003
"""Where the middles of lenses stand before and under the pupils [m]; a face may want them elsewhere by some
millimetres, which turns what they show by a degree at most."""


def in_glasses(scene: Scene, points: Iterable[Vec3]) -> bool:
    """Whether a lens shows any of the points (world, m) to the camera, the head as it is."""
    if scene.sitter.glasses is None:
        return False
    lenses = list(_lenses(scene))
    return any(_shows(scene, lens, point) for point in points for lens in lenses)


Lens = tuple[Vec3, Vec3, Vec3, Vec3]
"""Middle [m], across, up and out of the front, in the world."""


def _lenses(scene: Scene) -> Iterator[Lens]:
    glasses = scene.sitter.glasses
    assert glasses is not None
    nose, left, crown = place.head_axes(scene.sitter, scene.camera)
    tilt = radians(glasses.tilt)
    for side in (1.0, -1.0):
        wrap = side * radians(glasses.wrap)
        ahead = blend((cos(wrap), nose), (sin(wrap), left))
        across = blend((cos(wrap), left), (-sin(wrap), nose))
        out = blend((cos(tilt), ahead), (-sin(tilt), crown))
        up = blend((sin(tilt), ahead), (cos(tilt), crown))
        aside = side * 0.5 * (glasses.bridge + glasses.lens_width)
        off = blend((LENS_AHEAD, nose), (aside, left), (-LENS_DOWN, crown))
        yield add(scene.sitter.eyes, off), across, up, out


def _shows(scene: Scene, lens: Lens, point: Vec3) -> bool:
    """The lens shows a point where its normal halves the angle between the ways to it and to the camera."""
    glasses = scene.sitter.glasses
    assert glasses is not None
    middle, across, up, out = lens
    normal, off = out, (0.0, 0.0, 0.0)
    for _ in range(3):  # the place on the lens moves the ways a little
        at = add(middle, off)
        ways = [unit(subtract(it, at)) or out for it in (point, scene.camera.at)]
        normal = unit(add(*ways)) or out
        x, y = glasses.front_radius * dot(normal, across), glasses.front_radius * dot(normal, up)
        off = add(scale(across, x), scale(up, y))
    if dot(normal, out) <= 0.0:
        return False
    share = (abs(2.0 * x / glasses.lens_width), abs(2.0 * y / glasses.lens_height))
    return bool(share[0] ** glasses.corner + share[1] ** glasses.corner <= 1.0)
