"""Reader of ANSI/IES LM-63 files, of the 1986, 1991, 1995, 2002 and 2019 generations.

The order of the numbers after the TILT line is one for all generations: lamps, lumens per lamp,
multiplier, numbers of vertical and horizontal angles, type, units, width, length, height; ballast
factor, a number whose meaning changed, watts; vertical angles, horizontal angles, and the candela, for
each horizontal angle all vertical ones.

source  ANSI/IESNA LM-63-2002; what differs in the others from memory. The eleventh number multiplies
        the candela up to 1995 (ballast-lamp photometric factor), is of no use in 2002, and
        codes the file's making in 2019
"""

from __future__ import annotations

import re

from renderer.photometry.lm63_angle import horizontal, vertical
from renderer.photometry.number import Numbers
from renderer.photometry.opening import lm63_opening
from renderer.photometry.record import Photometry, Tilt
from renderer.photometry.text import Text, plain, show

YEARS = {"91": 1991, "1986": 1986, "1991": 1991, "1995": 1995, "2002": 2002, "2019": 2019}
FIRST_LINE = re.compile(r"IES(?:NA)?\s*:?\s*(?:LM-?63-)?\s*(\d+)\s*", re.ASCII | re.IGNORECASE)
TILT_LINE = re.compile(r"\s*TILT\s*=\s*(.*?)\s*", re.IGNORECASE)
KEYWORD = re.compile(r"\s*\[([^\]]*)\]\s*(.*?)\s*")
TYPES = {2: "B", 3: "A"}
FOOT = 0.3048
"""Metres, exactly: the international foot."""
MOST = 20_000
"""Angles one way; a tenth of a degree takes 3601."""


def read_lm63(text: Text) -> Photometry:
    """The distribution in an LM-63 text. Raises InputError: one line, with the line of the file."""
    cautions: list[str] = []
    year, body = _generation(text)
    tilt_line = _tilt_line(text)
    keywords = _keywords(text, body, tilt_line)
    numbers = Numbers(text, tilt_line + 1)
    tilt = _tilt(text, tilt_line, numbers)
    lamps = numbers.whole("number of lamps", 1, 100_000)
    rated = numbers.number("lumens per lamp (-1 for absolute photometry)", -1.0)
    if -1.0 < rated < 0.0:
        raise text.fault(numbers.line, f"lumens per lamp: expected -1 or lumens above 0; got {plain(rated)}")
    if rated == 0.0:
        cautions.append("lumens per lamp is 0: taken as absolute photometry, which is written -1")
    multiplier = numbers.number("candela multiplier", 0.0, above=True)
    rows = numbers.whole("number of vertical angles", 2, MOST)
    columns = numbers.whole("number of horizontal angles", 1, MOST)
    kind = numbers.whole("photometric type (1 is C, 2 is B, 3 is A)", 1, 3)
    if kind != 1:
        raise text.fault(
            numbers.line,
            f"photometric type: got {kind} (type {TYPES[kind]}); expected 1: only type C is read",
        )
    units = numbers.whole("units (1 is feet, 2 is metres)", 1, 2)
    metres = FOOT if units == 1 else 1.0
    width, length, height = (
        numbers.number(f"opening's {side}") * metres for side in ("width", "length", "height")
    )
    ballast = numbers.number("ballast factor", 0.0, above=True)
    eleventh = numbers.number("the number after the ballast factor", 0.0, above=year < 2002)
    watts = numbers.number("input watts", 0.0)
    gammas = vertical(numbers, rows, cautions)
    planes, symmetry = horizontal(numbers, columns, cautions)
    factor = multiplier * ballast * (eleventh if year < 2002 else 1.0)
    candela = []
    for plane in planes:
        row = numbers.several(f"candela at horizontal angle {plain(plane)}", rows, 0.0, 1e12)
        candela.append(tuple(value * factor for value in row))
    _nothing_left(numbers, rows * columns, cautions)
    if planes[-1] == 360.0 and candela[0] != candela[-1]:
        cautions.append("candela at horizontal angles 0 and 360 differ: those at 0 are used")
    opening = lm63_opening(width, length, height, year)
    if opening.shape == "other":
        cautions.append("signs of the opening's width, length and height stand for no known shape")
    if tilt is not None:
        cautions.append(
            "TILT=INCLUDE: its factors are kept, and not applied: they depend on how the head hangs"
        )
    lamp_factor = ballast * (eleventh if year < 2002 else 1.0)
    return Photometry(
        name=text.name,
        form=f"LM-63-{year}",
        symmetry=symmetry,
        planes=planes,
        gammas=gammas,
        candela=tuple(candela),
        lamp_lumens=lamps * rated * lamp_factor if rated > 0.0 else None,
        output_ratio=None,
        watts=watts,
        opening=opening,
        keywords=keywords,
        tilt=tilt,
        generation=eleventh if year >= 2019 else None,
        cautions=tuple(f"{text.name}: {caution}" for caution in cautions),
    )


def _generation(text: Text) -> tuple[int, int]:
    """The standard's year and the number of the line on which keywords start. 1986 has no first line."""
    first = text.lines[0].strip()
    if not first.upper().startswith("IES"):
        return 1986, 1
    found = FIRST_LINE.fullmatch(first)
    if found is None or found[1] not in YEARS:
        raise text.fault(
            1,
            "expected IESNA91, IESNA:LM-63-1995, IESNA:LM-63-2002 or IES:LM-63-2019, or (1986) a label that"
            f" does not start with IES; got {show(first)}",
        )
    return YEARS[found[1]], 2


def _tilt_line(text: Text) -> int:
    for number, line in enumerate(text.lines, 1):
        if TILT_LINE.fullmatch(line):
            return number
    raise text.fault(
        len(text.lines), "expected a line TILT=NONE or TILT=INCLUDE before the numbers; there is none"
    )


def _keywords(text: Text, first: int, end: int) -> dict[str, str]:
    """What is written from line `first` to before line `end`, by keyword; plain lines under an empty one.

    [MORE] goes on with the keyword before it; what is given twice is kept on lines of its own.
    """
    words: dict[str, str] = {}
    last = ""
    for line in text.lines[first - 1 : end - 1]:
        found = KEYWORD.fullmatch(line)
        key, value = (found[1].strip().upper(), found[2]) if found else ("", line.strip())
        if key == "MORE":
            key = last
        if value or key:
            words[key] = f"{words[key]}\n{value}" if key in words else value
        last = key
    return words


def _tilt(text: Text, line: int, numbers: Numbers) -> Tilt | None:
    found = TILT_LINE.fullmatch(text.lines[line - 1])
    word = found[1] if found else ""
    if word.upper() == "NONE":
        return None
    if word.upper() != "INCLUDE":
        raise text.fault(
            line,
            f"TILT: expected NONE or INCLUDE; got {show(word)}"
            + (
                "; tilt factors in a file of their own are not read: put them in with INCLUDE" if word else ""
            ),
        )
    geometry = numbers.whole("TILT: lamp-to-luminaire geometry", 1, 3)
    count = numbers.whole("TILT: number of angles", 1, MOST)
    degrees = numbers.ascending("TILT: angles", count, 0.0, 180.0)
    return Tilt(geometry, degrees, numbers.several("TILT: factors", count, 0.0, 1e3))


def _nothing_left(numbers: Numbers, count: int, cautions: list[str]) -> None:
    """Numbers after the table mean that something before it was counted wrongly."""
    word = numbers.word()
    if word is None:
        return
    if re.fullmatch(r"[-+.\d].*", word):
        raise numbers.text.fault(
            numbers.line,
            f"candela: expected the end of the file after {count} numbers; got {show(word)} too: do the"
            " numbers of angles fit the table?",
        )
    cautions.append(f"text after the table is left out: {show(word)} on line {numbers.line}")
