"""Layers as named planes of an EXR file, and back."""

from __future__ import annotations

from typing import Any

import numpy as np

from renderer.errors import InputError
from renderer.film.layers import Layers
from renderer.film.mix import Mix
from renderer.kernels.layout import SEEN
from renderer.scene.name import PLANE_ENDINGS, PLANES

BOUNCED, ARRIVING, DIFFERENCE = PLANE_ENDINGS
SEEN_PLANE, DISTANCE, PATCH, NORMAL, ALBEDO = PLANES
CODES = ("family", "number", "emits")  # of what is seen, one a channel


def planes_of(layers: Layers) -> dict[str, np.ndarray]:
    """(h, w, 3) or (h, w) planes by name; the one without a name is the mixed picture.

    Raises InputError where a light is called as another plane is.
    """
    _check_names(layers.mix.names())
    found: dict[str, np.ndarray] = {"": layers.picture()}
    for i, name in enumerate(layers.mix.names()):
        found[name] = layers.radiance[i]
        found[name + BOUNCED] = layers.bounced[i]
        found[name + ARRIVING] = layers.irradiance[i]
        if layers.difference is not None:
            found[name + DIFFERENCE] = layers.difference[i]
    seen = layers.seen
    codes = [seen[code] for code in CODES]
    found[SEEN_PLANE] = np.stack(codes, axis=-1, dtype=np.float32, casting="unsafe")
    found[DISTANCE] = seen["distance"]
    found[NORMAL], found[ALBEDO] = (seen[name].astype(np.float16) for name in ("normal", "albedo"))
    found[PATCH] = seen["patch"].astype(np.float32)
    return found


def layers_from(
    planes: dict[str, np.ndarray], mix: Mix, replicas: np.ndarray, settings: dict[str, Any]
) -> Layers:
    """What `planes_of` took apart; `settings` as `write` puts them into the numbers.

    Raises KeyError or ValueError for planes or settings that do not belong together.
    """
    codes = planes[SEEN_PLANE]
    seen = np.zeros(codes.shape[:2], SEEN)
    for k, code in enumerate(CODES):
        seen[code] = codes[..., k]
    seen["distance"], seen["patch"] = planes[DISTANCE], planes[PATCH]
    names = mix.names()
    kept = NORMAL in planes and all(name + DIFFERENCE in planes for name in names)
    if kept:
        seen["normal"], seen["albedo"] = planes[NORMAL], planes.get(ALBEDO, 0.0)  # files of old lack it
    return Layers(
        mix,
        np.stack([planes[name] for name in names]),
        np.stack([planes[name + BOUNCED] for name in names]),
        np.stack([planes[name + ARRIVING] for name in names]),
        seen,
        replicas,
        settings["picture_error"]["value"],
        settings["passes"],
        settings["samples_per_pixel"],
        settings["seconds"],
        settings["seed"],
        settings["follow_all"],
        np.stack([planes[name + DIFFERENCE] for name in names]) if kept else None,
    )


def _check_names(lights: list[str]) -> None:
    used = {"", *PLANES}
    for light in lights:
        for name in (light, *(light + ending for ending in PLANE_ENDINGS)):
            if name in used:
                raise InputError(
                    f'light.{light}: its layer "{name}" would be kept under the name of another; give the'
                    " light another name"
                )
            used.add(name)
