"""LM-63 files that the test writes itself, in every generation and symmetry, read back."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from photometry_lab import YEARS, Intensity, about_both, about_c0, about_c90, cosine, lm63, lobe, steps

from renderer.photometry.check import flux_check
from renderer.photometry.lm63 import read_lm63
from renderer.photometry.read import interpret, read
from renderer.photometry.record import Photometry
from renderer.photometry.table import CandelaTable
from renderer.photometry.text import text_of

QUARTER, HALF, WHOLE = steps(0, 90, 15), steps(0, 180, 15), steps(0, 360, 15)
SPANS: list[tuple[str, Intensity, list[float]]] = [
    ("axial", cosine, [0.0]),
    ("quadrant", about_both, QUARTER),
    ("bilateral", about_c0, HALF),
    ("lateral", about_c90, steps(90, 270, 15)),
    ("none", lobe, WHOLE),
]


def parsed(text: str) -> Photometry:
    return read_lm63(text_of(text.encode(), "head.ies"))


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(("symmetry", "intensity", "planes"), SPANS)
def test_every_generation_and_symmetry(
    year: int, symmetry: str, intensity: Intensity, planes: list[float]
) -> None:
    """What is written is what is read, all round, not only on the planes that the file lists."""
    text = lm63(
        intensity, planes, year=year, multiplier=2.5, ballast=0.9, eleventh=0.8 if year < 2002 else 1.0
    )
    found = parsed(text)
    assert (found.form, found.symmetry, found.lamp_lumens) == (f"LM-63-{year}", symmetry, None)
    assert not found.cautions
    table = CandelaTable.of(found)
    for c in steps(0, 720, 15):
        for gamma in (0.0, 10.0, 40.0, 80.0, 90.0):
            assert table.value(c, gamma) == pytest.approx(intensity(c, gamma), rel=1e-7, abs=1e-7)
    assert table.value(33.0, 91.0) == 0.0


def test_the_eleventh_number_is_a_factor_only_up_to_1995() -> None:
    """LM-63-2002 has no use for it, and in LM-63-2019 it is a code: scaling by it would be wrong."""
    for year in YEARS:
        peak = max(
            parsed(lm63(year=year, eleventh=1.0).replace("\r\n1 1 100", "\r\n1 1.10001 100")).candela[0]
        )
        assert peak == pytest.approx(1100.01 if year < 2002 else 1000.0, rel=1e-9)
    assert parsed(lm63(year=2019, eleventh=1.00001)).generation == 1.00001
    assert parsed(lm63(year=2002, eleventh=1.0)).generation is None


@pytest.mark.parametrize(
    ("gammas", "dark"), [(steps(0, 90, 10), 100.0), (steps(90, 180, 10), 80.0), (steps(0, 180, 10), None)]
)
def test_vertical_ranges(gammas: list[float], dark: float | None) -> None:
    """Outside its vertical angles a file says nothing: no light. A sphere of 100 cd makes 4 pi 100 lm."""
    table = CandelaTable.of(parsed(lm63(lambda c, gamma: 100.0, gammas=gammas)))
    share = 1.0 if dark is None else 0.5
    assert table.lumens == pytest.approx(400.0 * math.pi * share, rel=1e-13)
    if dark is not None:
        assert table.value(0.0, dark) == 0.0


@pytest.mark.parametrize("a_line", [1, 3, 7, 1000])
@pytest.mark.parametrize("comma", [False, True])
def test_numbers_wrap_over_lines_as_they_like(a_line: int, comma: bool) -> None:
    """Delimiters are a comma, blanks or a line end (LM-63-2002, key definitions)."""
    same = parsed(lm63(lobe, WHOLE))
    assert parsed(lm63(lobe, WHOLE, a_line=a_line, comma=comma)) == same
    everything = lm63(lobe, WHOLE).partition("TILT=NONE\r\n")
    assert parsed("".join(everything[:2]) + " ".join(everything[2].split())) == same
    assert parsed("".join(everything[:2]) + "\n\n\t" + "\n".join(everything[2].split()) + "\n\x1a\n") == same


def test_units_and_the_opening() -> None:
    """The international foot is 0.3048 m. A negative width alone is a disc in the older generations."""
    feet = parsed(lm63(units=1, opening=(1.0, 2.0, 0.0))).opening
    assert (feet.shape, feet.along_c90, feet.along_c0) == ("rectangle", 0.3048, 0.6096)
    assert feet.largest() == 0.6096
    for year in YEARS:
        old = year < 2002
        for size, shape in [
            ((0.0, 0.0, 0.0), "point"),
            ((0.2, 0.3, 0.1), "box"),
            ((-0.2, 0.0, 0.0), "disc"),
            ((-0.2, -0.2, 0.0), "disc"),
            ((-0.2, -0.3, 0.0), "ellipse"),
            ((-0.2, -0.2, 0.5), "vertical cylinder"),
            ((-0.2, 0.0, 0.5), "vertical cylinder"),
            ((-0.2, -0.2, -0.2), "sphere"),
            ((-0.2, -0.3, -0.2), "ellipsoid"),
            ((-0.2, 0.0, -0.2), "sphere" if old else "vertical disc"),
            ((0.0, 0.6, -0.1), "cylinder along C0"),
            ((0.6, 0.0, -0.1), "cylinder along C90"),
            ((-0.2, 0.6, -0.2), "ellipsoid" if old else "cylinder along C0"),
            ((0.6, -0.2, -0.2), "ellipsoid" if old else "cylinder along C90"),
        ]:
            found = parsed(lm63(year=year, opening=size)).opening
            assert found.shape == shape, (year, size)
            assert found.largest() == pytest.approx(max(abs(x) for x in size))
    disc = parsed(lm63(opening=(-0.2, 0.0, 0.0))).opening
    assert disc.along_c0 == disc.along_c90 == 0.2
    assert "no known shape" in parsed(lm63(opening=(0.2, 0.2, -0.1))).cautions[0]


def test_tilt_is_kept_and_not_applied() -> None:
    tilt = "INCLUDE\r\n1\r\n3\r\n0 45 90\r\n1 0.95 0.8"
    found = parsed(lm63(tilt=tilt))
    assert found.tilt is not None
    assert (found.tilt.geometry, found.tilt.degrees, found.tilt.factor) == (1, (0, 45, 90), (1, 0.95, 0.8))
    assert found.candela == parsed(lm63()).candela
    assert "not applied" in found.cautions[0]


def test_keywords() -> None:
    words = ["[TEST] 7", "[manufac] nobody", "[MORE] at all", "[OTHER] a", "[OTHER] b", "[_OWN]"]
    found = parsed(lm63(keywords=words)).keywords
    assert found == {"TEST": "7", "MANUFAC": "nobody\nat all", "OTHER": "a\nb", "_OWN": ""}
    old = parsed(lm63(year=1986, keywords=["A head", "measured with care"]))
    assert old.keywords == {"": "A head\nmeasured with care"}


def test_latin_1_and_utf_8_letters(tmp_path: Path) -> None:
    """Older programs write Latin-1; 0x85 is a letter of it and no line end."""
    text = lm63(keywords=["[MANUFAC] Müller, 30° \x85 beam"])
    for code in ("latin-1", "utf-8", "utf-8-sig"):
        path = tmp_path / "head.ies"
        path.write_bytes(text.encode(code))
        found = read(path)
        assert found.keywords["MANUFAC"].startswith("Müller, 30°")
        assert found.name == str(path)
    path.write_bytes(lm63().replace("\r\n", "\r").encode())
    assert CandelaTable.of(read(path)).lumens == pytest.approx(3133.593, abs=5e-4)


def test_lumens_against_those_of_the_lamps() -> None:
    """Relative photometry: lamps x lumens x ballast factor. More light than the lamps give is a fault."""
    flux = 3133.593
    for lumens, odd in [(flux, False), (flux / 0.7, False), (flux / 0.95, False), (flux / 1.06, True)]:
        found = parsed(lm63(lamps=2, lumens=lumens, ballast=0.5))
        check = flux_check(found, CandelaTable.of(found))
        assert check.stated == pytest.approx(lumens)
        assert check.lumens == pytest.approx(flux, abs=5e-4)
        assert (check.caution is not None) == odd
        assert check.ratio == pytest.approx(flux / lumens, rel=1e-6)
    assert "1.06 times" in str(check.caution)
    found = parsed(lm63(lumens=20_000.0))
    assert "at least 0.25" in str(flux_check(found, CandelaTable.of(found)).caution)
    found = parsed(lm63())
    assert flux_check(found, CandelaTable.of(found)).ratio is None


def test_what_is_odd_but_readable_is_told() -> None:
    short = parsed(lm63(gammas=steps(0, 45, 5)))
    assert "dark from there on" in short.cautions[0]
    open_turn = parsed(lm63(lobe, steps(0, 345, 15)))
    assert "closed with the plane at 0" in open_turn.cautions[0]
    assert CandelaTable.of(open_turn).lumens == pytest.approx(
        CandelaTable.of(parsed(lm63(lobe, WHOLE))).lumens
    )
    assert "-1" in parsed(lm63(lumens=0.0)).cautions[0]
    assert "END" in parsed(lm63() + "END\r\n").cautions[0]
    assert all(line.startswith("head.ies: ") for line in short.cautions + open_turn.cautions)


def test_the_door_looks_at_what_is_in_a_file(tmp_path: Path) -> None:
    path = tmp_path / "wrongly_named.ldt"
    path.write_text(lm63())
    assert read(path).form == "LM-63-2002"
    assert interpret(text_of(lm63(year=1986).encode(), "x")).form == "LM-63-1986"


def test_a_table_of_every_tenth_degree_is_read_whole() -> None:
    gammas = steps(0, 90, 0.1)
    found = CandelaTable.of(parsed(lm63(gammas=gammas, a_line=20)))
    assert found.lumens == pytest.approx(math.pi * 1000.0, rel=3e-7)
    assert np.diff(found.gammas).max() == pytest.approx(0.1)
