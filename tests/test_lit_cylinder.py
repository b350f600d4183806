"""A lamp inside a fabric cylinder: what its parts send out when traced, against the balance inside."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from light_lab import LIMIT, Reading, cone, deviation, flat, read

from renderer.enclosure import cylinder as physics
from renderer.enclosure.glow import Glow
from renderer.errors import InputError
from renderer.kernels import layout
from renderer.scene.lights import inside, sheet, uneven
from renderer.scene.lights.cylinder import CylinderLight
from renderer.scene.lights.lit_cylinder import enclosure_of, figures, glow_of
from renderer.scene.load import loads
from renderer.scene.parts import Part
from renderer.scene.place import LightPlace

PLACE = LightPlace((0.3, 0.9, 2.0), (0.0, 0.1, 1.165), (0.0, 1.0, 0.0))
DRUM: dict[str, Any] = {
    "source": "cylinder",
    "at": PLACE.centre,
    "diameter": 0.55,
    "length": 0.35,
    "lamp": {"lumens": 3000.0, "beam": 120.0, "at": 0.3},
    "fabric": {"transmittance": 0.4, "reflectance": 0.5},
}
HALF, OTHER = {"covers": (-90, 90)}, {"covers": (90, 270)}
SILVER = [{**skirt, "inside_reflectance": "silver"} for skirt in (HALF, OTHER)]
SKIRTS: dict[str, list[dict[str, Any]]] = {
    "none": [],
    "one silver": SILVER[:1],
    "two silver": SILVER,
    "a band": [{"covers": (-100, 35), "height": (0.1, 0.3), "inside_reflectance": "white"}],
    "askew": [{"covers": (13, 171.3)}, {"covers": (100, 260), "height": (0.05, 0.35)}],
}


def drum(skirt: list[dict[str, Any]] | None = None, **keys: Any) -> CylinderLight:
    return CylinderLight.model_validate({**DRUM, "skirt": skirt or [], **keys})


def flux_around(
    parts: list[Part], centre: tuple[float, float, float], samples: int = 64, rings: int = 48, turns: int = 16
) -> np.ndarray:
    """Lumens (replicas,) through a sphere of 3 m about `centre`: its illuminance from inside over its area.

    Rings of equal height have equal area (Archimedes).
    """
    radius = 3.0
    probes = []
    for k in range(rings):
        z = (2 * k + 1) / rings - 1.0
        for j in range(turns):
            phi = 2.0 * math.pi * (j + (k * 0.381966) % 1.0) / turns
            way = np.array([math.sqrt(1 - z * z) * math.cos(phi), math.sqrt(1 - z * z) * math.sin(phi), z])
            probes.append(flat(np.array(centre) + radius * way, -way))
    totals = read([parts], probes, samples=samples).totals()
    return np.asarray(totals.mean(axis=1) * 4.0 * math.pi * radius**2)


@pytest.mark.parametrize("name", SKIRTS)
def test_traced_flux_is_the_solved_flux(name: str) -> None:
    """Energy: the lumens that leave are those of the lamp less what fabric and skirts keep."""
    light = drum(SKIRTS[name])
    glow = glow_of(light)
    kept = glow.absorbed_by_fabric() + glow.absorbed_by_sleeves()
    traced = flux_around(light.parts(PLACE), PLACE.centre)
    # The grid of probes sees a smooth field, but for the kink where an end goes out of sight.
    off = deviation(traced, 3000.0 - kept, bias=1e-3)
    print(
        f"{name}: traced {traced.mean():.1f} lm, solved {glow.emitted():.1f} lm, {off:+.2f} standard errors"
    )
    assert abs(off) <= LIMIT
    assert light.flux() == pytest.approx(3000.0 - kept, rel=1e-9)


def around(values: np.ndarray, row: int, column: int) -> tuple[float, float]:
    """The least and greatest value of a cell and those about it; columns go round."""
    rows = values[max(0, row - 1) : row + 2]
    near = rows[:, [(column + k) % values.shape[1] for k in (-1, 0, 1)]]
    return float(near.min()), float(near.max())


def seen(glow: Glow, light: CylinderLight, points: list[tuple[str, int, int]]) -> Reading:
    """A narrow spot meter on the middle of cells (wall, row, sector), square to the surface."""
    u, v = (np.array(axis) for axis in PLACE.turn_axes(light.axis))
    axis, centre, radius = np.array(light.axis), np.array(PLACE.centre), light.diameter / 2
    heights, radii = np.array(glow.grid.heights), np.array(glow.grid.radii)
    probes = []
    for wall, row, sector in points:
        turn = 2.0 * math.pi * (sector + 0.5) / glow.grid.sectors
        out = math.cos(turn) * u + math.sin(turn) * v
        if wall == "side":
            height = (heights[row] + heights[row + 1]) / 2 - light.length / 2
            probes.append(cone(centre + height * axis + (radius + 0.2) * out, -out, 0.1))
        else:
            reach = (radii[row] + radii[row + 1]) / 2
            probes.append(cone(centre - (light.length / 2 + 0.2) * axis + reach * out, axis, 0.1))
    return read([light.parts(PLACE)], probes, samples=16)


def test_every_place_has_the_luminance_that_was_solved_for_it() -> None:
    """Bands, rings and sectors lie where the skirts say: read by a spot meter, cell by cell."""
    light = drum(
        [{"covers": (20, 170), "inside_reflectance": "silver"}],
        axis=(0.2, -0.1, 1.0),
        fabric={"transmittance": 0.6, "reflectance": 0.2},
        lamp={"lumens": 3000.0, "at": 0.1, "points": "up"},
    )
    glow = glow_of(light)
    side, bottom = glow.luminance_of("side"), glow.luminance_of("bottom")
    sectors = glow.grid.sectors
    free = [
        k
        for k in range(sectors)
        if glow.bare[2, k - 1] == glow.bare[2, k] == glow.bare[2, (k + 1) % sectors] == 1
    ]
    cells = [("side", row, k) for row in (1, 8, 15, 22) for k in free[:: max(1, len(free) // 6)]]
    cells += [("bottom", row, k) for row in (2, 5, 6) for k in range(0, sectors, 4)]
    found = seen(glow, light, cells).totals().mean(axis=0)
    spread = bottom[6].max() / bottom[6].min()
    assert spread > 1.05  # so a table turned the wrong way would show
    for (wall, row, sector), value in zip(cells, found, strict=True):
        low, high = around(side if wall == "side" else bottom, row, sector)
        assert low * (1 - 1e-4) <= value <= high * (1 + 1e-4), (wall, row, sector)


def below(light: CylinderLight) -> Reading:
    """A flat meter 5 m under the drum, on its axis: it sees the bottom alone."""
    return read([light.parts(PLACE)], flat((0.3, 0.9, 2.0 - 0.175 - 5.0), (0, 0, 1)), samples=1024)


def test_what_the_skirts_bring_to_the_bottom() -> None:
    """Two silver skirts brighten it by what the balance says; common practice: silver brings more than white,
    black next to nothing."""
    bare, gains = below(drum()).value(), {}
    for lining in ("silver", "white", "black"):
        light = drum([{**skirt, "inside_reflectance": lining} for skirt in (HALF, OTHER)])
        with_skirts = below(light)
        cylinder, head, at, points = enclosure_of(light)
        gain = physics_gain(cylinder, head, at, points)
        # The bottom differs a little in profile; seen from 5 m that is (R / d)^2 of the light at most.
        assert abs(with_skirts.off(bare * 2.0**gain, bias=2.0 * (0.275 / 5.0) ** 2)) <= LIMIT
        gains[lining] = math.log2(with_skirts.value() / bare)
    print(gains)
    assert gains["silver"] > gains["white"] > gains["black"] + 0.2
    assert 0.3 < gains["silver"] < 1.0 and 0.0 < gains["black"] < 0.05


def physics_gain(cylinder: Any, head: Any, at: float, points: Any) -> float:
    from renderer.enclosure.gain import sleeve_gains

    return sleeve_gains(cylinder, cylinder.sleeves, head, at, points)[-1].stops["bottom"]


def test_each_skirt_brightens_what_is_left_and_takes_light_in_all() -> None:
    lights = [drum(SILVER[:n]) for n in range(3)]
    bottoms = [glow_of(light).mean_luminance("bottom") for light in lights]
    assert bottoms[0] < bottoms[1] < bottoms[2]
    assert lights[0].flux() > lights[1].flux() > lights[2].flux()


def test_level_and_dimmer_change_no_ratio() -> None:
    """Light adds up: twice the lumens give twice every luminance and the same tables."""
    one, two = (
        drum(SILVER[:1], lamp={"lumens": lumens, "at": 0.3}).parts(PLACE) for lumens in (1000.0, 2000.0)
    )
    for a, b in zip(one, two, strict=True):
        assert b.luminance == pytest.approx(2.0 * a.luminance, rel=1e-9)
        if a.glow and b.glow:
            assert np.array(b.glow) == pytest.approx(2.0 * np.array(a.glow), rel=1e-6)


def test_a_bare_bulb_and_a_head_that_points_up() -> None:
    """A bulb in the middle of a symmetric drum lights both ends alike, a head that points up the top more."""
    open_top = {"top": "open"}
    bulb = glow_of(drum(lamp={"lumens": 1000.0, "beam": 360, "at": 0.175}, **open_top))
    assert bulb.mean_luminance("top") == pytest.approx(bulb.mean_luminance("bottom"), rel=1e-9)
    up = glow_of(drum(lamp={"lumens": 1000.0, "at": 0.05, "points": "up"}, **open_top))
    assert up.mean_luminance("top") > up.mean_luminance("bottom")


def test_figures_name_what_was_solved() -> None:
    light = drum(SILVER)
    told = dict(figures(light))
    assert set(told) == {"lamp", "bottom", "skirts"}
    assert f"{light.flux():.0f} lumens leave" in told["lamp"]
    assert "bottom +0.41 stop" in told["skirts"]  # tests/test_enclosure_balance.py holds the balance itself
    assert set(dict(figures(drum()))) == {"lamp", "side", "bottom"}


def test_limits_that_are_said_twice_agree() -> None:
    """They are restated where no numerical library may be loaded."""
    assert (inside.FLATTEST, inside.TALLEST) == (physics.FLATTEST, physics.TALLEST)
    assert sheet.CELLS == uneven.CELLS == layout.GLOW_ROWS == layout.GLOW_COLUMNS


TEXT = """[light.key]
source = "cylinder"
at = [0.25, 0.55, 2.0]
diameter = 0.55
length = 0.35
lamp = { lumens = 3000, beam = 120, at = 0.3 }
fabric = { transmittance = 0.4, reflectance = 0.5 }
"""
FAULTS = {
    "a second level": (
        ("length", "lumens = 9\nlength"),
        "s:5: light.key.lumens: a second level beside its lamp: expected lamp.lumens alone",
    ),
    "no fabric": (
        ("fabric = { transmittance = 0.4, reflectance = 0.5 }", ""),
        "s:1: light.key: its lamp needs fabric round it: expected fabric = { transmittance, reflectance }",
    ),
    "no lamp": (
        ("lamp = { lumens = 3000, beam = 120, at = 0.3 }", "lumens = 9"),
        "s:1: light.key: its fabric counts only with a lamp: expected lamp = { lumens, beam, at, points }",
    ),
    "lamp above": (
        ("at = 0.3 ", "at = 0.4 "),
        "s:6: light.key.lamp.at: is not inside the cylinder: expected metres between 0 and 0.35; got 0.4",
    ),
    "lamp on what it lights": (
        ("at = 0.3 ", "at = 0 "),
        "s:6: light.key.lamp.at: is not inside the cylinder: expected metres between 0 and 0.35; got 0",
    ),
    "beam": (
        ("120", "200"),
        "s:6: light.key.lamp.beam: expected degrees from 1 to 179, or 360 for a bare bulb; got 200",
    ),
    "points": (
        ("at = 0.3 }", 'at = 0.3, points = "dwn" }'),
        's:6: light.key.lamp.points: expected "down" or "up"; got "dwn"; did you mean "down"?',
    ),
    "more than all": (
        ("reflectance = 0.5 }", "reflectance = 0.7 }"),
        "s:7: light.key.fabric.reflectance: makes 1.1 with the transmittance: expected at most 0.6",
    ),
    "too flat": (
        ("length = 0.35", "length = 0.01"),
        "s:5: light.key.length: expected 0.01375 to 27.5 metres at this diameter, with a lamp; got 0.01",
    ),
    "two reflectances": (
        ("length", "face_reflectance = 0.6\nlength"),
        "s:5: light.key.face_reflectance: with a lamp its faces are fabric: expected fabric.reflectance"
        " alone",
    ),
    "lining": (
        ("fabric", '[[light.key.skirt]]\ncovers = [0, 90]\ninside_reflectance = "sliver"\n#'),
        's:9: light.key.skirt[1].inside_reflectance: expected "silver", "white", "black", or a share'
        ' from 0 to 1; got "sliver"; did you mean "silver"?',
    ),
    "misspelt": (
        ("lumens", "lumen"),
        's:6: light.key.lamp.lumen: unknown key; did you mean "lumens"? (lamp has: lumens, beam, at, points,'
        " diameter)",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTS)
def test_faults(name: str) -> None:
    change, expected = FAULTS[name]
    assert list(loads(TEXT, "s").light) == ["key"]
    with pytest.raises(InputError) as caught:
        loads(TEXT.replace(*change), "s")
    assert expected in caught.value.lines
    if name not in ("lining", "too flat"):
        assert len(caught.value.lines) == 1


FRUGAL = """
import sys
from renderer.errors import InputError
from renderer.scene.load import loads
try:
    loads(sys.argv[1])
except InputError as fault:
    assert len(fault.lines) == 1
print(*sorted({"numba", "numpy", "scipy"} & set(sys.modules)))
"""


def test_a_faulty_scene_with_a_lamp_needs_no_numerical_library() -> None:
    text = TEXT + "[sitter]\neye_height = 120\n"
    root = Path(__file__).parents[1]
    done = subprocess.run(
        [sys.executable, "-c", FRUGAL, text], cwd=root, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == []


def test_rings_and_rows_keep_the_flux() -> None:
    """The mean of a part times its area, part by part, is what the balance lets out, wall by wall."""
    light = drum(SKIRTS["askew"], top="open")
    glow = glow_of(light)
    parts = light.parts(PLACE)
    ends = [math.pi * part.luminance * light.end_area() for part in parts[:2]]
    assert ends == pytest.approx([glow.emitted("bottom"), glow.emitted("top")], rel=1e-9)
