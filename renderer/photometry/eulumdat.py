"""Reader of EULUMDAT files (.ldt): one value a line, intensities in candela per 1000 lamp lumens.

Lines 1 to 26 are the head, then six for each set of lamps, ten direct ratios (not used), the C angles,
the gamma angles, and the intensities, for each C-plane all gammas. Which planes are there, Isym says:

    0 all Mc    1 one    2 C0 to C180    3 C270 over C0 to C90    4 C0 to C90

source  A. W. Stockmar, EULUMDAT - ein Leuchtendatenformat fuer den europaeischen Beleuchtungsplaner,
        Tagungsband Licht 1990, p. 641-644, as published in tables of its lines; negative lamps
        for absolute photometry are a custom of later programs
"""

from __future__ import annotations

from dataclasses import dataclass

from renderer.photometry.number import number, whole
from renderer.photometry.opening import eulumdat_opening
from renderer.photometry.record import Photometry, Symmetry
from renderer.photometry.text import Text, plain, show

HEAD = 26
PER_SET = 6
RATIOS = 10
MOST = 20_000
SYMMETRIES: tuple[Symmetry, ...] = ("none", "axial", "bilateral", "lateral", "quadrant")
PARTS = {"none": 1, "axial": 1, "bilateral": 2, "lateral": 4, "quadrant": 4}
"""What Mc has to be a multiple of, so that the planes of symmetry are among the C-planes."""
SAME = 1e-3
"""Degrees between an angle and the plane of symmetry it stands for."""
TEXTS = {"MANUFAC": 1, "TEST": 8, "LUMINAIRE": 9, "LUMCAT": 10, "FILE": 11, "ISSUEDATE": 12}
"""Lines of text, by the keyword that LM-63 has for them."""


@dataclass(frozen=True)
class Lines:
    """Values by line; a decimal comma is as good as a point."""

    text: Text

    def word(self, line: int, what: str) -> str:
        if line > len(self.text.lines):
            raise self.text.fault(
                len(self.text.lines),
                f"{what}: expected on line {line}; the file ends on line {len(self.text.lines)}",
            )
        return self.text.lines[line - 1].strip().replace(",", ".")

    def number(self, line: int, what: str, low: float, high: float, above: bool = False) -> float:
        return number(self.text, line, what, self.word(line, what), low, high, above)

    def optional(self, line: int, what: str, low: float, high: float) -> float:
        """0 for an empty line."""
        return self.number(line, what, low, high) if self.word(line, what) else 0.0

    def whole(self, line: int, what: str, low: int, high: int) -> int:
        return whole(self.text, line, what, self.word(line, what), low, high)


def read_eulumdat(text: Text, lamp_set: int = 1) -> Photometry:
    """The distribution in an EULUMDAT text.

    lamp_set  which of the sets of lamps is fitted, from 1: they are alternatives
    Raises InputError: one line, with the line of the file.
    """
    lines = Lines(text)
    cautions: list[str] = []
    lines.whole(2, "type indicator Ityp", 0, 3)
    symmetry = SYMMETRIES[lines.whole(3, "symmetry Isym", 0, 4)]
    turn = lines.whole(4, "number of C-planes Mc", 1, MOST)
    count = lines.whole(6, "number of intensities in a C-plane Ng", 2, MOST)
    if turn % PARTS[symmetry]:
        raise text.fault(
            4,
            f"number of C-planes Mc: expected a multiple of {PARTS[symmetry]} for symmetry Isym"
            f" {SYMMETRIES.index(symmetry)}; got {turn}",
        )
    length, width = (lines.optional(line, f"{side} of the luminous area", 0.0, 1e6) for side, line in SIZES)
    height = max(lines.optional(line, "height of the luminous area", -1e6, 1e6) for line in range(18, 22))
    ratio = lines.optional(23, "light output ratio LORL", 0.0, 1000.0) / 100.0
    conversion = lines.optional(24, "conversion factor", 0.0, 1e9)
    if conversion == 0.0:
        cautions.append("conversion factor is 0: taken as 1")
        conversion = 1.0
    sets = lines.whole(26, "number of lamp sets", 1, 1000)
    if not 1 <= lamp_set <= sets:
        raise text.fault(26, f"lamp set: expected 1 to {sets}, as many as the file has; got {lamp_set}")
    if sets > 1:
        cautions.append(f"{sets} sets of lamps, one in place of the other: number {lamp_set} is used")
    first = HEAD + PER_SET * (lamp_set - 1)
    lamps = lines.whole(first + 1, "number of lamps", -100_000, 100_000)
    lumens = lines.number(first + 3, "lumens of all lamps", 0.0, 1e12, above=True)
    watts = lines.optional(first + 6, "watts", 0.0, 1e9)
    start = HEAD + PER_SET * sets + RATIOS
    turns = _ascending(lines, start + 1, turn, "C angle", 360.0)
    gammas = _ascending(lines, start + turn + 1, count, "gamma angle", 180.0)
    planes = _planes(lines, turns, symmetry, start + 1)
    table = start + turn + count + 1
    scale = conversion * lumens / 1000.0
    candela = []
    for i, plane in enumerate(planes):
        what = f"intensity in plane C{plain(plane % 360.0)}"
        line = table + i * count
        candela.append(tuple(lines.number(line + j, what, 0.0, 1e9) * scale for j in range(count)))
    end = table + len(planes) * count
    if end <= len(text.lines):
        raise text.fault(
            end,
            f"expected the end of the file after {len(planes)} planes of {count} intensities; got"
            f" {show(text.lines[end - 1])} too: do Mc, Ng and Isym fit the table?",
        )
    if gammas[-1] < 180.0 and abs(gammas[-1] - 90.0) > SAME:
        cautions.append(
            f"gamma angles end at {plain(gammas[-1])} degrees, not at 90 or 180: taken as dark from there on"
        )
    if lamps >= 0 and ratio == 0.0:
        cautions.append("light output ratio LORL is 0: the lumens cannot be checked")
    return Photometry(
        name=text.name,
        form="EULUMDAT",
        symmetry=symmetry,
        planes=planes,
        gammas=gammas,
        candela=tuple(candela),
        lamp_lumens=lumens,
        output_ratio=ratio or (1.0 if lamps < 0 else None),
        watts=watts,
        opening=eulumdat_opening(length / 1000.0, width / 1000.0, max(height, 0.0) / 1000.0),
        keywords={key: text.lines[line - 1].strip() for key, line in TEXTS.items()},
        cautions=tuple(f"{text.name}: {caution}" for caution in cautions),
    )


SIZES = (("length", 16), ("width", 17))


def _ascending(lines: Lines, line: int, count: int, what: str, high: float) -> tuple[float, ...]:
    """`count` angles [degrees] from a line on, each above the one before."""
    values: list[float] = []
    for i in range(count):
        named = f"{what}, number {i + 1} of {count}"
        value = lines.number(line + i, named, 0.0, high)
        if values and value <= values[-1]:
            raise lines.text.fault(
                line + i, f"{named}: expected more than the {plain(values[-1])} before it; got {plain(value)}"
            )
        values.append(value)
    return tuple(values)


def _planes(lines: Lines, turns: tuple[float, ...], symmetry: Symmetry, line: int) -> tuple[float, ...]:
    """The C angles that have intensities, ascending; those of the lateral symmetry go on past 360."""
    count = len(turns)
    if symmetry in ("none", "axial"):
        return turns if symmetry == "none" else turns[:1]
    first = 3 * count // 4 if symmetry == "lateral" else 0
    size = count // 4 if symmetry == "quadrant" else count // 2
    ends = {"bilateral": (0.0, 180.0), "lateral": (270.0, 90.0), "quadrant": (0.0, 90.0)}[symmetry]
    for place, limit in zip((first, (first + size) % count), ends, strict=True):
        if abs(turns[place] - limit) > SAME:
            raise lines.text.fault(
                line + place,
                f"C angle, number {place + 1} of {count}: expected {plain(limit)}, a plane of symmetry Isym"
                f" {SYMMETRIES.index(symmetry)}; got {plain(turns[place])}",
            )
    around = [turns[(first + i) % count] + 360.0 * (first + i >= count) for i in range(size + 1)]
    around[0], around[-1] = ends[0], ends[1] + 360.0 * (symmetry == "lateral")
    return tuple(around)
