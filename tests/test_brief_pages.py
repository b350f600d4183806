"""The brief on paper: true scale, real letters in embedded fonts, grey alone, nothing loaded."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

import brief_lab
import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

MM = 72.0 / 25.4
WALL, BAR = 0.7, 0.2
"""Widths of the lines round the room and the scale bar [mm]."""


def reader() -> PdfReader:
    return PdfReader(brief_lab.folder() / "brief.pdf")


def paths(page: int, width: float) -> Iterator[list[tuple[float, float]]]:
    """Closed paths [mm] of a page that are drawn with a line of so many mm; none may be scaled on its way."""
    pdf = reader()
    now, path = 0.0, []
    for operands, operator in ContentStream(pdf.pages[page].get_contents(), pdf).operations:
        numbers = [float(it) for it in operands if isinstance(it, (int, float))]
        if operator == b"cm":
            assert numbers[:4] == [1.0, 0.0, 0.0, 1.0] or abs(numbers[0]) > 20.0, "only pictures are scaled"
        elif operator == b"w":
            now = numbers[0] / MM
        elif operator == b"m":
            path = [(numbers[0] / MM, numbers[1] / MM)]
        elif operator == b"l":
            path.append((numbers[0] / MM, numbers[1] / MM))
        elif operator == b"h" and abs(now - width) < 1e-3:
            yield path


def test_the_plan_is_to_scale() -> None:
    """The room, 3.6 x 4.2 m, is 144 x 168 mm at 1:25, within 0.1 mm."""
    assert brief_lab.data()["drawings"][0]["scale"] == 25
    rooms = [path for path in paths(1, WALL) if len(path) == 4]
    assert len(rooms) == 1
    sides = [abs(a[0] - b[0]) + abs(a[1] - b[1]) for a, b in pairwise([*rooms[0], rooms[0][0]])]
    assert sides == pytest.approx([144.0, 168.0, 144.0, 168.0], abs=0.1)


def test_sections_are_to_scale() -> None:
    drawings = brief_lab.data()["drawings"]
    assert len(drawings) == 3
    rooms = [path for path in paths(2, WALL) if len(path) == 4]
    assert len(rooms) == 2
    for path, drawing in zip(rooms, drawings[1:], strict=True):
        assert path[2][1] - path[1][1] == pytest.approx(2.6e3 / drawing["scale"], abs=0.1)
    along = rooms[0]
    assert along[1][0] - along[0][0] == pytest.approx(4.2e3 / drawings[1]["scale"], abs=0.1)


def test_the_svg_is_to_the_same_scale() -> None:
    text = (brief_lab.folder() / "brief.html").read_text(encoding="utf-8")
    size, box = r'width="([\d.]+)mm" height="([\d.]+)mm"', r'viewBox="0 0 ([\d.]+) ([\d.]+)"'
    plan = re.search(rf'<svg[^>]*aria-label="Plan" {size}\s+{box}.*?</svg>', text, re.S)
    assert plan is not None
    assert plan[1] == plan[3] and plan[2] == plan[4]
    room = re.search(r'<polygon points="([^"]+)"[^>]*stroke-width="0.7"', plan[0])
    assert room is not None
    corners = [tuple(float(x) for x in point.split(",")) for point in room[1].split()]
    assert corners[1][0] - corners[0][0] == pytest.approx(144.0, abs=0.1)
    assert corners[1][1] - corners[2][1] == pytest.approx(168.0, abs=0.1)


def test_two_to_six_pages_of_selectable_text_in_embedded_fonts() -> None:
    pages = reader().pages
    assert 2 <= len(pages) <= 6
    texts = [page.extract_text() for page in pages]
    for word in ("key", "edge", "wall", "street", "lap", "side", "A rigged scene", "competent person"):
        assert any(word in text for text in texts), word
    assert "1:25" in texts[1] and "page 2 of" in texts[1]
    for page in pages:
        size = float(page.mediabox.width) / MM, float(page.mediabox.height) / MM
        assert size == pytest.approx((210.0, 297.0), abs=0.1)  # A4, ISO 216


def test_no_font_is_used_that_is_not_embedded() -> None:
    pdf = reader()
    for page in pdf.pages:
        fonts = page["/Resources"]["/Font"]  # type: ignore[index]
        for operands, operator in ContentStream(page.get_contents(), pdf).operations:
            if operator == b"Tf":
                used = fonts[operands[0]]
                shown = "/FontDescriptor" in used and "/FontFile2" in used["/FontDescriptor"]
                assert (
                    shown or used["/BaseFont"] == "/Helvetica"
                )  # reportlab begins each page with it, unused


def test_nothing_is_said_by_colour() -> None:
    """Lines, letters and fills are grey: a copier loses nothing. Pictures may be coloured."""
    pdf = reader()
    for page in pdf.pages:
        for operands, operator in ContentStream(page.get_contents(), pdf).operations:
            if operator in (b"rg", b"RG"):
                assert len({float(it) for it in operands}) == 1
            assert operator not in (b"k", b"K", b"sc", b"SC", b"scn", b"SCN")
    text = (brief_lab.folder() / "brief.html").read_text(encoding="utf-8")
    for colour in re.findall(r"#[0-9a-fA-F]{3,6}\b", re.sub(r'"data:[^"]*"', "", text)):
        assert len(set(re.findall("." if len(colour) == 4 else "..", colour[1:]))) == 1, colour


def test_lines_differ_by_width_or_dash() -> None:
    from renderer.brief.symbol import AIM, BEAM, CONE, CUT, FACE, OPAQUE, THIN

    looks = {
        (round(pen.width, 2) if not pen.dash else 0.0, pen.dash)
        for pen in (AIM, BEAM, CONE, CUT, FACE, OPAQUE, THIN)
    }
    assert len(looks) == 7


def test_the_page_loads_nothing() -> None:
    text = (brief_lab.folder() / "brief.html").read_text(encoding="utf-8")
    assert "http:" not in text and "https:" not in text and "<script" not in text and "<link" not in text
    assert "@import" not in text and "url(" not in text
    assert all(source.startswith("data:image/") for source in re.findall(r'src="([^"]{0,20})', text))
    assert text.count("<img") >= 6


def test_it_permits_nothing() -> None:
    """The words of a program that decides are not there; who decides is."""
    texts = [page.extract_text() for page in reader().pages]
    texts += [
        (brief_lab.folder() / name).read_text(encoding="utf-8") for name in ("brief.html", "brief.json")
    ]
    for text in texts:
        assert not re.search(r"\bsafe", re.sub(r'"data:[^"]*"', "", text), re.I)
    whole = " ".join(texts)
    assert "local codes" in whole and "licensed electrician" in whole and "competent" in whole


def test_what_is_not_known_is_said() -> None:
    page = (brief_lab.folder() / "brief.html").read_text(encoding="utf-8")
    assert "light.wall has no watts and no circuit" in page
    assert "No support in the scene for 3 wall" in page
    assert "not to which side" in page  # of the boom
