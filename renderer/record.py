"""A preview on disk: five files that anyone can read, and the way back from them."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import ValidationError

from renderer import __version__
from renderer.errors import InputError
from renderer.film.layers import Layers
from renderer.film.mix import Fader, Mix
from renderer.kernels.layout import SEEN
from renderer.meter.face import FaceTrace
from renderer.meter.mark import Mark
from renderer.meter.numbers import constants
from renderer.picture.atomic import whole_file
from renderer.picture.exr import read_layers, write_layers
from renderer.picture.png import write_png
from renderer.preview import Preview
from renderer.scene.models import Scene
from renderer.units import shutter_in_words

PICTURE, STOPS, INCIDENT = "preview.png", "stops.png", "incident.png"
LAYERS, NUMBERS = "layers.exr", "numbers.json"
FORMAT = 1
# Names of layers in the EXR beside the lights' own: a light may not end in them.
BOUNCED, ARRIVING, SEEN_LAYER, PLACE_LAYER = " bounced", " arriving", "seen", "distance"


def write(preview: Preview, folder: str | Path, automatic: bool = False) -> list[Path]:
    """Write preview.png, stops.png, incident.png, layers.exr and numbers.json, each whole or not at all.

    automatic  develop by the sitter's brightness instead of the camera's exposure
    Raises InputError where a file cannot be written.
    """
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{folder}: cannot be made a folder: {error.strerror}") from None
    text = _words(preview, automatic)

    def write_numbers() -> None:
        with whole_file(folder / NUMBERS) as part:
            part.write_text(_numbers_text(preview, automatic), encoding="utf-8")

    # the layers, most of the time, are packed outside the interpreter: side by side with the rest
    with ThreadPoolExecutor() as pool:
        jobs = [
            pool.submit(
                write_layers, folder / LAYERS, _exr_layers(preview.layers), {"comments": text["Title"]}
            ),
            pool.submit(lambda: write_png(folder / STOPS, preview.stops_map(automatic), text)),
            pool.submit(lambda: write_png(folder / INCIDENT, preview.incident_map(), text)),
            pool.submit(lambda: write_png(folder / PICTURE, preview.picture(automatic), text)),
            pool.submit(write_numbers),
        ]
    for job in jobs:
        job.result()
    return [folder / name for name in (PICTURE, STOPS, INCIDENT, LAYERS, NUMBERS)]


def _words(preview: Preview, automatic: bool) -> dict[str, str]:
    """What a picture says of itself in its metadata."""
    camera = preview.scene.camera
    exposure = f"ISO {camera.iso:g}, T{camera.t_stop:g}, {shutter_in_words(camera.shutter)}"
    return {
        "Title": preview.scene.title or "untitled",
        "Description": preview.scene.note,
        "Software": f"halfstop {__version__}",
        "Exposure": "automatic" if automatic else exposure,
        "Settings": json.dumps(_settings(preview)),
        "Scene": preview.scene.model_dump_json(exclude_none=True),
    }


def _settings(preview: Preview) -> dict[str, Any]:
    layers = preview.layers
    return {
        "seed": layers.seed,
        "passes": layers.passes,
        "samples_per_pixel": layers.samples,
        "seconds": round(layers.seconds, 3),
        "follow_all": layers.followed_all,
        "picture_error": {
            "value": round(layers.picture_error, 5),
            "unit": "stops",
            "meaning": "root mean square standard error of the sitter's pixels, in the mix as traced",
        },
    }


def _exr_layers(layers: Layers) -> dict[str, np.ndarray]:
    found: dict[str, np.ndarray] = {"": layers.picture()}
    for i, name in enumerate(layers.mix.names()):
        found[name] = layers.radiance[i]
        found[name + BOUNCED] = layers.bounced[i]
        found[name + ARRIVING] = layers.irradiance[i]
    seen = layers.seen
    found[SEEN_LAYER] = np.stack(
        [seen["family"], seen["number"], seen["emits"]], axis=-1, dtype=np.float32, casting="unsafe"
    )
    found[PLACE_LAYER] = seen["distance"]
    return found


def _numbers_text(preview: Preview, automatic: bool) -> str:
    scene, camera, layers = preview.scene, preview.scene.camera, preview.layers
    data = {
        "format": FORMAT,
        "program": f"halfstop {__version__}",
        "title": scene.title,
        "exposure": {
            "t_stop": camera.t_stop,
            "iso": camera.iso,
            "shutter_s": camera.shutter,
            "automatic_picture": automatic,
            "lux_asked_for": camera.working_lux,
        },
        "constants": constants(),
        "tracing": _settings(preview),
        "mix": [
            {"name": f.name, "purpose": f.purpose, "dim": f.dim, "cct": f.cct, "colour": f.colour}
            for f in layers.mix.faders
        ],
        **preview.numbers().as_json(),
        "scene": scene.model_dump(mode="json", exclude_none=True),
        "scene_folder": str(scene.source_path.resolve()) if scene.source_path else None,
        "replicas": {
            "meaning": "independent estimates [replica][mark][light][direct, bounced][r, g, b] of every mark"
            " at full dimmer and neutral colour; lux or cd/m2 as linear RGB",
            "values": "@",
        },
        "face": "@face",
        "not_given_by_marks": preview.missing,
    }
    values = json.dumps([[float(f"{x:.9g}") for x in replica.ravel()] for replica in layers.replicas])
    face = json.dumps(preview.face.as_record()) if preview.face else "null"
    text = json.dumps(data, indent=1, ensure_ascii=False)
    return text.replace('"@"', values).replace('"@face"', face) + "\n"


def read(folder: str | Path) -> Preview:
    """The preview that `write` left in a folder. Raises InputError where it is missing or broken."""
    folder = Path(folder)
    path = folder / NUMBERS
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        hint = f"expected a folder that a preview was written to, with {NUMBERS} and {LAYERS}"
        raise InputError(f"{path}: cannot be read ({error.strerror}); {hint}") from None
    except ValueError as error:
        raise InputError(f"{path}: is no valid JSON: {error}") from None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise InputError(f"{path}: expected the numbers of a preview, format {FORMAT}")
    stored, _ = read_layers(folder / LAYERS)
    try:
        return _preview(data, stored)
    except (KeyError, TypeError, ValueError, ValidationError) as error:
        first = str(error).splitlines()[0]
        raise InputError(f"{folder}: {NUMBERS} and {LAYERS} do not belong together: {first}") from None


def _preview(data: dict[str, Any], stored: dict[str, np.ndarray]) -> Preview:
    scene = Scene.model_validate(data["scene"])
    faders = [Fader(f["name"], f["purpose"], f["dim"], f["cct"], tuple(f["colour"])) for f in data["mix"]]
    names = [fader.name for fader in faders]
    codes = stored[SEEN_LAYER]
    seen = np.zeros(codes.shape[:2], SEEN)
    for k, field in enumerate(("family", "number", "emits")):
        seen[field] = codes[..., k]
    seen["distance"] = stored[PLACE_LAYER]
    marks = [
        Mark(name, it["meter"], np.array(it["at_m"]), np.array(it["axis"]), it["where"])
        for name, it in data["marks"].items()
    ]
    values = np.array(data["replicas"]["values"])
    tracing = data["tracing"]
    layers = Layers(
        Mix(tuple(faders)),
        np.stack([stored[name] for name in names]),
        np.stack([stored[name + BOUNCED] for name in names]),
        np.stack([stored[name + ARRIVING] for name in names]),
        seen,
        values.reshape(len(values), len(marks), len(names), 2, 3),
        tracing["picture_error"]["value"],
        tracing["passes"],
        tracing["samples_per_pixel"],
        tracing["seconds"],
        tracing["seed"],
        tracing["follow_all"],
    )
    face = FaceTrace.from_record(data["face"]) if data.get("face") else None
    return Preview(scene, layers, marks, data["not_given_by_marks"], face)
