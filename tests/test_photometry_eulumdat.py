"""EULUMDAT files that the test writes itself, in every symmetry, read back."""

from __future__ import annotations

import pytest
from photometry_lab import Intensity, about_both, about_c0, about_c90, cosine, eulumdat, lm63, lobe, steps

from renderer.errors import InputError
from renderer.photometry.check import flux_check
from renderer.photometry.eulumdat import read_eulumdat
from renderer.photometry.lm63 import read_lm63
from renderer.photometry.record import Photometry
from renderer.photometry.table import CandelaTable
from renderer.photometry.text import text_of

FLUX = 3133.593  # of a 1000 cd cosine in straight lines every 10 degrees, see test_photometry_table


def parsed(text: str, lamp_set: int = 1) -> Photometry:
    return read_eulumdat(text_of(text.encode(), "head.ldt"), lamp_set)


@pytest.mark.parametrize("comma", [False, True])
@pytest.mark.parametrize(
    ("isym", "symmetry", "intensity"),
    [
        (0, "none", lobe),
        (1, "axial", cosine),
        (2, "bilateral", about_c0),
        (3, "lateral", about_c90),
        (4, "quadrant", about_both),
    ],
)
def test_every_symmetry(isym: int, symmetry: str, intensity: Intensity, comma: bool) -> None:
    """Intensities are cd / 1000 lm; the planes that are left out follow from Isym (Stockmar 1990)."""
    found = parsed(eulumdat(intensity, isym, lumens=1234.5, conversion=1.25, comma=comma))
    assert (found.form, found.symmetry) == ("EULUMDAT", symmetry)
    assert not found.cautions
    table = CandelaTable.of(found)
    for c in steps(0, 720, 15):
        for gamma in (0.0, 10.0, 40.0, 80.0, 90.0):
            assert table.value(c, gamma) == pytest.approx(intensity(c, gamma), rel=1e-7, abs=1e-7)


def test_both_formats_give_one_table() -> None:
    other = CandelaTable.of(read_lm63(text_of(lm63(lobe, steps(0, 360, 15)).encode(), "head.ies")))
    table = CandelaTable.of(parsed(eulumdat(lobe, 0)))
    assert table.candela == pytest.approx(other.candela, rel=1e-7)
    assert table.planes.tolist() == other.planes.tolist()


def test_lumens_against_the_light_output_ratio() -> None:
    """LORL is the luminaire's lumens over its lamps', per cent: the two have to agree."""
    for lumens, ratio, odd in [
        (FLUX, 100.0, False),
        (2 * FLUX, 50.0, False),
        (2 * FLUX, 52.0, False),
        (2 * FLUX, 53.0, True),
        (2 * FLUX, 47.0, True),
    ]:
        found = parsed(eulumdat(lumens=lumens, ratio=ratio))
        check = flux_check(found, CandelaTable.of(found))
        assert check.ratio == pytest.approx(FLUX / (lumens * ratio / 100.0), rel=1e-5)
        assert (check.caution is not None) == odd
    silent = parsed(eulumdat(ratio=0.0))
    assert "cannot be checked" in silent.cautions[0]
    assert flux_check(silent, CandelaTable.of(silent)).ratio is None


def test_absolute_photometry_has_negative_lamps() -> None:
    found = parsed(eulumdat(lamps=-1, lumens=FLUX, ratio=0.0))
    assert found.output_ratio == 1.0
    assert flux_check(found, CandelaTable.of(found)).ratio == pytest.approx(1.0, rel=1e-6)


def test_sets_of_lamps_are_alternatives() -> None:
    text = eulumdat(sets=3, lumens=1000.0)
    assert max(parsed(text).candela[0]) == pytest.approx(1000.0)
    third = parsed(text, 3)
    assert max(third.candela[0]) == pytest.approx(3000.0)
    assert (third.lamp_lumens, third.watts) == (3000.0, 300.0)
    assert "3 sets of lamps" in third.cautions[0]
    with pytest.raises(InputError, match=r"head.ldt:26: lamp set: expected 1 to 3.*got 4"):
        parsed(text, 4)


def test_the_opening_is_in_millimetres() -> None:
    disc = parsed(eulumdat()).opening
    assert (disc.shape, disc.along_c0, disc.along_c90) == ("disc", 0.2, 0.2)
    long = parsed(eulumdat(sizes=(1200.0, 150.0, 30.0))).opening
    assert (long.shape, long.along_c90, long.along_c0, long.height) == ("box", 1.2, 0.15, 0.03)


def test_uneven_planes() -> None:
    """Dc and Dg of 0 mean uneven angles; the angles themselves are listed all the same."""
    lines = eulumdat(about_c0, 2, 4).split("\r\n")
    lines[4] = "0"
    start = 26 + 6 + 10
    assert lines[start : start + 4] == ["0", "90", "180", "270"]
    lines[start + 1] = "70"
    table = CandelaTable.of(parsed("\r\n".join(lines)))
    assert table.planes.tolist() == [0.0, 70.0, 180.0, 270.0 + 20.0, 360.0]
    assert table.value(290.0, 0.0) == table.value(70.0, 0.0)
