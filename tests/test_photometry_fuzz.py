"""Properties that hold whatever the file says; with hypothesis, where it is installed."""

from __future__ import annotations

import math

import numpy as np
import pytest
from photometry_lab import eulumdat, lm63
from test_photometry_errors import SOUND, mended_or_told

from renderer.photometry.lm63 import read_lm63
from renderer.photometry.read import interpret
from renderer.photometry.table import CandelaTable
from renderer.photometry.text import text_of
from renderer.photometry.two_angle import beam_of_angles

pytest.importorskip("hypothesis")
from hypothesis import given, settings
from hypothesis import strategies as st

WORDS = st.sampled_from(
    ["TILT=NONE", "1", "-1", "0", "2", "90", "180", "1e9", "x", "[A] b", "IESNA91", "", "nan", ","]
)
CANDELA = st.floats(0.0, 1e6).map(lambda x: round(x, 3))


@settings(max_examples=200, deadline=None, database=None)
@given(st.binary(max_size=300), st.sampled_from(["a.ies", "a.ldt", "a.txt"]))
def test_any_bytes(raw: bytes, name: str) -> None:
    mended_or_told(raw, name)
    mended_or_told(b"TILT=NONE\n" + raw, name)


@settings(max_examples=300, deadline=None, database=None)
@given(st.lists(st.tuples(WORDS, st.sampled_from([" ", "\n", "\r\n"])), max_size=60))
def test_any_words(words: list[tuple[str, str]]) -> None:
    mended_or_told("".join(word + end for word, end in words).encode(), "a.ies")
    mended_or_told("".join(word + end for word, end in words).encode(), "a.ldt")


@settings(max_examples=300, deadline=None, database=None)
@given(st.sampled_from(SOUND), st.integers(0, 5000), st.integers(0, 60), st.binary(max_size=8))
def test_any_cut(raw: bytes, start: int, size: int, piece: bytes) -> None:
    start %= len(raw)
    mended_or_told(raw[:start] + piece + raw[start + size :], "head.ies")


@settings(max_examples=60, deadline=None, database=None)
@given(
    st.lists(st.lists(CANDELA, min_size=4, max_size=4), min_size=5, max_size=5),
    st.floats(0.01, 100.0),
    st.sampled_from([1986, 1995, 2002, 2019]),
)
def test_any_table_comes_back(rows: list[list[float]], multiplier: float, year: int) -> None:
    """Written and read, through both formats: the same candela on every plane."""
    gammas, planes = [0.0, 30.0, 60.0, 90.0], [0.0, 45.0, 90.0, 135.0, 180.0]

    def intensity(c: float, gamma: float) -> float:
        return rows[planes.index(c)][gammas.index(gamma)]

    one = read_lm63(
        text_of(lm63(intensity, planes, gammas, year=year, multiplier=multiplier).encode(), "a.ies")
    )
    two = interpret(text_of(eulumdat(intensity, 2, 8, gammas, conversion=multiplier).encode(), "a.ldt"))
    for found in (one, two):
        assert np.asarray(found.candela) == pytest.approx(np.asarray(rows), rel=1e-7, abs=1e-7)


@settings(max_examples=100, deadline=None, database=None)
@given(
    st.lists(st.floats(0.0, 180.0).map(lambda x: round(x, 4)), min_size=2, max_size=12, unique=True).map(
        sorted
    ),
    st.data(),
)
def test_lumens_lie_between_those_of_the_least_and_the_largest(
    gammas: list[float], data: st.DataObject
) -> None:
    """The flux of anything from I1 to I2 in a solid angle lies between I1 and I2 times it; zones add up."""
    candela = data.draw(st.lists(st.floats(0.5, 1e5), min_size=len(gammas), max_size=len(gammas)))
    table = CandelaTable([0.0], gammas, [candela])
    solid = 2 * math.pi * (math.cos(math.radians(gammas[0])) - math.cos(math.radians(gammas[-1])))
    slack = 1e-9 * max(candela)
    assert min(candela) * solid - slack <= table.lumens <= max(candela) * solid + slack
    assert table.zonal_lumens(np.linspace(0.0, 180.0, 7)).sum() == pytest.approx(
        table.lumens, rel=1e-9, abs=slack
    )
    flux = table.flux_table(5.0)
    drawn = flux.gamma_at(np.linspace(0.0, 1.0, 33))
    assert (np.diff(drawn) >= -1e-6).all()
    assert gammas[0] - 1e-5 <= drawn[0] and drawn[-1] <= gammas[-1] + 1e-5


@settings(max_examples=60, deadline=None, database=None)
@given(st.floats(0.5, 170.0), st.floats(1.01, 4.0))
def test_any_two_angles(beam: float, ratio: float) -> None:
    field = min(beam * ratio, 179.0)
    if field < beam * 1.01:
        return
    table = beam_of_angles(beam, field, candela=1.0)
    assert table.value(0.0, [beam / 2, field / 2]) == pytest.approx([0.5, 0.1])
    assert (np.diff(table.candela[0]) <= 0.0).all()
