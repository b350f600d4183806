"""The files of a comparison and of a walk: all of them or none."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from renderer import __version__
from renderer.picture.atomic import made_folder, together, whole_file
from renderer.picture.bands import Pixels
from renderer.picture.png import write_png


def write_files(
    folder: str | Path,
    pictures: Mapping[str, Pixels],
    data: Mapping[str, dict[str, Any]],
    texts: Mapping[str, str],
    title: str,
) -> list[Path]:
    """Write pictures, data (JSON) and texts by the names of their files; the paths, in that order.

    Raises InputError where one cannot be written; then all are as they were.
    """
    about = {"Title": title, "Software": f"halfstop {__version__}"}
    held = {
        name: json.dumps(it, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
        for name, it in data.items()
    }
    folder = made_folder(folder)
    with together() as written:
        for name, pixels in pictures.items():
            write_png(folder / name, pixels, about, written)
        for name, text in (held | dict(texts)).items():
            with whole_file(folder / name, written) as part:
                part.write_text(text, encoding="utf-8", newline="")
    return [folder / name for name in (*pictures, *held, *texts)]
