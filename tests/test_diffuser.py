"""A head behind sheets of diffusion: traced light against the solved balance, closed forms and the trade."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, get_args

import numpy as np
import pytest
from light_lab import LIMIT, cone, deviation, flat, read, rectangle, standard_error
from view_factor import polygon

from renderer.enclosure.diffusion import GRADES
from renderer.errors import InputError
from renderer.scene.layer import layers
from renderer.scene.lights.diffuser import DiffuserLight
from renderer.scene.lights.lit_row import figures, loss, on_axis, row_of
from renderer.scene.lights.sheet import Grade
from renderer.scene.load import loads
from renderer.scene.parts import Part
from renderer.scene.place import LightPlace

PLACE = LightPlace((0.0, 0.0, 1.0), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0))  # looks straight down
TINY = {"diameter": 0.02, "lumens": 10_000.0, "beam": 60.0}


def light(*sheets: dict[str, Any], **keys: Any) -> DiffuserLight:
    table = {"source": "diffuser", "at": PLACE.centre, "head": TINY, "sheet": list(sheets), **keys}
    return DiffuserLight.model_validate(table)


def round_sheet(distance: float = 0.5, diameter: float = 0.9, **cloth: Any) -> dict[str, Any]:
    return {"distance": distance, "diameter": diameter, **(cloth or {"grade": "full"})}


def oblong(distance: float = 0.5, width: float = 0.9, height: float = 0.5, **cloth: Any) -> dict[str, Any]:
    return {"distance": distance, "width": width, "height": height, **(cloth or {"grade": "full"})}


def flux_around(parts: list[Part], rings: int, turns: int, samples: int) -> np.ndarray:
    """Lumens through a sphere of 0.8 m about it all, of every part as a light of its own (replicas, parts).

    Rings of equal height have equal area (Archimedes).
    """
    probes, radius, middle = [], 0.8, np.array([0.0, 0.0, 1.25])
    for k in range(rings):
        z = (2 * k + 1) / rings - 1.0
        for j in range(turns):
            phi = 2.0 * math.pi * (j + (k * 0.381966) % 1.0) / turns
            way = np.array([math.sqrt(1 - z * z) * math.cos(phi), math.sqrt(1 - z * z) * math.sin(phi), z])
            probes.append(flat(middle + radius * way, -way))
    reading = read([[part] for part in parts], probes, samples=samples)
    return np.asarray(reading.replicas.sum(axis=3).mean(axis=1) * 4.0 * math.pi * radius**2)


ROWS = {
    "one round": (round_sheet(),),
    "one near and narrow": (round_sheet(0.3, 0.4, grade="half"),),
    "one oblong": (oblong(),),
    "two round": (round_sheet(0.4, 0.6, grade="half"), round_sheet(0.6, 0.9)),
    "two oblong": (oblong(0.4), oblong(0.55, grade="quarter")),
}


@pytest.mark.parametrize("name", ROWS)
def test_all_lumens_are_accounted_for(name: str) -> None:
    """What leaves by tracing and what stays in the sheets make up the lumens of the head (energy)."""
    lamp = light(*ROWS[name])
    row = row_of(lamp)
    goes_round = lamp.sheet[0].diameter is not None
    rings, turns = (960, 1) if goes_round else (160, 24)
    parts = lamp.parts(PLACE)
    found = flux_around(parts, rings, turns, 64 if goes_round else 16)
    front, back, past = found[:, 0], found[:, -2], found[:, -1]
    # The edge of the light that goes past falls between rings: half a ring of 2 / RINGS of the sphere, at the
    # intensity on that edge. The aperture covers (r / d)^2 of what comes back, and is as much off a point.
    head = lamp.head
    rim = math.atan2(min(lamp.sheet[0].size()) / 2.0, lamp.sheet[0].distance)
    peak = head.lumens * (head.exponent + 1.0) / (2.0 * math.pi)
    edge = 2.0 * math.pi * peak * math.cos(rim) ** head.exponent / rings / math.sqrt(turns)
    aperture = 4.0 * (head.diameter / 2.0 / lamp.sheet[0].distance) ** 2 * head.lumens
    # Straight lines between whole degrees, for cos^n.
    table = head.exponent**2 * math.radians(1.0) ** 2 / 8.0 * head.lumens
    bias = edge + aperture + table
    total = found.sum(axis=1)
    print(
        f"{name}: traced {front.mean():.0f} on, {back.mean():.0f} back, {past.mean():.0f} past, in all"
        f" {total.mean():.0f} +- {standard_error(total):.1f} lm; solved {row.scattered_out:.0f} on,"
        f" {row.to_head:.0f} back, {row.missed:.0f} past, {row.beside:.0f} between, {row.absorbed:.0f} kept;"
        f" bound {bias:.0f} lm"
    )
    left = head.lumens - row.absorbed
    assert bias < 0.01 * head.lumens
    assert abs(deviation(total, left, bias / left)) <= LIMIT
    assert abs(deviation(past, row.missed, bias / row.missed)) <= LIMIT
    assert abs(deviation(front, row.scattered_out, 1e-3)) <= LIMIT
    assert abs(deviation(back, row.to_head, 1e-3 + aperture / row.to_head)) <= LIMIT


def test_a_far_head_and_a_small_sheet() -> None:
    """0.6 x 0.6 m, tau 0.5, lit by 2000 lux: L = tau E / pi = 318.31 cd/m2, and 102.372 lux 1 m before it
    (M = tau E and Lambert's law; configuration factor of a rectangle, Siegel & Howell, 4th ed., p. 842).
    The head is 20 m off with I0 = E d^2: cos^4 over the sheet is 1 to 2 (0.3 sqrt 2 / 20)^2."""
    lamp = light(
        oblong(20.0, 0.6, 0.6, transmittance=0.5, reflectance=0.4),
        head={"diameter": 0.02, "lumens": math.pi * 2000.0 * 20.0**2, "beam": 120.0},
    )
    parts = lamp.parts(PLACE)
    uneven = 2.0 * (0.3 * math.sqrt(2.0) / 20.0) ** 2
    assert parts[0].luminance == pytest.approx(318.31, rel=uneven + 2e-5)
    assert parts[0].reflectance == (0.4,) * 3
    corners = [(x, y, 1.0) for x, y in ((-0.3, -0.3), (0.3, -0.3), (0.3, 0.3), (-0.3, 0.3))]
    expected = math.pi * 1000.0 / math.pi * polygon(corners, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    assert expected == pytest.approx(102.372, abs=5e-4)
    assert on_axis(lamp, 1.0) == pytest.approx(102.372, rel=uneven)
    reading = read([parts], flat((0, 0, 0), (0, 0, 1)), samples=8192)
    print(f"{reading.value():.3f} +- {reading.error():.3f} lux")
    assert abs(reading.off(102.372, bias=uneven)) <= LIMIT


@pytest.mark.parametrize("distance", [0.3, 0.5, 1.0])
def test_luminance_of_the_middle_and_of_the_rim(distance: float) -> None:
    """From a head on the axis a sheet gets E = I0 cos^(n + 3) / d^2 and shows L = tau E / pi (inverse square
    and Lambert's law); read by a spot meter."""
    lamp = light(round_sheet(distance, 0.6, transmittance=0.4))
    n, peak = lamp.head.exponent, 10_000.0 * (lamp.head.exponent + 1.0) / (2.0 * math.pi)
    places = (0.0, 0.15, 0.28)
    probes = [cone((x, 0.0, 0.8), (0, 0, 1), 0.05) for x in places]
    found = read([lamp.parts(PLACE)], probes, samples=64).totals().mean(axis=0)
    for x, value in zip(places, found, strict=True):
        expected = 0.4 / math.pi * peak / distance**2 * math.cos(math.atan2(x, distance)) ** (n + 3.0)
        # A row is 1 / 24 of the area. In s = x^2 light falls like (1 + s / d^2)^-k, k = (n + 3) / 2: level
        # over half a row at either end, straight lines between.
        row = 0.3**2 / 24.0 / distance**2 * (n + 3.0) / 2.0
        bound = 0.75 * row if x in (0.0, 0.28) else row**2
        assert value == pytest.approx(expected, rel=bound + 1e-3)


def test_the_nearer_the_head_the_hotter_the_middle() -> None:
    """And the more of it is caught. Common practice: back the head off for an even sheet."""
    rows = [row_of(light(round_sheet(distance))) for distance in (0.25, 0.5, 1.0, 2.0)]
    hot = [row.sheets[-1].hot_centre() for row in rows]
    assert hot[0] > hot[1] > hot[2] > hot[3] > 0.0
    assert rows[0].missed < rows[1].missed < rows[2].missed < rows[3].missed
    glows = [light(round_sheet(distance)).parts(PLACE)[0].glow for distance in (0.25, 2.0)]
    spread = [max(map(max, glow)) / min(map(min, glow)) for glow in glows if glow]
    assert spread[0] > 4.0 * spread[1]


@pytest.mark.parametrize(("diameter", "a", "b"), [(0.3, 1.2, 0.4), (0.9, 1.2, 0.4)])
def test_a_larger_sheet_has_a_wider_shadow_edge(diameter: float, a: float, b: float) -> None:
    """Source D, source to edge a, edge to plane b: the edge of the shadow is w = D b / a wide (similar
    triangles). Beyond it nothing, before it the whole sheet; at a tenth from either end, some."""
    lamp = light(round_sheet(2.0, diameter))
    place = LightPlace((0.0, 0.0, a + b), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    flag = rectangle((5, 0, b), (5, 0, 0), (0, 10, 0), (0, 0, -1), 0.0)
    width = diameter * b / a
    places = width / 2 * np.array([1.002, 0.8, 0.0, -0.8, -1.002])
    probes = [flat((x, 0, 0), (0, 0, 1)) for x in places]
    share = read([lamp.parts(place)], probes, solids=[flag], samples=4096).totals(0).mean(axis=0) / read(
        [lamp.parts(place)], probes, samples=4096
    ).totals(0).mean(axis=0)
    assert share[0] == 0.0 and 0.0 < share[1] < 0.1
    assert share[2] == pytest.approx(0.5, abs=0.02)
    assert 0.9 < share[3] < 1.0 and share[4] == pytest.approx(1.0, abs=5e-3)


def test_weaker_grades_take_less_and_the_axis_pays_more_than_the_grade() -> None:
    """A cloth spreads what passes, so a meter on the axis of a hard head loses more than the cloth takes."""
    found = [loss(light(round_sheet(0.5, 0.9, grade=grade)), 1.0) for grade in ("quarter", "half", "full")]
    assert found[0] < found[1] < found[2]
    assert found[2] - found[0] == pytest.approx(GRADES["full"] - GRADES["quarter"], abs=1e-9)
    assert found[0] > GRADES["quarter"] + 0.3


def test_level_and_dimmer_change_no_ratio() -> None:
    one = light(round_sheet()).parts(PLACE)
    two = light(round_sheet(), head={**TINY, "lumens": 20_000.0}).parts(PLACE)
    for a, b in zip(one, two, strict=True):
        assert b.luminance == pytest.approx(2.0 * a.luminance, rel=1e-9)
        assert np.array(b.beam or 1.0) == pytest.approx(np.array(a.beam or 1.0), rel=1e-9)
    full, half = (layers(loads(TEXT + f"[light.other]\nsource = 'bulb'\nat = [0, 1, 2]\ndiameter = 0.1\n"
                               f"lumens = 9\ndim = {dim}\n")) for dim in (1.0, 0.5))  # fmt: skip
    assert full[0] == half[0]


def test_where_things_stand() -> None:
    """The last sheet is at the light's place, the head behind it, each facing the aim."""
    lamp = light(round_sheet(0.4, 0.6), round_sheet(0.7, 0.9))
    shapes = lamp.shapes(PLACE)
    assert [part.shape for part in lamp.parts(PLACE)] == shapes
    heights = [shape.centre[2] for shape in shapes]
    assert heights == pytest.approx([1.0, 1.0, 1.3, 1.3, 1.7], abs=1e-3)
    assert heights[0] < heights[1] and heights[2] < heights[3]  # the fronts before the backs
    parts = lamp.parts(PLACE)
    assert [part.luminance > 0.0 for part in parts] == [True] * 5
    assert [part.reflectance[0] > 0.0 for part in parts] == [True, False, False, False, True]
    told = dict(figures(lamp))
    assert set(told) == {"head", "light", "face"} and "between the sheets" in told["light"]
    assert lamp.flux() == pytest.approx(row_of(lamp).scattered_out)
    assert set(get_args(Grade)) == set(GRADES)


def test_the_head_is_hidden_by_its_sheet() -> None:
    """An eye before the sheet has the sheet's luminance; one beyond the edge of its shadow has the head.

    The shadow of a sheet 0.9 m wide, 0.5 m before the head, is 0.9 (0.5 + 1) / 0.5 = 2.7 m wide 1 m on."""
    parts = tuple(light(round_sheet()).parts(PLACE))
    layer = layers(loads(TEXT))[0]
    mine = replace(layer, parts=parts, dim=1.0)
    hot = row_of(light(round_sheet())).sheets[0].hot_centre()
    assert mine.luminance((0.0, 0.0, 0.0)) < 1.01 * parts[0].luminance * 2.0**hot
    assert mine.luminance((1.30, 0.0, 0.0)) < 1.01 * parts[0].luminance * 2.0**hot
    assert mine.luminance((1.40, 0.0, 0.0)) > 100.0 * parts[0].luminance


TEXT = """[light.key]
source = "diffuser"
at = [1.0, 1.0, 1.6]
head = { diameter = 0.1, lumens = 10000, beam = 60 }
[[light.key.sheet]]
distance = 0.5
diameter = 0.9
grade = "full"
"""
SECOND = '[[light.key.sheet]]\ndistance = 0.7\ndiameter = 0.9\ngrade = "half"\n'
FAULTS = {
    "a second level": (
        ("at =", "lumens = 3\nat ="),
        "s:3: light.key.lumens: a second level beside its head: expected head.lumens alone",
    ),
    "no head": (
        ("head = { diameter = 0.1, lumens = 10000, beam = 60 }\n", ""),
        "s:1: light.key.head: missing key; expected the head behind, { diameter, lumens, beam };"
        " in place of a level",
    ),
    "nearer than wide": (
        ("distance = 0.5", "distance = 0.05"),
        "s:6: light.key.sheet[1].distance: is nearer than the aperture is wide: expected at least 0.1 metres;"
        " got 0.05",
    ),
    "order": (
        ("distance = 0.5", "distance = 0.9"),
        "s:10: light.key.sheet[2].distance: expected more than that of the sheet before, 0.9 metres; got 0.7",
    ),
    "grade": (
        ('"full"', '"ful"'),
        's:8: light.key.sheet[1].grade: expected "eighth", "quarter", "half", "full", "opal" or "grid cloth";'
        ' got "ful"; did you mean "full"?',
    ),
    "two cloths": (
        ('grade = "full"', 'loss = 1\ngrade = "full"'),
        "s:5: light.key.sheet[1]: its cloth is unclear: expected one of grade, loss, transmittance;"
        " got grade and loss",
    ),
    "more than all": (
        ('grade = "full"', "loss = 1\nreflectance = 0.6"),
        "s:9: light.key.sheet[1].reflectance: makes 1.1 with what passes: expected at most 0.5",
    ),
    "size": (
        ("diameter = 0.9\ngrade = \"full\"", "width = 0.9\ngrade = \"full\""),
        "s:5: light.key.sheet[1]: its size is unclear: expected width and height, or diameter alone;"
        " got width",
    ),
    "mixed": (
        ("diameter = 0.9\ngrade = \"full\"", "width = 0.9\nheight = 1\ngrade = \"full\""),
        "s:10: light.key.sheet[2]: round and rectangular are mixed: expected one kind in a row",
    ),
    "beam": (
        ("beam = 60", "beam = 150"),
        "s:4: light.key.head.beam: expected degrees from 5 to 120; got 150",
    ),
    "no sheet": (
        ("[[light.key.sheet]]\ndistance = 0.5\ndiameter = 0.9\ngrade = \"full\"\n" + SECOND, "sheet = []\n"),
        "s:5: light.key.sheet: none given: expected at least one, each under [[light.NAME.sheet]]",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTS)
def test_faults(name: str) -> None:
    change, expected = FAULTS[name]
    assert list(loads(TEXT + SECOND, "s").light) == ["key"]
    with pytest.raises(InputError) as caught:
        loads((TEXT + SECOND).replace(*change, 1), "s")
    assert list(caught.value.lines) == [expected]


def test_a_spot_too_small_for_the_table() -> None:
    """5 degrees have n = 727.6, so half the light of the middle at atan(0.0436): 0.0087 m across at 0.1 m."""
    with pytest.raises(InputError) as caught:
        loads(TEXT.replace("beam = 60", "beam = 5").replace("0.5", "0.1"), "s")
    assert list(caught.value.lines) == [
        "s:6: light.key.sheet[1].distance: so near, this beam is a spot of 0.009 m in its middle:"
        " expected at least 0.43 metres"
    ]
