"""Broken files: one clear line each, with the file and its line, what was expected and what was found."""

from __future__ import annotations

import random
import re
import subprocess
import sys
from pathlib import Path

import pytest
from photometry_lab import YEARS, about_both, about_c90, eulumdat, lm63, lobe, steps

from renderer.errors import InputError
from renderer.photometry.read import interpret, read
from renderer.photometry.table import CandelaTable
from renderer.photometry.text import text_of

HEAD = "1 -1 1 10 1 1 2 0.2 0.2 0"  # line 5 of what `lm63` writes; 6 has the ballast, 7 the vertical angles
LDT = eulumdat(about_c90, 3, 8).split("\r\n")


def told(text: str, name: str = "head.ies") -> str:
    """The one line that a text is answered with."""
    with pytest.raises(InputError) as caught:
        interpret(text_of(text.encode("latin-1"), name))
    assert len(caught.value.lines) == 1
    assert "\n" not in str(caught.value)
    return str(caught.value)


def changed(old: str, new: str) -> str:
    text = lm63()
    assert text.count(old) >= 1
    return text.replace(old, new, 1)


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        (changed("TILT=NONE", "TILT=lamp.tlt"), 4, 'TILT: expected NONE or INCLUDE; got "lamp.tlt".*INCLUDE'),
        (changed("TILT=NONE", "TILT="), 4, 'got ""'),
        (changed("TILT=NONE", "tilted"), 9, "expected a line TILT=NONE or TILT=INCLUDE"),
        (changed("IESNA:LM-63-2002", "IESNA:LM-63-2003"), 1, 'LM-63-2002.*got "IESNA:LM-63-2003"'),
        (changed(HEAD, "0" + HEAD[1:]), 5, "number of lamps: expected a whole number from 1 .*got 0"),
        (changed(HEAD, "1.5" + HEAD[1:]), 5, "number of lamps: .*got 1.5"),
        (changed("1 -1 1", "1 -2 1"), 5, "lumens per lamp.*from -1 up; got -2"),
        (changed("1 -1 1", "1 -0.5 1"), 5, "expected -1 or lumens above 0; got -0.5"),
        (changed("1 -1 1", "1 -1 0"), 5, "multiplier: expected a number above 0; got 0"),
        (changed("1 -1 1", "1 x 1"), 5, 'lumens per lamp.*expected a number; got "x"'),
        (changed("1 -1 1", "1 nan 1"), 5, 'got "nan"'),
        (changed("1 -1 1", "1 1_000 1"), 5, 'got "1_000"'),
        (changed("1 -1 1", "1 1e999 1"), 5, 'got "1e999"'),
        (changed(HEAD, "1 -1 1 1 1 1 2 0 0 0"), 5, "vertical angles: expected a whole number from 2 .*got 1"),
        (changed(HEAD, "1 -1 1 10 0 1 2 0 0 0"), 5, "horizontal angles: .*from 1 .*got 0"),
        (changed(HEAD, "1 -1 1 10 1 2 2 0 0 0"), 5, r"got 2 \(type B\); expected 1: only type C"),
        (changed(HEAD, "1 -1 1 10 1 3 2 0 0 0"), 5, r"got 3 \(type A\); expected 1: only type C"),
        (changed(HEAD, "1 -1 1 10 1 4 2 0 0 0"), 5, "type.*from 1 to 3; got 4"),
        (changed(HEAD, "1 -1 1 10 1 1 3 0 0 0"), 5, "units.*from 1 to 2; got 3"),
        (changed("\r\n1 1 100", "\r\n0 1 100"), 6, "ballast factor: expected a number above 0; got 0"),
        (changed("\r\n1 1 100", "\r\n1 1 -5"), 6, "input watts: expected a number from 0 up; got -5"),
        (changed("0 10 20", "0 20 20"), 7, "vertical angles, number 3 of 10: expected more than the 20"),
        (changed("0 10 20", "5 10 20"), 7, r"expected the first to be 0 or 90 \(type C\); got 5"),
        (changed("80 90", "80 190"), 7, "number 10 of 10: .*got 190"),
        (changed("80 90", "80"), 8, "vertical angles, number 10 of 10: expected more than the 80 .*got 0"),
        (changed("1000 984", "-1000 984"), 9, "candela at horizontal angle 0, number 1 of 10: .*got -1000"),
        (changed("1000 984", "1000 O984"), 9, 'number 2 of 10: expected a number; got "O984'),
        (lm63().rpartition(" ")[0], 9, "candela at horizontal angle 0: expected 10 numbers; .* ends after 9"),
        (lm63() + "7\r\n", 10, 'end of the file after 10 numbers; got "7" too: do the'),
        (lm63(lobe, steps(0, 100, 10)), 9, "expected 0 alone, 0 to 90, .* or 90 to 270.*got 0 to 100"),
        (lm63(lobe, steps(0, 200, 10)), 10, "got 0 to 200"),
        (
            lm63(tilt="INCLUDE\r\n4\r\n1\r\n0\r\n1"),
            5,
            "TILT: lamp-to-luminaire geometry: .*from 1 to 3; got 4",
        ),
        (
            lm63(tilt="INCLUDE\r\n1\r\n2\r\n0 0\r\n1 1"),
            7,
            "TILT: angles, number 2 of 2: expected more than the 0",
        ),
        (lm63().partition("TILT")[0] + "TILT=NONE", 4, "number of lamps: .*the file ends before it"),
    ],
)
def test_a_broken_lm63_file(text: str, line: int, words: str) -> None:
    found = told(text)
    assert re.search(words, found), found
    assert found.startswith(f"head.ies:{line}: "), found


def ldt(line: int, word: str) -> str:
    return "\r\n".join([*LDT[: line - 1], word, *LDT[line:]])


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        (ldt(2, "9"), 2, "Ityp: expected a whole number from 0 to 3; got 9"),
        (ldt(3, "5"), 3, "Isym: expected a whole number from 0 to 4; got 5"),
        (ldt(3, "left"), 3, 'Isym: .*got "left"'),
        (ldt(4, "0"), 4, "Mc: expected a whole number from 1"),
        (ldt(4, "6"), 4, "Mc: expected a multiple of 4 for symmetry Isym 3; got 6"),
        (ldt(6, ""), 6, 'Ng: expected a whole number from 2 to 20000; got ""'),
        (ldt(6, "1"), 6, "Ng: .*got 1"),
        (ldt(16, "wide"), 16, 'luminous area: expected a number; got "wide"'),
        (ldt(24, "-1"), 24, "conversion factor: expected a number from 0 to 1000000000; got -1"),
        (ldt(26, "0"), 26, "number of lamp sets: .*got 0"),
        (ldt(27, "some"), 27, 'number of lamps: .*got "some"'),
        (ldt(29, "0"), 29, "lumens of all lamps: expected a number above 0"),
        (ldt(44, "0"), 44, "C angle, number 2 of 8: expected more than the 0 before it; got 0"),
        (ldt(49, "271"), 49, "C angle, number 7 of 8: expected 270, a plane of symmetry Isym 3; got 271"),
        (ldt(52, "0"), 52, "gamma angle, number 2 of 10: expected more than the 0"),
        (ldt(60, "190"), 60, "gamma angle, number 10 of 10: expected a number from 0 to 180; got 190"),
        (ldt(61, "-3"), 61, "intensity in plane C270: expected a number from 0 .*got -3"),
        (ldt(71, "1;2"), 71, 'intensity in plane C315: expected a number; got "1;2"'),
        ("\r\n".join(LDT[:90]), 90, "intensity in plane C45: expected on line 91; the file ends on line 90"),
        (
            "\r\n".join([*LDT[:-1], "5"]),
            111,
            'end of the file after 5 planes of 10 intensities; got "5" too: do Mc, Ng and Isym fit',
        ),
        ("\r\n".join(LDT[:2]), 2, "Isym: expected on line 3; the file ends on line 2"),
        ("", 1, "Ityp: expected on line 2; the file ends on line 1"),
    ],
)
def test_a_broken_eulumdat_file(text: str, line: int, words: str) -> None:
    found = told(text, "head.ldt")
    assert re.search(words, found), found
    assert found.startswith(f"head.ldt:{line}: "), found


def test_dark_tables_are_told() -> None:
    for text, name in ((lm63(lambda c, g: 0.0), "a.ies"), (eulumdat(lambda c, g: 0.0), "a.ldt")):
        with pytest.raises(InputError, match=rf"^{name}: all candela are 0: expected at least one above 0$"):
            CandelaTable.of(interpret(text_of(text.encode(), name)))


def test_files_that_are_none(tmp_path: Path) -> None:
    (tmp_path / "near.ies").write_text("x")
    (tmp_path / "bytes.ies").write_bytes(b"IESNA\nab\0c")
    (tmp_path / "wide.ies").write_bytes("TILT=NONE".encode("utf-16"))
    (tmp_path / "scene.toml").write_text("a = 1\n" * 60)
    for name, words in [
        ("far.ies", "no such file; photometric files there: .*near.ies"),
        (".", "is a folder"),
        ("no/where.ies", "there is no folder"),
        ("bytes.ies", "bytes.ies:2: is not text"),
        ("wide.ies", "UTF-16"),
        ("scene.toml", "is neither LM-63 .* nor EULUMDAT"),
        ("near.ies", "near.ies:1: expected a line TILT"),
        ("\0.ies", "may not be read"),
    ]:
        with pytest.raises(InputError, match=words) as caught:
            read(tmp_path / name)
        assert "\n" not in str(caught.value)


def test_found_words_are_cut_and_made_plain() -> None:
    found = told(changed("1 -1 1", "1 " + "\x1b[31m" * 30 + " 1"))
    assert found.endswith('..."')
    assert found.isprintable()
    assert len(found) < 160


def mended_or_told(raw: bytes, name: str) -> None:
    """A broken file is either read or answered in one line; nothing else may happen."""
    try:
        found = interpret(text_of(raw, name))
    except InputError as wrong:
        assert len(wrong.lines) == 1
        assert "\n" not in str(wrong)
        assert str(wrong).startswith(name)
    else:
        assert len(found.candela) == len(found.planes)
        assert all(len(row) == len(found.gammas) for row in found.candela)


SOUND = [
    *(lm63(about_both, steps(0, 90, 30), year=year).encode() for year in YEARS),
    lm63(tilt="INCLUDE\r\n1\r\n3\r\n0 45 90\r\n1 0.95 0.8").encode(),
    *(eulumdat(about_both, isym, 8).encode() for isym in range(5)),
]
PIECES = [
    b"",
    b"-1",
    b"1e999",
    b"nan",
    b",",
    b" ",
    b"\r\n",
    b"\0",
    b"\xff",
    b"[",
    b"TILT=",
    b"0",
    b"99999999",
    b"3.7",
]


def test_files_broken_at_random() -> None:
    """Words cut out, doubled, put elsewhere or replaced, by a fixed seed."""
    luck = random.Random(20)
    read_well = 0
    for _ in range(1500):
        raw = luck.choice(SOUND)
        for _ in range(luck.randint(1, 3)):
            start = luck.randrange(len(raw))
            end = min(len(raw), start + luck.choice([0, 1, 2, 5, 40]))
            raw = raw[:start] + luck.choice([*PIECES, raw[start:end] * 2]) + raw[end:]
        try:
            mended_or_told(raw, "head.ies")
            read_well += 1
        except AssertionError:
            raise AssertionError(raw) from None
    assert read_well == 1500


def test_reading_a_file_loads_no_numpy(tmp_path: Path) -> None:
    path = tmp_path / "head.ies"
    path.write_text(lm63())
    script = (
        "import sys; from renderer.photometry.read import read\n"
        "read(sys.argv[1]); sys.exit('numpy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", script, str(path)]).returncode == 0
