"""Findings that no dimmer changes: where the key stands, its pattern, its shadows, how large lights look."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from renderer.colour import luminance
from renderer.kernels.layout import PackedScene
from renderer.meter.face.catchlight import clock_of
from renderer.meter.face.eye import brow_margin
from renderer.meter.face.finding import Finding
from renderer.meter.face.nose import NoseShadow, Points, nose_shadow
from renderer.meter.face.pattern import by_angle, classify
from renderer.meter.face.points import Tracer, with_light_only, without_bounce
from renderer.meter.face.softness import Edge, jaw_edge, nose_edge, wall_edge
from renderer.meter.face.source import Source, angles, look_at
from renderer.meter.face.surface import Grid, Head
from renderer.meter.face.visibility import shadows
from renderer.meter.mark import light_centre
from renderer.meter.reading import derived_reading
from renderer.scene.place import camera_place, to_camera_right
from renderer.units import clock_words, stops
from renderer.world.build import World

TURNED = 10.0  # deg of yaw from which a light is broad or short
EAR_SAMPLES, EAR_REPLICAS = 64, 16


@dataclass(frozen=True)
class KeyPlace:
    """The key in the head frame, by the middle of what is seen of it: azimuth, positive to the sitter's left,
    and elevation [deg]."""

    azimuth: float
    elevation: float
    source: Source

    @property
    def shadow_side(self) -> float:
        """Sign of the head frame's y on the side away from the key."""
        return -1.0 if self.azimuth >= 0.0 else 1.0


def key_place(tracer: Tracer, world: World, bare: PackedScene, head: Head, key: int) -> KeyPlace | None:
    source = look_at(tracer, bare, key, head.origin)
    if source is None:
        return None
    return KeyPlace(*angles(head.turn_back(source.to_middle)), source)


def sources(tracer: Tracer, world: World, bare: PackedScene, head: Head) -> dict[str, Finding]:
    """angular_size of every light, from the nose."""
    nose = world.landmarks.get("pronasale")
    at = nose.position if nose is not None else head.origin
    found = {}
    for number, layer in enumerate(world.layers):
        source = look_at(tracer, bare, number, at)
        size, error = (source.angular_size, source.angular_error) if source else (0.0, 0.0)
        found[f"angular_size.{layer.name}"] = Finding(
            size,
            error,
            "deg",
            f"how large {layer.name} looks from the nose, less what is hidden, as a disc of the same area",
        )
    return found


def sides(world: World, place: KeyPlace) -> dict[str, Finding]:
    """Where the key stands, for the camera and for the sitter; broad or short."""
    right = np.array(to_camera_right(world.scene.camera))
    toward = float(place.source.to_middle @ right)
    camera_side = "camera_right" if toward >= 0.0 else "camera_left"
    sitter_side = "sitter_left" if place.azimuth >= 0.0 else "sitter_right"
    if abs(toward) < math.sin(math.radians(5.0)):
        camera_side = "middle"
    if abs(place.azimuth) < 5.0:
        sitter_side = "middle"
    spacing = math.degrees(place.source.spacing)
    found = {
        "key_from_camera": Finding.word(camera_side, "side of the picture that the key comes from"),
        "key_from_sitter": Finding.word(sitter_side, "the sitter's own side that the key comes from"),
        "key_azimuth": Finding(
            place.azimuth, spacing, "deg", "of the key, from the nose, positive to the sitter's left"
        ),
        "key_elevation": Finding(place.elevation, spacing, "deg", "of the key, over the level of the eyes"),
    }
    yaw = world.scene.sitter.head_yaw
    meaning = "whether the key lights the side of the face that is turned to the camera"
    if abs(yaw) < TURNED:
        found["broad_or_short"] = Finding.word(
            "square to lens",
            meaning,
            f"the head is turned {abs(yaw):.0f} deg, from {TURNED:.0f} it is broad or short",
        )
        return found
    near_is_left = yaw < 0.0  # the nose turned to camera left shows the sitter's left ear
    broad = near_is_left == (place.azimuth >= 0.0)
    near = "sitter_left" if near_is_left else "sitter_right"
    shadow = "shadow side away from camera" if broad else "shadow side to camera"
    found["broad_or_short"] = Finding.word(
        "broad" if broad else "short", meaning, f"{near} is nearer; {shadow}"
    )
    return found


def pattern_by_angle(place: KeyPlace) -> Finding:
    """What a small light there is expected to give, on a mesh without named patches."""
    name = by_angle(place.azimuth, place.elevation)
    return Finding.word(
        name, "shadow pattern", "by angle alone: the mesh has no patches of skin", {"by": "angle"}
    )


def _left(visibility: float) -> str:
    """Of the deepest part of a shadow that is too open."""
    return f"at its deepest {100.0 * visibility:.0f} % of the key are left"


def points_of(world: World, head: Head) -> Points:
    at = {name: head.from_world(mark.position) for name, mark in world.landmarks.items()}
    middle = ("glabella", "nasion", "pronasale", "subnasale", "labiale_superius", "stomion", "menton")
    sided = ("alare_l", "cheilion_l", "endocanthion_l", "exocanthion_l")
    return Points(*(at[name] for name in (*middle, *sided)))


def shadows_of_key(
    tracer: Tracer, world: World, bare: PackedScene, head: Head, grid: Grid, key: int, place: KeyPlace
) -> tuple[dict[str, Finding], list[str]]:
    """Pattern, nose shadow, brow margins, edges and falloff; and lines on what cannot be had."""
    maps = shadows(tracer, world, head, grid, key)
    points = points_of(world, head)
    nose = nose_shadow(maps, points, place.shadow_side)
    size = place.source.angular_size
    pattern = classify(maps, points, nose, place.azimuth, place.elevation, size, place.shadow_side)
    parts: dict[str, object] = {"by": pattern.by, "lit_percent": round(100.0 * pattern.lit_share, 1)}
    if pattern.island is not None:
        parts["lit_shadow_cheek"] = {
            "mm2": round(1e6 * pattern.island.area),
            "width_mm": round(1000.0 * pattern.island.width, 1),
            "height_mm": round(1000.0 * pattern.island.height, 1),
            "closed": pattern.island.closed,
        }
    found = {
        "pattern": Finding.word(pattern.name, "shadow pattern of the key on the face", pattern.why, parts)
    }
    missing: list[str] = []
    found |= _nose_findings(world, head, points, nose, missing)
    for side, eye in (("l", "sitter_left"), ("r", "sitter_right")):
        margin = brow_margin(tracer, world.packed, bare, head, key, world.landmarks[f"pupil_{side}"].position)
        if margin is not None:
            found[f"brow_margin.{eye}"] = Finding(
                margin.margin,
                0.5,
                "deg",
                "how far the key's lower edge stays under the height from which the brow hides it",
                f"cut-off {margin.cut_off:.0f} deg, lower edge {margin.lower_edge:.0f} deg",
            )
    edges = {
        "edge.nose": nose_edge(tracer, world.packed, head, maps, nose, key) if nose.exists else None,
        "edge.jaw": jaw_edge(tracer, world.packed, head, key),
        "edge.wall": wall_edge(tracer, world.packed, bare, head, key, _centre(world, key)),
    }
    for name, edge in edges.items():
        _edge_finding(name, edge, found, missing)
    found["ear_falloff"] = _ear_falloff(tracer, bare, world, key)
    return found, missing


def _centre(world: World, key: int) -> np.ndarray:
    return light_centre(world, world.layers[key].name)


def _nose_findings(
    world: World, head: Head, points: Points, nose: NoseShadow, missing: list[str]
) -> dict[str, Finding]:
    if not nose.exists:
        reason = _left(nose.deepest) if nose.deepest > 0.5 else "shorter than 4 mm"
        missing.append(f"nose_shadow_clock: the key casts no shadow of the nose with a core ({reason})")
    length = Finding(
        1000.0 * nose.length,
        1000.0 * nose.error,
        "mm",
        "nose shadow of the key along the skin, from base or wing of the nose to half the light",
        "it joins the shadow of the cheek" if nose.joined else "",
        {
            "philtrums": round(nose.length / points.philtrum, 2),
            "drop_mm": round(1000.0 * nose.drop, 1),
            "drop_philtrums": round(nose.drop / points.philtrum, 2),
            "deepest_visibility": round(nose.deepest, 3),
        },
    )
    found = {"nose_shadow": length}
    if nose.exists:
        place = camera_place(world.scene.camera)
        way = head.turn(nose.end - nose.tip)
        hours = clock_of(float(way @ np.array(place.right)), float(way @ np.array(place.up)))
        error = math.degrees(nose.error / max(nose.error, float(np.linalg.norm(nose.end - nose.tip)))) / 30.0
        words = f"points to {clock_words(hours)}"
        found["nose_shadow_clock"] = Finding(
            hours, error, "h", "where the nose shadow ends, on a clock about the tip, in the picture", words
        )
    return found


def _edge_finding(name: str, edge: Edge | None, found: dict[str, Finding], missing: list[str]) -> None:
    if edge is None:
        missing.append(f"{name}: there is no such shadow or no surface that it falls on")
    elif math.isnan(edge.width):
        missing.append(f"{name}: no shadow with a core and an end there ({_left(edge.deepest)})")
    else:
        found[name] = Finding(
            1000.0 * edge.width,
            1000.0 * edge.step,
            "mm",
            f"width of the key's shadow edge, a tenth to nine tenths of its light, {edge.where}",
            ""
            if edge.deepest <= 0.1
            else f"from its steepest part: the core is not full (V = {edge.deepest:.2f})",
        )


def _ear_falloff(tracer: Tracer, bare: PackedScene, world: World, key: int) -> Finding:
    """Flat discs at both tragia, facing the key, the head taken away."""
    scene = with_light_only(without_bounce(bare), key)
    at = np.array([world.landmarks[f"tragion_{side}"].position for side in ("l", "r")])
    axis = _centre(world, key) - at
    axis /= np.linalg.norm(axis, axis=1, keepdims=True)
    read = luminance(tracer.arriving(scene, at, axis, EAR_SAMPLES, EAR_REPLICAS, off=0.0)[:, :, 0, 0])
    near = int(read.mean(axis=0).argmax())
    meaning = "the key's light at the near ear re the far ear, head taken away"
    over = derived_reading(
        lambda a, b: stops(a, b) if b > 0.0 else math.inf, "stops", meaning, read[:, near], read[:, 1 - near]
    )
    return Finding.of(over)
