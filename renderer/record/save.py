"""Writing a preview: all of its files or none."""

from __future__ import annotations

import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

from renderer import __version__
from renderer.film.layers import Layers
from renderer.film.mix import Fader
from renderer.meter.numbers import constants
from renderer.picture.atomic import made_folder, together, whole_file
from renderer.picture.exr import write_layers
from renderer.picture.png import write_png
from renderer.preview import Preview
from renderer.record.name import (
    EYE_LAYERS,
    EYES,
    FORMAT,
    INCIDENT,
    KEY,
    LAYERS,
    NUMBERS,
    PATCHES,
    PICTURE,
    STOPS,
)
from renderer.record.plane import planes_of
from renderer.units import shutter_in_words


def write(preview: Preview, folder: str | Path, automatic: bool = False, grain: bool = False) -> list[Path]:
    """Write pictures, maps, layers and numbers, all or none; the paths, in the order of reading.

    automatic  develop by the sitter's brightness instead of the camera's exposure
    grain      leave the grain in the pictures
    Whatever fails, a folder that was written before is left as it was. Raises InputError where a file cannot
    be written.
    """
    folder = made_folder(folder)
    text = _words(preview, automatic, grain)

    pictures: dict[str, Callable[[], np.ndarray | None]] = {
        PICTURE: lambda: preview.picture(automatic, grain),
        STOPS: lambda: preview.stops_map(automatic),
        INCIDENT: preview.incident_map,
        KEY: lambda: preview.key_picture(automatic, grain),
    }
    if (preview.layers.seen["patch"] != 0).any():
        pictures[PATCHES] = lambda: preview.patch_map(automatic, grain)
    stored = {LAYERS: preview.layers}
    if preview.eyes is not None:
        pictures[EYES] = lambda: preview.eye_picture(automatic, grain)
        stored[EYE_LAYERS] = preview.eyes
    comment = {"comments": text["Title"]}

    with together() as written:

        def write_numbers() -> None:
            with whole_file(folder / NUMBERS, written) as part:
                part.write_text(_numbers_text(preview, automatic), encoding="utf-8")

        def write_picture(name: str) -> None:
            pixels = pictures[name]()
            assert pixels is not None
            write_png(folder / name, pixels, text, written)

        def write_stored(name: str) -> None:
            write_layers(folder / name, planes_of(stored[name]), comment, written=written)

        # the layers, most of the time, are packed outside the interpreter: side by side with the rest
        with ThreadPoolExecutor() as pool:
            jobs = [pool.submit(write_stored, name) for name in stored]
            jobs += [pool.submit(write_picture, name) for name in pictures]
            jobs.append(pool.submit(write_numbers))
        for job in jobs:
            job.result()
    for name in {PATCHES, EYES, EYE_LAYERS} - pictures.keys() - stored.keys():
        if (folder / name).is_file():  # of another scene, that was written here before
            (folder / name).unlink()
    return [folder / name for name in (*pictures, *stored, NUMBERS)]


def write_picture(preview: Preview, folder: str | Path, automatic: bool = False, grain: bool = False) -> Path:
    """Write the picture alone, as `write` does; its path. Raises InputError where it cannot be written."""
    path = made_folder(folder) / PICTURE
    write_png(path, preview.picture(automatic, grain), _words(preview, automatic, grain))
    return path


def _words(preview: Preview, automatic: bool, grain: bool) -> dict[str, str]:
    """What a picture says of itself in its metadata."""
    camera = preview.scene.camera
    exposure = f"ISO {camera.iso:g}, T{camera.t_stop:g}, {shutter_in_words(camera.shutter)}"
    return {
        "Title": preview.scene.title or "untitled",
        "Description": preview.scene.note,
        "Software": f"halfstop {__version__}",
        "Exposure": "automatic" if automatic else exposure,
        "Grain": "left in" if grain else "taken out of the pictures; numbers are of raw light",
        "Settings": json.dumps(_settings(preview.layers)),
        "Scene": preview.scene.model_dump_json(exclude_none=True),
    }


def _settings(layers: Layers) -> dict[str, Any]:
    return {
        "seed": layers.seed,
        "passes": layers.passes,
        "samples_per_pixel": layers.samples,
        "seconds": round(layers.seconds, 3),
        "follow_all": layers.followed_all,
        "picture_error": {
            "value": round(layers.picture_error, 5),
            "unit": "stops",
            "meaning": "root mean square standard error of the sitter's pixels as they are shown (their"
            " grain taken out, unless --grain left it in), in the mix as traced",
        },
    }


def _fader(fader: Fader) -> dict[str, Any]:
    gel = {"mired": fader.gel.mired, "stops": fader.gel.stops}
    data = {"name": fader.name, "purpose": fader.purpose, "dim": fader.dim, "cct": fader.cct}
    return data | {"locus": fader.locus, "duv": fader.duv, "colour": fader.colour, "gel": gel}


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
        "tracing": _settings(preview.layers),
        "eyes": _settings(preview.eyes) if preview.eyes else None,
        "mix": [_fader(fader) for fader in layers.mix.faders],
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
    # by their keys: a title may be any text, these marks too
    text = text.replace('"values": "@"', f'"values": {values}')
    return text.replace('"face": "@face"', f'"face": {face}') + "\n"
