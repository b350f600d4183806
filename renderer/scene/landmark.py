"""Names of points of the head that a mark may stand at."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from difflib import get_close_matches
from functools import cache

from renderer import assets

# Names that people say for points of the face, beside the anatomical ones of the landmark file.
SPOKEN = {
    "nose": "pronasale",
    "chin": "menton",
    "forehead": "forehead_centre",
    "sitter_left_cheek": "malar_l",
    "sitter_right_cheek": "malar_r",
    "sitter_left_eye": "pupil_l",
    "sitter_right_eye": "pupil_r",
    "head_top": "vertex",
}


@cache
def bundled_names() -> tuple[str, ...]:
    """Landmarks of the heads that come with the program: all have the same."""
    with (assets.folder("meshes") / "head.toml").open("rb") as file:
        return tuple(tomllib.load(file)["landmark"])


def unknown(word: str, names: Iterable[str]) -> str:
    """What is wrong with a landmark of that name where there are `names`; empty where it is one of them."""
    there = list(names)
    if SPOKEN.get(word, word) in there:
        return ""
    if not there:
        return f'the sitter has no landmark "{word}"; expected a point [x, y, z]'
    known = [*(said for said, name in SPOKEN.items() if name in there), *there]
    near = get_close_matches(word, known, 1)
    hint = f'; did you mean "{near[0]}"?' if near else f" (landmarks: {', '.join(known)})"
    return f'no landmark is called "{word}"{hint}'
