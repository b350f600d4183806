"""PNG out: sRGB said in every way the standard has, words kept with the picture."""

from __future__ import annotations

import struct
from collections.abc import Mapping
from io import BytesIO
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, PngImagePlugin

from renderer.errors import InputError
from renderer.picture.atomic import Written, whole_file

TEXT_LIMIT = 1_000_000
"""Bytes of one text. Pillow, and so many tools, refuse to read back more than 1 MiB of one chunk."""

_LEVEL = 4  # of zlib: half the time of the usual 6, for pictures that take 4 % more room

# PNG (third edition), 11.3.2: sRGB with its fallbacks gAMA and cHRM as the standard prescribes, and cICP
# for newer readers (H.273 codes: primaries 1 = BT.709, transfer 13 = sRGB, matrix 0 = RGB, full range).
# An embedded profile would add nothing, and those that libraries generate differ from run to run.
_COLOUR_CHUNKS = (
    (b"cICP", bytes((1, 13, 0, 1))),
    (b"sRGB", bytes((0,))),
    (b"gAMA", struct.pack(">I", 45455)),
    (b"cHRM", struct.pack(">8I", 31270, 32900, 64000, 33000, 30000, 60000, 15000, 6000)),
)


def write_png(
    path: str | Path,
    pixels: NDArray[np.uint8],
    text: Mapping[str, str] | None = None,
    written: Written | None = None,
) -> None:
    """Writes `pixels`, (h, w, 3) or (h, w) uint8 sRGB, with `text` (keyword: words) as iTXt chunks.

    The file is there whole or not at all, and the same input gives the same bytes; `written` as in
    `whole_file`. Raises InputError where it cannot be written, or for a keyword or text that PNG has no
    room for; ValueError for pixels of another shape or type.
    """
    path = Path(path)
    if pixels.dtype != np.uint8 or not (pixels.ndim == 2 or (pixels.ndim == 3 and pixels.shape[2] == 3)):
        raise ValueError(f"pixels: expected (h, w, 3) or (h, w) uint8, got {pixels.shape} {pixels.dtype}")
    info = _colour_info()
    for keyword, words in (text or {}).items():
        _check_text(path, keyword, words)
        info.add_itxt(keyword, words, zip=len(words) > 1024)
    with whole_file(path, written) as part:
        _save(part, pixels, info)


def png_bytes(pixels: NDArray[np.uint8]) -> bytes:
    """`pixels`, as of `write_png`, as the bytes of a PNG: for a notebook."""
    held = BytesIO()
    _save(held, pixels, _colour_info())
    return held.getvalue()


def _save(to: Path | BytesIO, pixels: NDArray[np.uint8], info: PngImagePlugin.PngInfo) -> None:
    picture = Image.fromarray(np.ascontiguousarray(pixels))
    picture.save(to, format="PNG", pnginfo=info, compress_level=_LEVEL)


def _colour_info() -> PngImagePlugin.PngInfo:
    info = PngImagePlugin.PngInfo()
    for name, data in _COLOUR_CHUNKS:
        info.add(name, data)
    return info


def _check_text(path: Path, keyword: str, words: str) -> None:
    # PNG 11.3.3.2: 1 to 79 printable Latin-1 characters, no space at either end.
    if (
        not 1 <= len(keyword) <= 79
        or keyword != keyword.strip()
        or not (keyword.isascii() and keyword.isprintable())
    ):
        raise InputError(
            f"{path}: text {keyword!r}: a keyword is 1 to 79 plain letters, digits and inner spaces"
        )
    size = len(words.encode())
    if size > TEXT_LIMIT:
        raise InputError(f"{path}: text {keyword!r}: {size} bytes do not fit; the most is {TEXT_LIMIT}")
    if "\0" in words:
        raise InputError(f"{path}: text {keyword!r}: holds a NUL character, which PNG does not allow")
