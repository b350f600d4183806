"""Warnings about a scene that is valid: what a person should look at twice. Nothing is traced."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from renderer.scene import outline, place, sight
from renderer.scene.glint import in_glasses
from renderer.scene.layer import Layer, boards, layers
from renderer.scene.models import Scene
from renderer.scene.parts import Disc, Part, Rectangle, Shape, Vec3
from renderer.scene.target import OF_GLASSES
from renderer.scene.vector import dot, length, subtract

HEADROOM = 2.1
"""Height [m] under which people walk into things; a warning line from common practice, no rule."""
OVERHEAD_REACH = 1.0
"""Horizontal distance [m] from the sitter within which a raised thing counts as overhead."""
CEILING_GAP = 0.15
BROW_CUT_OFF = 60.0
"""Elevation [deg] over the line of sight from which the brow begins to shade the eye: 60 to 68 for a common
brow, computed from about 20 mm brow height and 8 to 10 mm overhang; 50 to 55 for deep-set eyes."""
GLARE_LUMINANCE = 1e4
GLARE_ANGLE = 15.0
"""A source over 10 000 cd/m2 within 15 degrees of the gaze is hard to bear: common practice, no source."""

ONE_PLACE = 0.01
"""Metres: nearer than this, two things are in one place."""
IN_PLANE, PARALLEL = 1e-3, 0.9999
"""Metres off a plane, and cosine between normals, within which two flat things lie in each other."""


def cautions(scene: Scene) -> Iterator[str]:
    """One line for each thing to look at twice, with the name of the light, card or flag."""
    lamps = layers(scene)
    for layer in lamps:
        if layer.name in scene.light or layer.name in scene.windows:  # the room's own light hangs nowhere
            yield from _of_light(scene, layer)
    hung = {f"light.{layer.name}": layer.parts for layer in lamps if layer.name in scene.light}
    for name, parts in (hung | boards(scene)).items():
        low, high = outline.box(part.shape for part in parts)
        yield from _overhead(scene, name, low, high)
        if not name.startswith("light") and sight.in_picture(scene.camera, parts):
            yield f"{name}: is in the picture"
    yield from _in_one_place(scene, hung)
    yield from _of_no_glasses(scene)


def _of_no_glasses(scene: Scene) -> Iterator[str]:
    for key in OF_GLASSES if scene.sitter.glasses is None else ():
        if scene.target is not None and getattr(scene.target, key) is not None:
            yield f"target.{key}: the sitter wears no spectacles to judge it by; write [sitter.glasses]"


def _in_one_place(scene: Scene, lights: Mapping[str, Sequence[Part]]) -> Iterator[str]:
    """Things that no stand could put where they are: each in the way of another."""
    centres = {name: light.centre(scene.sitter, scene.camera) for name, light in scene.light.items()}
    for (first, here), (second, there) in combinations(centres.items(), 2):
        if length(subtract(here, there)) < ONE_PLACE:
            yield f"light.{second}: stands where light.{first} does; move one of the two"
    for name, parts in boards(scene).items():
        if any(_holds(part.shape, scene.camera.at, ONE_PLACE) for part in parts):
            yield f"{name}: the lens is in it and sees nothing else; move it off the camera"
        for light, faces in lights.items():
            shining = sight.open_parts(faces)
            if any(_share_a_plane(part.shape, face.shape) for part in parts for face in shining):
                text = f"lies in the face of {light}: which of the two is seen is chance"
                yield f"{name}: {text}; move it off by a centimetre"


def _share_a_plane(one: Shape, other: Shape) -> bool:
    """Whether two flat shapes lie in each other."""
    pairs = ((one, other), (other, one))
    return all(isinstance(shape, (Disc, Rectangle)) for shape in (one, other)) and any(
        abs(dot(a.normal, b.normal)) > PARALLEL and any(_holds(b, point, IN_PLANE) for point in _inner(a))
        for a, b in pairs
        if isinstance(a, (Disc, Rectangle)) and isinstance(b, (Disc, Rectangle))
    )


def _inner(shape: Disc | Rectangle) -> list[Vec3]:
    return [shape.centre, *outline.points(shape)]


def _holds(shape: Shape, point: Vec3, depth: float) -> bool:
    """Whether a point is within a flat shape's outline, and no further off its plane than `depth` [m]."""
    if not isinstance(shape, (Disc, Rectangle)):
        return False
    off = subtract(point, shape.centre)
    if abs(dot(off, shape.normal)) > depth:
        return False
    if isinstance(shape, Disc):
        return length(off) < shape.radius
    return all(abs(dot(off, half)) < dot(half, half) for half in (shape.half_u, shape.half_v))


def _of_light(scene: Scene, layer: Layer) -> Iterator[str]:
    name = f"room.window.{layer.name}" if layer.name in scene.windows else f"light.{layer.name}"
    if sight.in_picture(scene.camera, layer.parts):
        if layer.purpose == "practical":
            yield f"{name}: is in the picture, as a practical may be"
        else:
            yield f"{name}: is in the picture"
    light = scene.light.get(layer.name)
    if light is not None:
        yield from (f"{name}: {text}" for text in light.remarks(light.placed(scene.sitter, scene.camera)))
    if scene.sitter.mesh == "none":
        return
    eyes = scene.sitter.eyes
    shining = sight.open_parts(layer.parts)
    seen = [point for part in shining for point in sight.seen_points(part, eyes, layer.parts)]
    if not seen:
        if layer.purpose in ("key", "fill"):
            yield f"{name}: none of its open faces is turned to the sitter; its purpose is {layer.purpose}"
        return
    if in_glasses(scene, seen):
        yield (
            f"{name}: shows in the spectacles as the head is; raise it, move it round, or keep the chin down."
            " A preview says how much of lens and pupil it covers"
        )
    gaze, _, crown = place.head_axes(scene.sitter, scene.camera)
    rays = [subtract(point, eyes) for point in seen]
    brightest = layer.luminance(eyes)
    nearest = min(sight.angle(gaze, ray) for ray in rays)
    if brightest > GLARE_LUMINANCE and nearest < GLARE_ANGLE:
        yield (
            f"{name}: {brightest:,.0f} cd/m2 at {nearest:.0f} degrees from the sitter's gaze is hard to"
            " look past; diffuse it, dim it or move it off"
        )
    lowest = min(90.0 - sight.angle(crown, ray) for ray in rays)
    if layer.purpose == "key" and lowest > BROW_CUT_OFF:
        yield (
            f"{name}: its lowest edge is {lowest:.0f} degrees above the line of sight; from about 60 degrees"
            " the brow keeps it from the eyes: lower it, move it forward, or fill from below"
        )


def off_the_sitter(low: Vec3, high: Vec3) -> float:
    """Horizontal distance [m] of a box from the upright line through the sitter's eyes; 0 right above."""
    return math.hypot(*(max(low[i], min(0.0, high[i])) for i in (0, 1)))


def _overhead(scene: Scene, name: str, low: Vec3, high: Vec3) -> Iterator[str]:
    if off_the_sitter(low, high) < OVERHEAD_REACH and low[2] > scene.sitter.eye_height:
        clearance = "" if low[2] >= HEADROOM else f", under {HEADROOM} m, where people walk into it"
        yield (
            f"{name}: hangs by the sitter with its lowest edge at {low[2]:.2f} m{clearance}; secure it twice."
            " Local rules and a competent person decide, not this program"
        )
    if scene.room is not None and scene.room.height - high[2] < CEILING_GAP:
        gap = scene.room.height - high[2]
        yield f"{name}: is {gap:.2f} m from the ceiling; mind heat, sprinklers and detectors"
