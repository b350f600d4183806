"""Reading a preview that was written before."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import ValidationError

from renderer.errors import InputError
from renderer.film.mix import Mix
from renderer.meter.face import FaceTrace
from renderer.meter.mark import Mark
from renderer.picture.exr import read_layers
from renderer.preview import Preview
from renderer.record.form import check
from renderer.record.name import EYE_LAYERS, FORMAT, LAYERS, NUMBERS
from renderer.record.plane import layers_from
from renderer.scene import message
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
    except json.JSONDecodeError as error:
        raise InputError(f"{path}:{error.lineno}: is no valid JSON at column {error.colno}") from None
    except (ValueError, RecursionError):  # no UTF-8, thousands of digits, or brackets without end
        raise InputError(f"{path}: is no valid JSON") from None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise InputError(f"{path}: expected the numbers of a preview, format {FORMAT}")
    mix = Mix(tuple(fader.fader() for fader in check(data, str(path)).mix))
    try:
        scene = Scene.model_validate(data["scene"])
    except ValidationError as error:
        where, text = next(message.problems(error.errors(include_url=False)[0]))
        raise InputError(f"{path}: {message.dotted(('scene', *where))}: {text}") from None
    home = data.get("scene_folder")
    if isinstance(home, str):
        scene.settle(Path(home))  # where the files that the scene names are, for whoever builds it again
    stored, _ = read_layers(folder / LAYERS)
    eyes = read_layers(folder / EYE_LAYERS)[0] if data["eyes"] else None
    try:
        return _preview(data, scene, mix, stored, eyes)
    except KeyError as error:
        raise InputError(f'{folder}: the layers have no "{error.args[0]}", which {NUMBERS} names') from None
    except (AttributeError, TypeError, ValueError, IndexError, OverflowError):
        raise InputError(f"{folder}: {NUMBERS} and {LAYERS} do not belong together") from None


def _preview(
    data: dict[str, Any],
    scene: Scene,
    mix: Mix,
    stored: dict[str, np.ndarray],
    eyes: dict[str, np.ndarray] | None,
) -> Preview:
    marks = [
        Mark(name, it["meter"], np.array(it["at_m"]), np.array(it["axis"]), it["where"])
        for name, it in data["marks"].items()
    ]
    values = np.array(data["replicas"]["values"])
    replicas = values.reshape(len(values), len(marks), len(mix.faders), 2, 3)
    layers = layers_from(stored, mix, replicas, data["tracing"])
    magnified = layers_from(eyes, mix, replicas[:, :0], data["eyes"]) if eyes else None
    face = FaceTrace.from_record(data["face"]) if data["face"] else None
    return Preview(scene, layers, marks, data["not_given_by_marks"], face, magnified)
