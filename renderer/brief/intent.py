"""What the picture is for and what the light does: a few sentences, the picture, the measures of the face."""

from __future__ import annotations

from collections.abc import Iterator

from renderer.brief.material import Material
from renderer.brief.order import order_blocks
from renderer.brief.page import Beside, Block, Pictures, Section, Table, Text
from renderer.brief.pictures import picture_of
from renderer.meter.face.report import rows_of_face, value_words
from renderer.scene import white
from renderer.scene.summary import sitter_words
from renderer.scene.target import Target
from renderer.scene.vector import length, subtract
from renderer.units import MINUS, shutter_in_words, signed, t_stop_in_thirds

RATIOS = ("lighting_ratio", "key_to_fill")
COVER = (
    "production",
    "date, call time",
    "address, floor, lift, parking",
    "contact",
    "version, author, supersedes",
)
LEFT, PICTURE, EYES = 100.0, 116.0, 32.0
"""Millimetres: width of the left column, most height of the picture and of the eyes."""
GLARE = 18.0  # mm that what is said of spectacles takes of the picture, so that the page holds all
GAP = 5.0
ABOVE = 30.0  # mm: title and the row to be filled in


def intent_section(material: Material, wide: float) -> Section:
    """The first page."""
    glare = _glare(material)
    high = PICTURE - (GLARE if glare else 0.0)
    pictures = [picture_of(material.preview.picture(), LEFT, high, "the picture at the camera's exposure")]
    eyes = material.preview.eye_picture()
    if eyes is not None:
        pictures.append(picture_of(eyes, LEFT, EYES, "both eyes, four times magnified"))
    left: tuple[Block, ...] = (
        *(Text(text, "lead") for text in sentences(material)),
        Pictures(tuple(pictures), 1),
        *(() if eyes is not None else (Text("No picture of the eyes: the frame shows none.", "note"),)),
        Table(("camera", ""), tuple(camera_rows(material)), (1.0, 2.6), bold=()),
    )
    return Section(
        "Intent and picture",
        (
            Table(tuple(f"{name}" for name in COVER), (("",) * len(COVER),), (1.0,) * len(COVER), blank=8.0),
            Beside(left, (*_measures(material), *order_blocks(glare)), LEFT, wide - LEFT - GAP, ABOVE),
        ),
    )


def sentences(material: Material) -> Iterator[str]:
    """What to look for, what is wanted, what the light does; no number is made here."""
    scene, numbers = material.scene, material.numbers
    yield scene.note or "No note in the scene: write here in three sentences what the picture is for. ....."
    if scene.target is not None:
        yield f"Wanted: {', '.join(_wanted(scene.target))}."
    found = numbers.face.findings if numbers.face is not None else {}
    parts = [f"The key is {material.key.number} {material.key.name}"]
    if "key_from_camera" in found:
        told = [
            str(found[name].value).replace("_", " ")
            for name in ("key_from_camera", "key_from_sitter")
            if name in found
        ]
        parts[0] += f", from {told[0]}" + (f" ({told[1]})" if len(told) > 1 else "")
    if "pattern" in found:
        parts.append(f"shadow pattern {found['pattern'].value}")
    if "lighting_ratio" in found:
        stops = numbers.measures["lighting_ratio_stops"]
        parts.append(f"lighting ratio {value_words(found['lighting_ratio'])} ({stops.value:.1f} stops)")
    if "background" in found:
        parts.append(f"background {value_words(found['background'])} from the key-side cheek")
    yield "; ".join(parts) + "."


def _glare(material: Material) -> str:
    """Where spectacles show a light, in words; empty where none are worn."""
    found = material.numbers.face.findings if material.numbers.face is not None else {}
    if "glare_margin" not in found:
        return ""
    shown = [it for name, it in found.items() if name.startswith(("glare_lens", "glare_pupil")) and it.why]
    now = f"now on {', '.join(dict.fromkeys(it.why for it in shown))}; " if shown else ""
    return now + found["glare_margin"].why


def _wanted(target: Target) -> Iterator[str]:
    for key, value in target.model_dump(exclude_none=True, exclude={"level"}).items():
        yield f"{key.replace('_', ' ')} {_span(value)}{':1' if key in RATIOS else ''}"
    for mark, level in target.level.items():
        yield f"{mark.replace('_', ' ')} {level.way.replace('_', '-')} {_span(level.wanted)}"


def _span(value: object) -> str:
    if isinstance(value, (tuple, list)):
        several = [_figure(item) for item in value]
        if len(set(several)) == 1:
            return several[0]
        return (
            " to ".join(several)
            if all(isinstance(item, (int, float)) for item in value)
            else " or ".join(several)
        )
    return _figure(value)


def _figure(value: object) -> str:
    return f"{value:g}".replace("-", MINUS) if isinstance(value, (int, float)) else str(value)


def camera_rows(material: Material) -> Iterator[tuple[str, str]]:
    """What the camera department sets, with blanks for what a preview does not know."""
    scene = material.scene
    camera, eyes = scene.camera, scene.sitter.eyes
    reach = length(subtract(camera.at, eyes))
    wide = camera.sensor_width_mm / camera.lens_mm * reach
    high = wide * camera.picture[1] / camera.picture[0]
    x, y, z = camera.at
    yield "lens", f"{camera.lens_mm:g} mm on a sensor {camera.sensor_width_mm:g} mm wide"
    yield "place", f"x {signed(x, 2)}, y {signed(y, 2)}, lens {z:.2f} m high, {reach:.2f} m from the eyes"
    yield (
        "sees",
        f"{camera.width_angle:.1f}° x {camera.height_angle:.1f}°, {wide:.2f} x {high:.2f} m at the eyes",
    )
    yield (
        "exposure",
        f"{t_stop_in_thirds(camera.t_stop)}, ISO {camera.iso:g}, {shutter_in_words(camera.shutter)}",
    )
    yield "asks for", f"{camera.working_lux:.0f} lux on a flat disc"
    yield "white balance", white.in_words(camera.white())
    yield "frame rate, curve", "................................................"
    yield "sitter", "nobody in the scene" if scene.sitter.mesh == "none" else sitter_words(scene)


def _measures(material: Material) -> Iterator[Block]:
    face = material.numbers.face
    if face is None:
        yield Text("No sitter was measured: nothing is said of a face.", "caution")
        return
    rows = []
    key = f"angular size, {material.key.name}"
    for name, value, verdict, reason in rows_of_face(face.findings, face.verdicts):
        if name.startswith("angular size") and name != key:
            continue  # there is one for each light; all are in brief.json
        if name.startswith("glare over the eye") and not verdict:
            continue  # between that on the lens and that on the pupil
        judged = f"{verdict}, {reason.partition(':')[0].partition(';')[0]}" if verdict else ""
        rows.append((name, value.replace("_", " "), judged))
    has_target = any(row[2] for row in rows)
    head = ("the light on the face", "", "wanted") if has_target else ("the light on the face", "")
    kept = tuple(row if has_target else row[:2] for row in rows)
    yield Table(head, kept, (1.55, 1.2, 1.25) if has_target else (1.2, 1.0), bold=(), size=7.0)
    yield Text("± is one standard error. Sources of the measures: renderer/meter/MEASURES.md.", "note")
