"""The door to photometric files: a path in, a `Photometry` out, whatever the format."""

from __future__ import annotations

from pathlib import Path

from renderer.errors import InputError
from renderer.photometry.eulumdat import SYMMETRIES, read_eulumdat
from renderer.photometry.lm63 import TILT_LINE, read_lm63
from renderer.photometry.number import parse
from renderer.photometry.record import Photometry
from renderer.photometry.text import Text, read_text


def read(path: str | Path, lamp_set: int = 1) -> Photometry:
    """The distribution in a photometric file, LM-63 or EULUMDAT: told by what is in it, not by its name.

    lamp_set  which of the alternative sets of lamps of an EULUMDAT file is fitted, from 1
    Raises InputError: one line, with the line of the file.
    """
    return interpret(read_text(path), lamp_set)


def interpret(text: Text, lamp_set: int = 1) -> Photometry:
    """As `read`, from text. Raises InputError."""
    suffix = Path(text.name).suffix.lower()
    if any(TILT_LINE.fullmatch(line) for line in text.lines):
        return read_lm63(text)
    if suffix == ".ldt" or _like_eulumdat(text):
        return read_eulumdat(text, lamp_set)
    if suffix == ".ies" or text.lines[0].lstrip().upper().startswith("IES"):
        return read_lm63(text)
    raise InputError(
        f"{text.name}: is neither LM-63 (which has a line TILT=NONE or TILT=INCLUDE) nor EULUMDAT (which has"
        " its symmetry, 0 to 4, on line 3)"
    )


def _like_eulumdat(text: Text) -> bool:
    """A file of many lines whose second and third are a type and a symmetry."""
    if len(text.lines) < 40:
        return False
    kind, symmetry = (parse(line.strip()) for line in text.lines[1:3])
    return kind in (0, 1, 2, 3) and symmetry in range(len(SYMMETRIES))
