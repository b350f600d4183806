"""Reading a preview that was written before."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import ValidationError

from renderer.errors import InputError
from renderer.film.mix import Fader, Mix
from renderer.meter.face import FaceTrace
from renderer.meter.mark import Mark
from renderer.picture.exr import read_layers
from renderer.preview import Preview
from renderer.record.name import EYE_LAYERS, FORMAT, LAYERS, NUMBERS
from renderer.record.plane import layers_from
from renderer.scene.models import Scene


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
    eyes = read_layers(folder / EYE_LAYERS)[0] if data.get("eyes") else None
    try:
        return _preview(data, stored, eyes)
    except (KeyError, TypeError, ValueError, ValidationError) as error:
        first = str(error).splitlines()[0]
        raise InputError(f"{folder}: {NUMBERS} and {LAYERS} do not belong together: {first}") from None


def _preview(
    data: dict[str, Any], stored: dict[str, np.ndarray], eyes: dict[str, np.ndarray] | None
) -> Preview:
    scene = Scene.model_validate(data["scene"])
    faders = [Fader(f["name"], f["purpose"], f["dim"], f["cct"], tuple(f["colour"])) for f in data["mix"]]
    mix = Mix(tuple(faders))
    marks = [
        Mark(name, it["meter"], np.array(it["at_m"]), np.array(it["axis"]), it["where"])
        for name, it in data["marks"].items()
    ]
    values = np.array(data["replicas"]["values"])
    replicas = values.reshape(len(values), len(marks), len(faders), 2, 3)
    layers = layers_from(stored, mix, replicas, data["tracing"])
    magnified = layers_from(eyes, mix, replicas[:, :0], data["eyes"]) if eyes else None
    face = FaceTrace.from_record(data["face"]) if data.get("face") else None
    return Preview(scene, layers, marks, data["not_given_by_marks"], face, magnified)
