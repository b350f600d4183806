"""A scene in plain words: room, sitter, camera, exposure, and each light with its place and level."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from renderer.scene import gel, outline, place, sight, white
from renderer.scene.found import FoundLight
from renderer.scene.layer import Layer, boards, layers
from renderer.scene.lights.cylinder import CylinderLight
from renderer.scene.lights.diffuser import DiffuserLight
from renderer.scene.models import Scene
from renderer.scene.parts import RGB, Vec3
from renderer.scene.sitter import Sitter
from renderer.scene.skin import luminance
from renderer.scene.vector import length, subtract
from renderer.units import shutter_in_words

WIDTH = 108
LABEL = 11


def summary(scene: Scene) -> Iterator[str]:
    """Lines of at most `WIDTH` characters."""
    yield scene.title or "Scene without a title"
    if scene.note:
        yield from _row("look for", scene.note)
    yield from _row("room", _room(scene))
    yield from _row("sitter", sitter_words(scene))
    yield from _row("camera", _camera(scene))
    yield from _row("exposure", _exposure(scene))
    for layer in layers(scene):
        yield ""
        if layer.name in scene.light or layer.name in scene.windows:
            yield from _light(scene, layer)
        elif scene.room is not None and scene.room.found is not None:
            yield from _found(scene.room.found)
    named = boards(scene)
    if named:
        yield ""
    for name, parts in named.items():
        low, high = outline.box(part.shape for part in parts)
        centre = parts[0].shape.centre
        reach = length(subtract(centre, scene.sitter.eyes))
        front, back = _share(parts[0].reflectance), _share(parts[0].back_reflectance)
        gloss = "" if parts[0].gloss is None else f" (silver, roughness {parts[0].gloss:g})"
        text = f"at {_point(centre)}, {reach:.2f} m from the eyes, from {low[2]:.2f} to {high[2]:.2f} m high,"
        yield from _row(name, f"{text} reflects {front} in front{gloss} and {back} behind")
    if scene.mark:
        yield ""
        for name, mark in scene.mark.items():
            at = mark.at if isinstance(mark.at, str) else _point(mark.at)
            facing = mark.facing if isinstance(mark.facing, str) else _point(mark.facing)
            yield from _row(f"mark.{name}", f"{mark.meter} meter at {at}, facing {facing}")


def _row(label: str, text: str) -> list[str]:
    indent = " " * (LABEL + 2)
    head = f"  {label:<{LABEL}}" if len(label) < LABEL else f"  {label}  "
    return textwrap.wrap(text, WIDTH, initial_indent=head, subsequent_indent=indent)


def _room(scene: Scene) -> str:
    room = scene.room
    if room is None:
        return "none: open black space"
    named = [(name, getattr(room.reflectance, name)) for name in type(room.reflectance).model_fields]
    reflectances = ", ".join(f"{name} {_share(value)}" for name, value in named)
    return (
        f"{room.width:g} m wide, {room.depth:g} m deep, {room.height:g} m high; the wall behind is"
        f" {room.back_wall:g} m from the sitter; reflectance: {reflectances}"
    )


def sitter_words(scene: Scene) -> str:
    """Where the sitter's eyes are, how the head is held, the skin, what is worn."""
    sitter = scene.sitter
    if sitter.mesh == "none":
        return f"nobody; eye height {sitter.eye_height:.2f} m"
    side = "camera right" if sitter.head_yaw > 0 else "camera left"
    turn = f"turned {abs(sitter.head_yaw):g} degrees to {side}" if sitter.head_yaw else "square to the camera"
    lift = "up" if sitter.head_pitch > 0 else "down"
    tilt = f"chin {lift} {abs(sitter.head_pitch):g} degrees" if sitter.head_pitch else "level"
    who = "" if sitter.mesh == "head" else f', mesh "{sitter.mesh}"'
    skin = _share(sitter.skin_rgb)
    return f"eyes at {sitter.eye_height:.2f} m, head {turn}, {tilt}, skin {skin}{who}{_glasses(sitter)}"


def _glasses(sitter: Sitter) -> str:
    glasses = sitter.glasses
    if glasses is None:
        return ""
    rim = f"rim {1000.0 * glasses.rim:g} mm" if glasses.rim else "rimless"
    size = f"{1000.0 * glasses.lens_width:g} x {1000.0 * glasses.lens_height:g} mm"
    mirrors = f"mirror {100.0 * glasses.mirrors:.1f} % of the light"
    return f"; spectacles: lenses {size}, tilted {glasses.tilt:g} degrees, {rim}; they {mirrors}"


def _camera(scene: Scene) -> str:
    camera = scene.camera
    reach = length(subtract(camera.at, scene.sitter.eyes))
    wide = camera.sensor_width_mm / camera.lens_mm * reach
    high = wide * camera.picture[1] / camera.picture[0]
    lens = f"{camera.lens_mm:g} mm on {camera.sensor_width_mm:g} mm"
    angles = f"{camera.width_angle:.1f} x {camera.height_angle:.1f} degrees"
    return (
        f"at {_point(camera.at)}, {reach:.2f} m from the eyes; {lens}: sees {angles},"
        f" {wide:.2f} x {high:.2f} m at the eyes; {camera.picture[0]} x {camera.picture[1]} pixels"
    )


def _exposure(scene: Scene) -> str:
    camera = scene.camera
    return (
        f"T{camera.t_stop:g}, ISO {camera.iso:g}, {shutter_in_words(camera.shutter)}, white balance"
        f" {white.in_words(camera.white())}: asks for {camera.working_lux:.0f} lux"
        " (E = C N^2 / (S t), ISO 2720, flat receptor, C = 250)"
    )


def _found(light: FoundLight) -> Iterator[str]:
    yield f"  room.found: off the ceiling, purpose {light.purpose}"
    colour = f"; colour {_point(light.colour)}" if light.colour != (1.0, 1.0, 1.0) else ""
    text = f"{light.lux:g} lux on a dome at the face, turned to the lens, with all other lights off"
    shade = f"{white.in_words(light.white())}{colour}"
    yield from _row("  level", f"{text}: set when traced; dimmer {light.dim:g}; {shade}")


def _light(scene: Scene, layer: Layer) -> Iterator[str]:
    light = scene.light.get(layer.name)
    if light is not None:
        yield f"  light.{layer.name}: {light.source}, purpose {layer.purpose}"
    else:
        wall = scene.windows[layer.name].wall.replace("_", " ")
        yield f"  room.window.{layer.name}: in the {wall} wall, purpose {layer.purpose}"
    eyes = scene.sitter.eyes
    centre = layer.parts[0].shape.centre if light is None else light.centre(scene.sitter, scene.camera)
    azimuth, elevation, distance = sight.bearing(scene.camera, eyes, centre)
    side = "camera right" if azimuth >= 0 else "camera left"
    text = (
        f"{_point(centre)}; from the eyes: azimuth {abs(azimuth):.0f} degrees to {side}, elevation"
        f" {elevation:.0f} degrees, {distance:.2f} m"
    )
    if scene.sitter.head_yaw or scene.sitter.head_pitch:
        text += f"; {sight.angle(place.head_axes(scene.sitter, scene.camera)[0], subtract(centre, eyes)):.0f}"
        text += " degrees from the nose"
    yield from _row("  place", text)
    size = sight.angular_size(layer.parts, eyes)
    yield from _row(
        "  size", f"{size:.0f} degrees at its widest, seen from the eyes" if size else "not seen by the eyes"
    )
    level = max((part.luminance for part in layer.parts), default=0.0)
    if isinstance(light, DiffuserLight):  # not that of the head behind
        level = light.face_luminance()
    flux = f"{layer.flux:.0f} lumens"
    if isinstance(light, CylinderLight) and light.skirt and light.lamp is None:
        flux += f" ({light.skirted_flux():.0f} past the skirts)"
    thing = scene.windows[layer.name] if light is None else light
    colour = white.in_words(layer.white)
    if thing.gel:
        through = f"{layer.white.behind:.0f} K, {layer.white.gel.stops:.2f} stop less"
        colour += f" through {gel.in_words(thing.gel)}: {through}"
    if layer.white.colour != white.NEUTRAL:
        colour += f", colour {_point(layer.white.colour)}"
    yield from _row("  level", f"{flux}, {level:,.0f} cd/m2 at full; dimmer {layer.dim:g}; {colour}")
    for label, told in light.figures() if light is not None else ():
        yield from _row(f"  {label}", told)
    low, high = outline.box(part.shape for part in layer.parts)
    gap = f", {scene.room.height - high[2]:.2f} m to the ceiling" if scene.room is not None else ""
    yield from _row("  height", f"lowest edge {low[2]:.2f} m, highest {high[2]:.2f} m{gap}")


def _point(point: Vec3 | RGB) -> str:
    return f"[{', '.join(f'{value:.2f}' for value in point)}]"


def _share(colour: RGB) -> str:
    """A reflectance as one luminous number, with its colour where it has one."""
    text = f"{luminance(colour):.2f}"
    return text if max(colour) - min(colour) < 5e-3 else f"{text} {_point(colour)}"
