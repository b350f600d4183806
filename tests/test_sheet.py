"""The sheet of pictures: nothing is scaled, covered or lost."""

from __future__ import annotations

import numpy as np
import pytest

from renderer.picture.legend import PAPER
from renderer.picture.sheet import WORDS, Cell, sheet, wrapped
from renderer.picture.type import text_width


def plain(code: int, size: tuple[int, int] = (60, 120)) -> np.ndarray:
    return np.full((*size, 3), code, np.uint8)


def places(made: np.ndarray, code: int) -> tuple[int, int, int]:
    """Top, left and number of pixels of one even code."""
    rows, columns = np.nonzero((made == code).all(axis=2))
    return int(rows.min()), int(columns.min()), len(rows)


def test_every_picture_is_there_at_its_own_size() -> None:
    rows = [[Cell(plain(10), ["a word"]), Cell(plain(20))], [Cell(plain(30), ["x"] * 4), Cell(plain(40))]]
    made = sheet(rows, "Title", ["left", "right"], ["first", "second"])
    found = {code: places(made, code) for code in (10, 20, 30, 40)}
    assert all(count == 60 * 120 for _, _, count in found.values())
    assert found[10][0] == found[20][0] < found[30][0] == found[40][0]
    assert found[10][1] == found[30][1] < found[20][1] == found[40][1]
    assert (made[0] == PAPER).all() and (made[-1] == PAPER).all()
    words = made[found[30][0] + 60 : -10, found[30][1] : found[30][1] + 120]
    assert (words != PAPER).any()


def test_words_are_wrapped_to_the_picture() -> None:
    text = "one two three four five six seven eight nine ten"
    lines = wrapped(text, 120, WORDS)
    assert " ".join(lines) == text and len(lines) > 1
    assert all(text_width(line, WORDS) <= 120 for line in lines)
    assert wrapped("unbreakable" * 5, 40, WORDS) == ["unbreakable" * 5]


def test_nothing_to_show() -> None:
    with pytest.raises(ValueError, match="at least one picture"):
        sheet([])
