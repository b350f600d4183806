"""Numbers out of a photometric file: checked one by one, each fault with its line."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from renderer.photometry.text import Text, plain, show

NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", re.ASCII)
DELIMITER = re.compile(r"[\s,]+")


def parse(word: str) -> float | None:
    """A finite number written in the plain way; None for anything else (nan, inf, 1_000, words)."""
    if NUMBER.fullmatch(word) is None:
        return None
    value = float(word)
    return value if math.isfinite(value) else None


def number(
    text: Text,
    line: int,
    what: str,
    word: str,
    low: float = -math.inf,
    high: float = math.inf,
    above: bool = False,
) -> float:
    """The number in `word` from `low` (or above it) to `high`. Raises InputError with the line."""
    value = parse(word)
    if value is None:
        raise text.fault(line, f"{what}: expected a number; got {show(word)}")
    if (value > low if above else value >= low) and value <= high:
        return value
    raise text.fault(line, f"{what}: expected {span(low, high, above)}; got {plain(value)}")


def whole(text: Text, line: int, what: str, word: str, low: int, high: int) -> int:
    """The whole number in `word` from `low` to `high`. Raises InputError with the line."""
    value = parse(word)
    if value is None or value != math.floor(value) or not low <= value <= high:
        found = show(word) if value is None else plain(value)
        raise text.fault(line, f"{what}: expected a whole number from {low} to {high}; got {found}")
    return int(value)


def span(low: float, high: float, above: bool) -> str:
    """The valid numbers, in words."""
    start = f"above {plain(low)}" if above else f"from {plain(low)}"
    if high == math.inf:
        return f"a number {start}" + ("" if above else " up")
    if low == -math.inf:
        return f"a number up to {plain(high)}"
    return f"a number {start} to {plain(high)}"


class Numbers:
    """The numbers of a text from a line onwards, split by blanks, commas and line ends alike."""

    def __init__(self, text: Text, line: int) -> None:
        self.text = text
        self.line = line
        """Line of the number taken last, from 1."""
        self._words = self._each(line)

    def _each(self, first: int) -> Iterator[tuple[int, str]]:
        for line in range(first, len(self.text.lines) + 1):
            for word in DELIMITER.split(self.text.lines[line - 1]):
                if word:
                    yield line, word

    def word(self) -> str | None:
        """The next word as it stands; None at the end of the file."""
        found = next(self._words, None)
        if found is None:
            return None
        self.line = found[0]
        return found[1]

    def _needed(self, what: str) -> str:
        found = self.word()
        if found is None:
            raise self.text.fault(len(self.text.lines), f"{what}: expected a number; the file ends before it")
        return found

    def number(self, what: str, low: float = -math.inf, high: float = math.inf, above: bool = False) -> float:
        """The next number. Raises InputError."""
        word = self._needed(what)
        return number(self.text, self.line, what, word, low, high, above)

    def whole(self, what: str, low: int, high: int) -> int:
        """The next number, a whole one. Raises InputError."""
        word = self._needed(what)
        return whole(self.text, self.line, what, word, low, high)

    def several(self, what: str, count: int, low: float, high: float) -> tuple[float, ...]:
        """The next `count` numbers. Raises InputError, which says how many there were."""
        values: list[float] = []
        for i in range(count):
            word = self.word()
            if word is None:
                raise self.text.fault(
                    len(self.text.lines), f"{what}: expected {count} numbers; the file ends after {i}"
                )
            values.append(number(self.text, self.line, f"{what}, number {i + 1} of {count}", word, low, high))
        return tuple(values)

    def ascending(self, what: str, count: int, low: float, high: float) -> tuple[float, ...]:
        """The next `count` numbers, each above the one before. Raises InputError at the first that is not."""
        values: list[float] = []
        for i in range(count):
            named = f"{what}, number {i + 1} of {count}"
            word = self.word()
            if word is None:
                raise self.text.fault(
                    len(self.text.lines), f"{what}: expected {count} numbers; the file ends after {i}"
                )
            value = number(self.text, self.line, named, word, low, high)
            if values and value <= values[-1]:
                raise self.text.fault(
                    self.line,
                    f"{named}: expected more than the {plain(values[-1])} before it; got {plain(value)}",
                )
            values.append(value)
        return tuple(values)
