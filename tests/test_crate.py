"""Egg crates: cut-off, what goes straight ahead, and lumens, against plane geometry and view factors."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from light_lab import Reading, flat, read

from renderer.errors import InputError
from renderer.scene import sight
from renderer.scene.layer import layers
from renderer.scene.lights import LIGHTS
from renderer.scene.lights.crate import Crate, Crated
from renderer.scene.load import loads
from renderer.scene.place import LightPlace
from renderer.scene.summary import summary

DOWN = LightPlace((0.0, 0.0, 2.0), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0))
SMALL: dict[str, dict[str, Any]] = {
    "panel": {"width": 0.02, "height": 0.02, "luminance": 1e6},
    "disc": {"diameter": 0.02, "luminance": 1e6},
    "head": {"diameter": 0.02, "beam": 60.0, "luminance": 1e6},
}
CELLS = [(0.05, 0.05), (0.04, 0.06), (0.1, 0.06)]


def light(source: str, cell: float = 0.0, depth: float = 0.0, **keys: Any) -> Crated:
    crate = {"crate": {"cell": cell, "depth": depth}} if cell else {}
    made = LIGHTS[source].model_validate(
        {"source": source, "at": DOWN.centre, **SMALL[source], **crate, **keys}
    )
    assert isinstance(made, Crated)
    return made


def lux(made: Crated, directions: list[tuple[float, float]], samples: int = 256) -> Reading:
    """2 m from the light, facing it; directions as gamma and turn [deg] from its u, -x, towards its v, +y."""
    probes = []
    for gamma, turn in directions:
        g, t = math.radians(gamma), math.radians(turn)
        way = np.array([-math.sin(g) * math.cos(t), math.sin(g) * math.sin(t), -math.cos(g)])
        probes.append(flat(2.0 * way + np.array(DOWN.centre), -way))
    return read([made.parts(DOWN)], probes, samples=samples)


def test_published_share_of_a_cube() -> None:
    """Opposite faces of a cube: 0.1998 (Siegel and Howell, tables; 0.19982 with a digit more)."""
    assert Crate(cell=0.03, depth=0.03).share() == pytest.approx(0.19982, abs=5e-6)


@pytest.mark.parametrize(("cell", "depth"), [*CELLS, (0.005, 0.05), (0.001, 0.06), (0.5, 0.001)])
def test_share_is_the_sum_over_directions(cell: float, depth: float) -> None:
    """Of open share times cosine over the hemisphere, in slopes p, q = tan a, tan b: dp dq / (1 + p^2 +
    q^2)^2."""
    crate = Crate.model_construct(cell=cell, depth=depth)
    nodes, weights = np.polynomial.legendre.leggauss(200)
    # p = x sinh(s): even steps where slopes are small, long ones where they are large
    top = math.asinh(cell / depth)
    s, w = top * 0.5 * (nodes + 1.0), top * 0.5 * weights
    p, dp = np.sinh(s), np.cosh(s) * w
    open_p = (1.0 - p * depth / cell) * dp
    total = 4.0 / math.pi * (open_p[:, None] * open_p / (1.0 + p[:, None] ** 2 + p**2) ** 2).sum()
    assert crate.share() == pytest.approx(total, rel=5e-4 if cell < 0.02 * depth else 1e-9)


@pytest.mark.parametrize("source", SMALL)
def test_straight_ahead_nothing_is_lost(source: str) -> None:
    """Up to depth / cell times the mean slope from 2 m to a face of 0.02 m: 0.25 %, along both sides."""
    values = [lux(made, [(0.0, 0.0)], 2048).value() for made in (light(source), light(source, 0.05, 0.05))]
    assert 1.0 - 2.0 * 0.0025 - 1e-3 < values[1] / values[0] <= 1.0


@pytest.mark.parametrize("source", SMALL)
@pytest.mark.parametrize(("cell", "depth"), CELLS)
@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, 270.0])
def test_open_share_and_cut_off_along_the_sides(source: str, cell: float, depth: float, turn: float) -> None:
    """1 - depth tan(a) / cell, down to nothing at atan(cell / depth): read between whole degrees and turns
    15 degrees apart, so nothing from the whole degree past the cut-off at 15 degrees of turn, and the face
    lies 0.4 degrees on either side of the meter's direction."""
    edge = math.degrees(math.atan(cell / depth / math.cos(math.radians(15.0))))
    angles = np.array([0.0, 10.0, 20.0, 30.0, math.ceil(edge) + 0.5, 80.0])
    bare = lux(light(source), [(float(a), turn) for a in angles]).totals().mean(axis=0)
    with_it = lux(light(source, cell, depth), [(float(a), turn) for a in angles]).totals().mean(axis=0)
    wanted = np.maximum(0.0, 1.0 - depth / cell * np.tan(np.radians(angles)))
    # across the side the face is seen over slopes up to 0.005, which take depth / cell of their mean 0.0025
    assert with_it / bare == pytest.approx(wanted, abs=0.0025 * depth / cell * (1.0 + 1.0 / 0.75) + 1e-3)
    assert with_it[-1] == with_it[-2] == 0.0 < with_it[-3]


@pytest.mark.parametrize(("cell", "depth"), CELLS)
def test_lumens_past_the_crate(cell: float, depth: float) -> None:
    """Traced onto a sphere, of a Lambertian face: the configuration factor between the openings of a cell.

    The table runs straight between turns 15 degrees apart, which adds h^2 / 12 of what the slope round the
    turn changes by over a quarter, 2 a (1 - a) for a = depth tan(gamma) / cell (Euler and Maclaurin).
    """
    made = light("disc", cell, depth)
    rings, planes = 96, 24
    nodes, weights = np.polynomial.legendre.leggauss(rings)
    gammas = np.degrees(np.arccos(0.5 * (nodes + 1.0)))
    directions = [(float(g), 360.0 * k / planes) for g in gammas for k in range(planes)]
    values = lux(made, directions, 32).totals().mean(axis=0).reshape(rings, planes).mean(axis=1)
    traced = float(values @ (weights * 0.5) * 2.0 * math.pi) * 4.0
    a = depth / cell * np.tan(np.radians(gammas))
    inner = a < 1.0
    weight = (weights * np.cos(np.radians(gammas)))[inner]
    extra = (2.0 * a * (1.0 - a))[inner] @ weight * math.radians(15.0) ** 2 / 12.0
    quarter = (math.pi / 2 - 2.0 * a + a**2 / 2.0)[inner] @ weight
    expected = made.flux() * made.crate.share()  # type: ignore[union-attr]
    # besides, the same slope of the meter's direction over the face as above
    assert traced == pytest.approx(expected, rel=float(extra / quarter) + 0.0025 * depth / cell + 2e-3)
    assert made.crated_flux() == pytest.approx(expected, rel=float(extra / quarter) + 1e-3)
    assert made.flux() == pytest.approx(light("disc").flux())


def test_a_crate_turns_with_its_panel() -> None:
    """Along the diagonal of the cells the cut-off is atan(sqrt(2) cell / depth): 54.7 degrees for cubes, so
    at 50 degrees a panel sends light along its diagonal, and turned by 45 degrees along its old sides."""
    for roll, turn in ((0.0, 45.0), (45.0, 0.0)):
        made = light("panel", 0.05, 0.05, roll=roll)
        seen, hidden = lux(made, [(50.0, turn), (50.0, turn + 45.0)]).totals().mean(axis=0)
        assert hidden == 0.0 < seen


def test_what_the_sitter_sees_of_a_crated_light() -> None:
    """The far edges of a near panel lie outside the cut-off: it looks smaller. From beside it is dark."""
    text = (
        '[light.key]\nsource = "panel"\nat = [0, {y}, 1.2]\naim = [0, 0, 1.2]\nwidth = 2\nheight = 2\n'
        "lumens = 100\n"
    )
    crate = "crate = { cell = 0.03, depth = 0.06 }\n"
    eyes = (0.0, 0.0, 1.2)
    sizes = [
        sight.angular_size(layers(loads(text.format(y=1.0) + more))[0].parts, eyes) for more in ("", crate)
    ]
    assert sizes[0] == pytest.approx(2.0 * math.degrees(math.atan(math.sqrt(2.0))), abs=0.1)
    assert sizes[1] < 2.0 * math.degrees(math.atan(math.sqrt(2.0) * 0.5)) + 0.1
    (layer,) = layers(loads(text.format(y=1.0).replace("aim = [0, 0, 1.2]", "aim = [2, 0, 1.2]") + crate))
    assert layer.luminance((-1.5, 0.0, 1.2)) == 0.0


def test_figures_and_faults() -> None:
    text = '[light.key]\nsource = "disc"\nat = [0, 1, 2]\ndiameter = 0.5\nlumens = 900\ncrate = {crate}\n'
    told = " ".join(" ".join(summary(loads(text.format(crate="{ cell = 0.05, depth = 0.05 }")))).split())
    assert "900 lumens" in told
    assert "nothing beyond 45.0 degrees from its axis; it takes 80% of the lumens, 2.3 stops" in told
    with pytest.raises(InputError) as caught:
        loads(text.format(crate="{ cell = 0.004, depth = 0.05 }"), "s")
    assert list(caught.value.lines) == [
        "s:6: light.key.crate.cell: shuts all but the 4.6 degrees next to the axis: expected a cut-off"
        " atan(cell / depth) of 5 degrees or more, so at least 0.0044 metres at this depth"
    ]
    with pytest.raises(InputError, match=r"crate\.depth: missing key"):
        loads(text.format(crate="{ cell = 0.05 }"))
