"""Bad numbers: one clear line each, that says what was expected and what was found."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from renderer.enclosure.beam import CosineBeam, Head, TableBeam
from renderer.enclosure.cylinder import FabricCylinder, solve
from renderer.enclosure.diffusion import Diffusion
from renderer.enclosure.fabric import Fabric, Sleeve
from renderer.enclosure.gain import sleeve_gains
from renderer.enclosure.outline import Rectangular, Round
from renderer.enclosure.row import Diffuser, solve_row
from renderer.errors import InputError

CLOTH = Fabric(0.5, 0.4)
DRUM = FabricCylinder(0.25, 0.6, CLOTH, CLOTH, CLOTH)
BEAM = CosineBeam.of_angle(60.0)
HEAD = Head(1000.0, BEAM)
HALF = Diffusion.of_grade("half")
EVEN = Head(1000.0, TableBeam([0.0, 180.0], [1.0, 1.0]))
MIRROR = Fabric(0.0, 1.0)

FAULTS: list[tuple[Callable[[], object], str]] = [
    (lambda: Fabric(0.7, 0.4), "make 1.1: expected at most 1 together; reflectance can be 0.3 at most"),
    (lambda: Fabric(-0.1, 0.4), "fabric: transmittance: expected 0 to 1; got -0.1"),
    (lambda: Fabric(0.5, math.nan), "fabric: reflectance: expected 0 to 1; got nan"),
    (lambda: Fabric("half", 0.4), "got 'half'"),  # type: ignore[arg-type]
    (lambda: Sleeve(1.2), "sleeve: reflectance: expected 0 to 1; got 1.2"),
    (lambda: Sleeve(0.8, covers=(90.0, 90.0)), "expected more than 0, at most 360; got [90, 90]"),
    (lambda: Sleeve(0.8, covers=(0.0, 400.0)), "covers 400 degrees"),
    (lambda: Sleeve(0.8, height=(0.3, 0.2)), "low must be less than high; got [0.3, 0.2]"),
    (lambda: Sleeve(0.8, height=(0.1, 0.2), on="top"), "lies on the top: expected one on the side"),
    (lambda: Sleeve(0.8, on="lid"), "expected one of side, bottom, top; got 'lid'"),  # type: ignore[arg-type]
    (lambda: FabricCylinder(0.0, 0.6, CLOTH, CLOTH, CLOTH), "radius: expected more than 0 to 100 metres"),
    (lambda: FabricCylinder(0.25, 0.01, CLOTH, CLOTH, CLOTH), "expected 0.0125 to 25 metres at radius 0.25"),
    (lambda: DRUM.with_sleeves([Sleeve(0.8, height=(0.1, 0.7))]), "sleeve 0: leaves the side"),
    (lambda: CosineBeam.of_angle(0.0), "beam: angle: expected 1 to 179 degrees"),
    (lambda: CosineBeam(-1.0), "beam: exponent: expected a number from 0 up; got -1"),
    (lambda: TableBeam([0.0], [1.0]), "two or more; got 1 angles and 1 intensities"),
    (lambda: TableBeam([0.0, 90.0, 60.0], [1.0, 1.0, 0.0]), "have to ascend; got 60 after 90 degrees"),
    (lambda: TableBeam([0.0, 90.0], [0.0, 0.0]), "all intensities are 0"),
    (lambda: Head(0.0, BEAM), "head: lumens: expected more than 0"),
    (lambda: solve(DRUM, HEAD, 0.7), "head: at: expected 0 to 0.6 metres, inside the cylinder; got 0.7"),
    (lambda: solve(DRUM, HEAD, 0.0), "lies in an end that it lights"),
    (lambda: solve(DRUM, EVEN, 0.6), "lies in an end that it lights"),
    (lambda: solve(DRUM, HEAD, 0.5, "left"), "expected one of down, up; got 'left'"),  # type: ignore[arg-type]
    (lambda: solve(DRUM, HEAD, 0.5, bands=0), "bands: expected a whole number from 1 to 400; got 0"),
    (lambda: solve(DRUM, HEAD, 0.5, sectors=100), "sectors: expected a whole number from 1 to 72; got 100"),
    (lambda: solve(FabricCylinder(1, 1, MIRROR, MIRROR, MIRROR), HEAD, 0.5), "every wall returns all light"),
    (lambda: sleeve_gains(DRUM, [Sleeve(0.8, height=(0.5, 0.9))], HEAD, 0.5), "sleeve 0: leaves the side"),
    (lambda: Diffusion.of_grade("double"), "expected one of eighth, quarter, half, full"),
    (lambda: Diffusion.of_loss(-1.0), "diffusion: loss: expected 0 to 20 stops; got -1"),
    (lambda: Diffusion(0.5, 0.4, 2.0), "diffusion: straight: expected 0 to 1; got 2"),
    (lambda: Round(0.0), "diffuser: diameter"),
    (lambda: Rectangular(1.0, -1.0), "diffuser: height"),
    (lambda: Diffuser(HALF, Round(0.5), 0.0), "diffuser: distance"),
    (lambda: solve_row(HEAD, []), "none given: expected at least one"),
    (lambda: solve_row(HEAD, [Diffuser(HALF, Round(1), d) for d in (2, 1)]), "expected the nearest first"),
    (
        lambda: solve_row(HEAD, [Diffuser(HALF, Round(1), 1), Diffuser(HALF, Rectangular(1, 1), 2)]),
        "diffuser 1: round and rectangular are mixed",
    ),
    (
        lambda: solve_row(HEAD, [Diffuser(HALF, Round(d), d) for d in (1, 2, 3)]),
        "three or more in a row have to be of one size",
    ),
    (
        lambda: solve_row(HEAD, [Diffuser(HALF, Rectangular(1, 1), 0.001)], cells=4),
        "0.001 metres from the head is too near, or the beam too narrow, for 4 x 4 cells",
    ),
]


@pytest.mark.parametrize(("fault", "words"), FAULTS, ids=[words for _, words in FAULTS])
def test_a_fault_is_one_clear_line(fault: Callable[[], object], words: str) -> None:
    with pytest.raises(InputError) as caught:
        fault()
    assert len(caught.value.lines) == 1
    assert words in caught.value.lines[0]


def test_rounding_is_no_fault() -> None:
    """Shares that make up 1 but for rounding, edges that end with the side but for rounding."""
    clear = FabricCylinder(0.25, 0.6, *[Fabric(0.7, 0.1 + 0.2)] * 3)
    assert solve(clear, HEAD, 0.5).efficiency == pytest.approx(1.0, abs=1e-12)
    sleeve = Sleeve(0.8, covers=(0.0, 360.0 + 1e-10), height=(0.3, 0.6 + 1e-12))
    assert abs(solve(DRUM.with_sleeves([sleeve]), HEAD, 0.5).balance_error) < 1e-12
    assert solve(DRUM, HEAD, 0.6).efficiency > 0.0  # a head in the lid that throws nothing back
