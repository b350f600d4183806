"""All that has to be traced once for the measures of a face; changing dimmers afterwards traces nothing."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from renderer.film.pool import Pool
from renderer.kernels import layout
from renderer.meter.face import geometry
from renderer.meter.face.ambient import room_limits
from renderer.meter.face.background import Frame
from renderer.meter.face.catchlight import Catchlight, catchlights
from renderer.meter.face.finding import Finding
from renderer.meter.face.glare import GlareTrace, glare_of
from renderer.meter.face.points import Tracer, without_sitter
from renderer.meter.face.skin import Group, groups_of
from renderer.meter.face.surface import Grid, Head, front
from renderer.meter.face.visibility import HEIGHT, STEP, WIDTH
from renderer.meter.mark import key_light, marks_of
from renderer.scene.place import camera_place
from renderer.world.build import World
from renderer.world.material import CORNEA

REPLICAS = 16
SHOWN = ("forehead_centre", "chin_front", "nose_bridge", "malar_l", "malar_r", "eye_l", "eye_r")
SAMPLES = 1  # of each replica of each point of skin
# Landmarks that the tests of shape lean on; a mesh of one's own has four of them.
NEEDED = frozenset(
    f"{name}{side}"
    for name, sides in {
        **dict.fromkeys(("glabella", "nasion", "pronasale", "subnasale", "labiale_superius"), ("",)),
        **dict.fromkeys(("stomion", "menton"), ("",)),
        **dict.fromkeys(("pupil", "malar", "alare", "cheilion"), ("_l", "_r")),
        **dict.fromkeys(("endocanthion", "exocanthion", "tragion", "zygion"), ("_l", "_r")),
    }.items()
    for side in sides
)


@dataclass(frozen=True)
class FaceTrace:
    """What was traced: findings that no dimmer changes, and light on groups of skin by light.

    key     number of the key among the lights; key_at_left: whether it stands on the sitter's left
    groups  names; light: (replicas, groups, lights, 2, 3) mean illuminance of each group [lux as RGB], at
            full dimmer and neutral colour, direct and bounced
    frame   None where the picture shows no head that could be measured
    glare   None where no spectacles are worn
    missing a line for each measure that cannot be had, and why
    """

    key: int
    key_at_left: bool
    fixed: dict[str, Finding] = field(default_factory=dict)
    groups: tuple[str, ...] = ()
    light: np.ndarray = field(default_factory=lambda: np.zeros((REPLICAS, 0, 1, 2, 3)))
    glints: tuple[Catchlight, ...] | None = None
    frame: Frame | None = None
    glare: GlareTrace | None = None
    missing: tuple[str, ...] = ()

    def as_record(self) -> dict[str, Any]:
        """Plain data from which `from_record` makes the same again."""
        return {
            "key": self.key,
            "key_at_sitter_left": self.key_at_left,
            "fixed": {name: finding.as_json() for name, finding in self.fixed.items()},
            "groups": list(self.groups),
            "shape": list(self.light.shape),
            "light": [float(f"{x:.6g}") for x in self.light.ravel()],
            "catchlights": None if self.glints is None else [glint.as_json() for glint in self.glints],
            "frame": None if self.frame is None else vars(self.frame),
            "glare": None if self.glare is None else self.glare.as_json(),
            "missing": list(self.missing),
        }

    @classmethod
    def from_record(cls, data: dict[str, Any]) -> FaceTrace:
        """Raises KeyError, TypeError or ValueError for data that `as_record` did not make."""
        glints = data["catchlights"]
        return cls(
            int(data["key"]),
            bool(data["key_at_sitter_left"]),
            {name: Finding.from_json(it) for name, it in data["fixed"].items()},
            tuple(data["groups"]),
            np.array(data["light"], float).reshape(data["shape"]),
            None if glints is None else tuple(Catchlight.from_json(it) for it in glints),
            None if data["frame"] is None else Frame(**data["frame"]),
            None if data.get("glare") is None else GlareTrace.from_json(data["glare"]),
            tuple(data["missing"]),
        )


def trace_face(world: World, threads: int | Pool | None = None, seed: int = 0) -> FaceTrace | None:
    """Trace what the measures need; None with nobody in the chair or without a light."""
    if world.sitter is None or not world.layers:
        return None
    if isinstance(threads, Pool):
        return _trace(world, Tracer(threads, world.camera, seed))
    with Pool(threads) as pool:
        return _trace(world, Tracer(pool, world.camera, seed))


def _trace(worn: World, tracer: Tracer) -> FaceTrace:
    world = (
        worn.bare_faced
    )  # shadows of the face, not of a rim; only the eyes are metered behind their lenses
    assert world.sitter is not None
    head = Head.of(world)
    names = [layer.name for layer in world.layers]
    key = names.index(key_light(world))
    bare = without_sitter(world.packed)
    place = geometry.key_place(tracer, world, bare, head, key)
    fixed: dict[str, Finding] = geometry.sources(tracer, world, bare, head)
    missing: list[str] = []
    marks, _ = marks_of(world)
    ahead = head.turn(np.array([1.0, 0.0, 0.0]))
    fixed |= room_limits(tracer, world, marks, key, ahead)
    if "ambient_lift" not in fixed:
        missing.append("ambient_lift, highest_ratio: the mesh has no cheeks marked")
    if place is None:
        missing.append(
            f'no measures of the key\'s shadows: nothing of "{names[key]}" is seen from where the eyes are'
        )
        at_left = False
    else:
        fixed |= geometry.sides(world, place)
        at_left = place.azimuth >= 0.0
    frame = _frame(world, head)
    patched = bool((world.sitter.patches > 0).any())
    lacking = sorted(NEEDED - world.landmarks.keys())
    if lacking or not patched:
        why = f"landmark {lacking[0]} and others" if lacking else "patches of skin"
        missing.append(
            "eye_shade, brow_margin, nose_shadow, under_chin, forehead, catchlights, evenness, edges of"
            f" shadows: the mesh has no {why}; the bundled head has"
        )
        if place is not None:
            fixed["pattern"] = geometry.pattern_by_angle(place)
        glare = _glare(tracer, worn, head, None, key)
        return FaceTrace(key, at_left, fixed, frame=frame, glare=glare, missing=tuple(missing))
    grid = front(world, head, STEP, WIDTH, HEIGHT)
    if place is not None:
        found, lines = geometry.shadows_of_key(tracer, world, bare, head, grid, key, place)
        fixed |= found
        missing += lines
    groups = groups_of(tracer, world, world.packed, head, grid)
    lost = [name for name in SHOWN if name not in groups]
    if lost:
        missing.append(
            f"not all of eye_shade, evenness, forehead, under_chin: no {', '.join(lost)} seen from ahead"
        )
    glints = None
    if CORNEA in world.sitter.triangles.materials:
        glints = tuple(_glints(tracer, worn, bare, names))
    else:
        missing.append("catchlights: the mesh has no corneas; the bundled head has")
    return FaceTrace(
        key,
        at_left,
        fixed,
        tuple(groups),
        _light_on(tracer, world, worn, groups),
        glints,
        frame,
        _glare(tracer, worn, head, grid, key),
        tuple(missing),
    )


def _glare(tracer: Tracer, worn: World, head: Head, grid: Grid | None, key: int) -> GlareTrace | None:
    return glare_of(tracer, worn, head, grid, key) if len(worn.packed.lenses) else None


def _glints(tracer: Tracer, world: World, bare: layout.PackedScene, names: list[str]) -> Iterator[Catchlight]:
    camera = camera_place(world.scene.camera)
    for side, eye in (("l", "sitter_left"), ("r", "sitter_right")):
        mark = world.landmarks[f"pupil_{side}"]
        yield from catchlights(
            tracer, world.packed, bare, camera, names, world.boards, eye, mark.position, mark.normal
        )


def _light_on(tracer: Tracer, world: World, worn: World, groups: dict[str, Group]) -> np.ndarray:
    """(replicas, groups, lights, 2, 3) mean over the points of each group, the eyes' behind their lenses."""
    found = _means(tracer, world, list(groups.values()))
    eyes = [number for number, name in enumerate(groups) if name.startswith("eye_")]
    if worn is not world and eyes:
        found[:, eyes] = _means(tracer, worn, [list(groups.values())[number] for number in eyes])
    return found


def _means(tracer: Tracer, world: World, groups: list[Group]) -> np.ndarray:
    at, normal = (np.concatenate([group[k] for group in groups]) for k in (0, 1))
    arriving = tracer.arriving(world.packed, at, normal, SAMPLES, REPLICAS)
    ends = np.cumsum([len(group[0]) for group in groups])[:-1]
    return np.stack([part.mean(axis=1) for part in np.split(arriving, ends, axis=1)], axis=1)


def _frame(world: World, head: Head) -> Frame | None:
    """Where chin and cheekbones are in the picture; by proportion where the mesh does not say."""
    camera = world.scene.camera
    place = camera_place(camera)
    marks = world.landmarks

    def row(name: str, otherwise: float) -> float:
        at = marks[name].position if name in marks else head.to_world(np.array([0.0, 0.0, otherwise]))
        ray = at - np.array(camera.at)
        depth = float(ray @ np.array(place.forward))
        up = float(ray @ np.array(place.up)) / depth if depth > 0.0 else math.nan
        height = camera.sensor_width_mm / camera.lens_mm * camera.picture[1] / camera.picture[0]
        return 0.5 - up / height

    depth = float((head.origin - np.array(camera.at)) @ np.array(place.forward))
    chin, cheek = row("menton", -0.115), row("zygion_l", -0.018)
    if depth <= 0.0 or math.isnan(chin) or math.isnan(cheek):
        return None
    width = camera.picture[0]
    return Frame(depth * camera.sensor_width_mm / camera.lens_mm / width, width, chin, cheek)
