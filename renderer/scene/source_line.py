"""Which line of a TOML text a key is on; `tomllib` tells that only for text it cannot read.

A small scanner that follows tables, arrays of tables, dotted and quoted keys, inline tables and arrays.
It expects text that `tomllib` accepted; on other text it stops early and answers for what it saw.
"""

from __future__ import annotations

import contextlib
import re
from bisect import bisect_right

Path = tuple[str | int, ...]

BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
SPACE = re.compile(r"[ \t]*")
BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
TEXT = re.compile(r'"""(?:\\.|[^\\])*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'', re.DOTALL)
PLAIN = re.compile(r"[^,\]}\n#]+")
ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}
ESCAPED = re.compile(r"\\(u[0-9A-Fa-f]{4}|U[0-9A-Fa-f]{8}|.)", re.DOTALL)


class SourceLines:
    """Lines (from 1) of the keys of a TOML text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.lines: dict[Path, int] = {}
        self.repeated: list[tuple[Path, int, int]] = []
        """Keys given twice: path, first line, second line."""
        self._breaks = [i for i, letter in enumerate(text) if letter == "\n"]
        self._given: dict[Path, int] = {}
        self._counts: dict[Path, int] = {}
        with contextlib.suppress(_UnreadableError, RecursionError):
            self._scan()

    def line(self, path: Path) -> int | None:
        """Line of the key, or else of the nearest table round it; None for the whole file."""
        for size in range(len(path), 0, -1):
            if path[:size] in self.lines:
                return self.lines[path[:size]]
        return None

    def _line_at(self, at: int) -> int:
        return bisect_right(self._breaks, at - 1) + 1 if at else 1

    def _note(self, path: Path, at: int, given: bool) -> None:
        line = self._line_at(at)
        self.lines.setdefault(path, line)
        if given and self._given.setdefault(path, at) != at:
            self.repeated.append((path, self._line_at(self._given[path]), line))

    def _scan(self) -> None:
        at = 0
        table: Path = ()
        while True:
            at = self._skip(BLANK, at)
            if at >= len(self.text):
                return
            if self.text[at] == "[":
                at, table = self._header(at)
            else:
                at = self._pair(at, table)

    def _skip(self, what: re.Pattern[str], at: int) -> int:
        found = what.match(self.text, at)
        return found.end() if found else at

    def _header(self, start: int) -> tuple[int, Path]:
        several = self.text.startswith("[[", start)
        at, keys = self._keys(start + 1 + several)
        path: Path = ()
        for i, key in enumerate(keys):
            path = (*path, key)
            if several and i == len(keys) - 1:
                count = self._counts.get(path, 0)
                self._counts[path] = count + 1
                self.lines.setdefault(path, self._line_at(start))
                path = (*path, count)
            elif path in self._counts:
                path = (*path, self._counts[path] - 1)
            self._note(path, start, given=i == len(keys) - 1)
        return self._expect("]]" if several else "]", at), path

    def _pair(self, start: int, table: Path) -> int:
        at, keys = self._keys(start)
        path = table
        for i, key in enumerate(keys):
            path = (*path, key)
            self._note(path, start, given=i == len(keys) - 1)
        return self._value(self._skip(SPACE, self._expect("=", at)), path)

    def _expect(self, sign: str, at: int) -> int:
        at = self._skip(SPACE, at)
        if not self.text.startswith(sign, at):
            raise _UnreadableError
        return at + len(sign)

    def _keys(self, at: int) -> tuple[int, list[str]]:
        keys: list[str] = []
        while True:
            at = self._skip(SPACE, at)
            quoted = self.text[at : at + 1] in ("'", '"')
            found = (TEXT if quoted else BARE_KEY).match(self.text, at)
            if found is None:
                raise _UnreadableError
            keys.append(_unquoted(found[0]) if quoted else found[0])
            at = self._skip(SPACE, found.end())
            if not self.text.startswith(".", at):
                return at, keys
            at += 1

    def _value(self, at: int, path: Path) -> int:
        sign = self.text[at : at + 1]
        if sign == "[":
            return self._items(at + 1, path)
        if sign == "{":
            return self._pairs(at + 1, path)
        found = (TEXT if sign in ("'", '"') else PLAIN).match(self.text, at)
        if found is None:
            raise _UnreadableError
        return found.end()

    def _items(self, at: int, path: Path) -> int:
        index = 0
        while True:
            at = self._skip(BLANK, at)
            if self.text.startswith("]", at):
                return at + 1
            self._note((*path, index), at, given=False)
            at = self._skip(BLANK, self._value(at, (*path, index)))
            index += 1
            at += self.text.startswith(",", at)

    def _pairs(self, at: int, path: Path) -> int:
        while True:
            at = self._skip(BLANK, at)
            if self.text.startswith("}", at):
                return at + 1
            at = self._skip(BLANK, self._pair(at, path))
            at += self.text.startswith(",", at)


class _UnreadableError(Exception):
    """The scanner met what is no TOML."""


def _unquoted(quoted: str) -> str:
    """The text inside quotes, with the escapes of TOML 1.0 undone."""
    if quoted.startswith("'"):
        return quoted[1:-1]

    def plain(found: re.Match[str]) -> str:
        code = found[1]
        return chr(int(code[1:], 16)) if len(code) > 1 else ESCAPES.get(code, code)

    return ESCAPED.sub(plain, quoted[1:-1])
