"""EXR out and in: one named layer for each light, in one file."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, redirect_stdout
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from renderer.errors import InputError
from renderer.picture.atomic import Written, whole_file

Attribute = str | int | float

HALF_MAX = 65504.0
_RGB = ("R", "G", "B")
_NAMES = "layerNames"
# Rec. 709 primaries and D65 white as x, y pairs, and what the value 1.0 is worth in cd/m2: both standard
# attributes of the format.
_STANDARD: dict[str, Any] = {
    "chromaticities": (0.64, 0.33, 0.30, 0.60, 0.15, 0.06, 0.3127, 0.3290),
    "whiteLuminance": 1.0,
}
_OF_THE_FORMAT = {
    *("channels", "compression", "dataWindow", "displayWindow", "lineOrder", "pixelAspectRatio"),
    *("screenWindowCenter", "screenWindowWidth", "type", "name", "version", "chunkCount", "tiles", "view"),
    *_STANDARD,
    _NAMES,
}


def write_layers(
    path: str | Path,
    layers: Mapping[str, NDArray[Any]],
    attributes: Mapping[str, Attribute] | None = None,
    half: bool = False,
    written: Written | None = None,
) -> None:
    """Writes every layer of `layers` to one EXR, whole or not at all.

    Runs of equal bytes are packed (RLE): the grain of single-precision light takes ZIP five times as long, to
    save a sixth.

    layers      name: (h, w, 3) floats as channels name.R, name.G, name.B (linear Rec. 709, cd/m2); or
                (h, w) floats as name.Y; or (h, w) uint32 as name.id. Floats of 16 bits stay so. The name
                "" gives plain R, G, B: what a reader that knows no layers shows.
    attributes  words and numbers for the header; a whole number over 31 bits is written as words
    half        16-bit floats; values beyond +-65504 are held there instead of becoming infinite
    written     with other files, as `whole_file` says

    In channel names a dot divides layers, so characters other than letters, digits, - and _ are written
    as _ (a second "a_b" is "a_b_2"); `read_layers` gives the names back as they were.
    Raises InputError where the file cannot be written, ValueError for arrays that do not fit together.
    """
    import OpenEXR  # type: ignore[import-not-found, unused-ignore]

    path = Path(path)
    shapes = {array.shape[:2] for array in layers.values()}
    if len(shapes) != 1:
        raise ValueError(f"layers: expected one or more of one size, got sizes {sorted(shapes)}")
    plain_names = _plain_names(layers)
    channels: dict[str, Any] = {}
    for name, array in layers.items():
        channels.update(_channels(name, plain_names[name], array, half))
    header = {"compression": OpenEXR.RLE_COMPRESSION, "type": OpenEXR.scanlineimage} | _STANDARD
    header |= {key: _attribute(key, value) for key, value in (attributes or {}).items()}
    if any(plain != name for name, plain in plain_names.items()):
        header[_NAMES] = json.dumps({plain: name for name, plain in plain_names.items()})
    with whole_file(path, written) as part:
        try:
            OpenEXR.File(header, channels).write(str(part))
        except RuntimeError as error:
            raise OSError(str(error)) from error


def read_layers(path: str | Path) -> tuple[dict[str, NDArray[Any]], dict[str, Attribute]]:
    """The layers and attributes that `write_layers` wrote; layers (h, w, 3) or (h, w), in their own type.

    Files from elsewhere are read too: a layer without all of R, G, B comes as one layer for each channel.
    Raises InputError for a file that is missing, cut short or no EXR.
    """
    import OpenEXR  # type: ignore[import-not-found, unused-ignore]

    path = Path(path)
    if not path.is_file():
        raise InputError(f"{path}: no such file")
    try:
        with _quiet():
            file = OpenEXR.File(str(path), separate_channels=True)
            header, channels = file.header(), file.channels()
        names: dict[str, str] = dict(json.loads(header.get(_NAMES, "{}")))
    except (RuntimeError, ValueError, TypeError):
        raise InputError(f"{path}: is cut short or no EXR file") from None
    groups: dict[str, dict[str, NDArray[Any]]] = {}
    for channel, content in channels.items():
        layer, _, letter = channel.rpartition(".")
        groups.setdefault(layer, {})[letter] = content.pixels
    layers: dict[str, NDArray[Any]] = {}
    for layer, planes in groups.items():
        name = names.get(layer, layer)
        if set(_RGB) <= planes.keys():
            layers[name] = np.stack([planes.pop(letter) for letter in _RGB], axis=-1)
        for letter, plane in planes.items():
            layers[name if letter in ("Y", "id") and name not in layers else f"{name}.{letter}"] = plane
    kept = {
        key: value
        for key, value in header.items()
        if key not in _OF_THE_FORMAT and isinstance(value, (str, int, float))
    }
    return layers, kept


@contextmanager
def _quiet() -> Iterator[None]:
    """The library writes lines of its own about a broken file, past Python: they go nowhere."""
    with open(os.devnull, "w") as nowhere, redirect_stdout(nowhere):
        kept = os.dup(2)
        os.dup2(nowhere.fileno(), 2)
        try:
            yield
        finally:
            os.dup2(kept, 2)
            os.close(kept)


def _plain_names(layers: Mapping[str, NDArray[Any]]) -> dict[str, str]:
    plain: dict[str, str] = {}
    # Names that need no change go first, so that none of them is renamed on account of another.
    for name in sorted(layers, key=lambda name: re.sub(r"[^A-Za-z0-9_-]", "_", name) != name):
        stem = re.sub(r"[^A-Za-z0-9_-]", "_", name)[:200]
        choice, count = stem, 1
        while choice in plain.values():
            count += 1
            choice = f"{stem}_{count}"
        plain[name] = choice
    return plain


def _channels(name: str, plain: str, array: NDArray[Any], half: bool) -> dict[str, NDArray[Any]]:
    stem = f"{plain}." if plain else ""
    if array.ndim == 2 and array.dtype == np.uint32:
        return {f"{stem}id": np.ascontiguousarray(array)}
    if not np.issubdtype(array.dtype, np.floating) or not (
        array.ndim == 2 or (array.ndim == 3 and array.shape[2] == 3)
    ):
        raise ValueError(
            f"layer {name!r}: expected (h, w, 3) or (h, w) floats or (h, w) uint32, "
            f"got {array.shape} {array.dtype}"
        )
    if half:
        array = np.clip(array, -HALF_MAX, HALF_MAX)
    kind = np.float16 if half or array.dtype == np.float16 else np.float32
    # The library reads memory as if it were contiguous: a view would be written scrambled without a word.
    if array.ndim == 2:
        return {f"{stem}Y": np.ascontiguousarray(array, dtype=kind)}
    return {
        f"{stem}{letter}": np.ascontiguousarray(array[:, :, i], dtype=kind) for i, letter in enumerate(_RGB)
    }


def _attribute(key: str, value: Attribute) -> Attribute:
    if key in _OF_THE_FORMAT or not key:
        raise ValueError(f"attribute {key!r}: the name belongs to the format; choose another")
    if isinstance(value, (bool, np.bool_)):
        return int(value)
    if isinstance(value, (int, np.integer)):
        return int(value) if abs(int(value)) < 2**31 else str(value)
    return value if isinstance(value, str) else float(value)
