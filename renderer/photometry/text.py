"""The text of a photometric file, its lines counted, and the one way in which its faults are told."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from renderer.errors import InputError
from renderer.regular_file import read_bytes

LARGEST = 16_000_000
"""Bytes; a table of every degree both ways has some 500 000, so a larger file is something else."""
LONGEST = 40
"""Letters of the file that an error line repeats."""


def show(found: str) -> str:
    """What a file says, in quotes, on one line, cut to a readable length and free of control codes."""
    plain = "".join(letter if letter.isprintable() else "?" for letter in " ".join(found.split()))
    return f'"{plain[:LONGEST]}..."' if len(plain) > LONGEST + 3 else f'"{plain}"'


def plain(value: float) -> str:
    """A number as a person writes it: 1.2, 5600, 1e+09."""
    return f"{value:.10g}"


@dataclass(frozen=True)
class Text:
    """A file as lines.

    name   what error lines call it
    lines  without their ends; line number n of the file is lines[n - 1]
    """

    name: str
    lines: tuple[str, ...]

    def fault(self, line: int, text: str) -> InputError:
        """The error to raise for what is wrong on a line, counted from 1."""
        return InputError(f"{self.name}:{max(1, min(line, len(self.lines)))}: {text}")


def text_of(raw: bytes, name: str) -> Text:
    """The lines in the bytes of a file: UTF-8 if it is that, else Latin-1, which older programs write.

    Lines end with LF, CR LF or CR. The end-of-file mark of old systems (0x1a) ends the text.
    Raises InputError for bytes that are no text.
    """
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError(f"{name}: is UTF-16 text; expected ASCII, UTF-8 or Latin-1: save it so in an editor")
    if b"\0" in raw:
        line = raw[: raw.index(b"\0")].count(b"\n") + 1
        raise InputError(f"{name}:{line}: is not text (a zero byte); expected an LM-63 or EULUMDAT file")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    text = text.partition("\x1a")[0]
    lines = re.split(r"\r\n|\n|\r", text)  # not splitlines, which also breaks at Latin-1 letters
    while len(lines) > 1 and not lines[-1].strip():
        lines.pop()
    return Text(name, tuple(lines))


def read_text(path: str | Path) -> Text:
    """The lines of a file. Raises InputError for one that is missing, unreadable, too large or no text."""
    path = Path(path)
    too_large = f"is too large for a photometric file; expected at most {LARGEST:,} bytes"
    raw = read_bytes(path, "a photometric file (.ies or .ldt)", LARGEST, too_large, _there)
    return text_of(raw, str(path))


def _there(path: Path) -> str:
    """The photometric files beside a missing one."""
    if not path.parent.is_dir():
        return f' (there is no folder "{path.parent}")'
    held = sorted(file.name for file in path.parent.iterdir() if file.suffix.lower() in (".ies", ".ldt"))
    return f"; photometric files there: {', '.join(held[:12])}" if held else ""
