"""A lamp that is seen: past the open end of a shade, and straight through fabric and sheets of diffusion."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from enclosure_lab import off as share_off
from enclosure_lab import trace_cylinder
from light_lab import LIMIT, cone, deviation, flat, read
from test_diffuser import PLACE as DOWN
from test_diffuser import light as diffuser
from test_diffuser import oblong, round_sheet
from test_lit_cylinder import PLACE, SILVER, drum, flux_around

from renderer.enclosure.beam import CosineBeam, Head
from renderer.enclosure.cylinder import FabricCylinder, solve
from renderer.enclosure.fabric import Fabric
from renderer.errors import InputError
from renderer.kernels.emission import keeps_straight
from renderer.kernels.tally import DIRECT
from renderer.scene.lights.diffuser import DiffuserLight
from renderer.scene.lights.lit_cylinder import figures, glow_of
from renderer.scene.lights.lit_row import bare_on_axis, on_axis, row_of
from renderer.scene.load import loads
from renderer.scene.parts import Disc, Part
from renderer.world.pack import pack

BULB = {"lumens": 3000.0, "beam": 360, "at": 0.175, "diameter": 0.02}
WOVEN = {"transmittance": 0.4, "reflectance": 0.5, "straight": 0.3}
DENSE = {"transmittance": 0.1, "reflectance": 0.8}
BOTH = {"top": "none", "bottom": "none"}
SHADES: dict[str, tuple[list[dict[str, Any]], dict[str, Any]]] = {
    "open above and below": ([], {"lamp": BULB, **BOTH}),
    "with a skirt": (SILVER[:1], {"lamp": BULB, **BOTH}),
    "open below, another cloth above": (
        [],
        {"lamp": BULB, "bottom": "none", "top": "open", "top_fabric": DENSE},
    ),
    "woven": ([], {"lamp": BULB, "top": "open", "fabric": WOVEN}),
    "woven, two skirts": (SILVER, {"lamp": BULB, "fabric": WOVEN}),
    "woven, no top": ([], {"lamp": BULB, "top": "none", "fabric": WOVEN}),
}  # fmt: skip


@pytest.mark.parametrize("name", SHADES)
def test_traced_flux_is_the_solved_flux(name: str) -> None:
    """Energy: the lumens that leave are those of the lamp less what fabric and skirts keep, though the inside
    is followed path by path here and balanced there. The bulb covers (r / d)^2 of the walls at most."""
    skirt, keys = SHADES[name]
    light = drum(skirt, **keys)
    glow = glow_of(light)
    assert abs(glow.balance_error) <= 1e-6
    kept = glow.absorbed_by_fabric() + glow.absorbed_by_sleeves()
    traced = flux_around(light.parts(PLACE), PLACE.centre)
    off = deviation(traced, 3000.0 - kept, bias=1e-3 + (0.01 / 0.175) ** 2)
    print(
        f"{name}: traced {traced.mean():.0f} lm, solved {glow.emitted():.0f} lm, {off:+.2f} standard errors"
    )
    assert abs(off) <= LIMIT
    assert traced.std(ddof=1) / math.sqrt(len(traced)) < 0.02 * traced.mean()  # else this says nothing
    assert [part.shape for part in light.parts(PLACE)] == light.shapes(PLACE)


@pytest.mark.parametrize("beam", [60.0, 120.0])
def test_a_beam_through_an_open_end(beam: float) -> None:
    """As above; the rim cuts the beam hard, so rings of probes have to be narrow."""
    light = drum(lamp={"lumens": 3000.0, "beam": beam, "at": 0.175, "diameter": 0.02}, bottom="none")
    traced = flux_around(light.parts(PLACE), PLACE.centre, samples=16, rings=480, turns=8)
    off = deviation(traced, glow_of(light).emitted(), bias=1e-3)
    print(f"{beam:g} degrees: traced {traced.mean():.0f} lm, {off:+.2f} standard errors")
    assert abs(off) <= LIMIT


def test_an_open_end_lets_out_what_photons_let_out() -> None:
    """Photons one by one, which move about their patch before their fate falls: then the balance is exact,
    and each wall's share is binomial (`enclosure_lab`)."""
    shade = FabricCylinder(0.1, 0.17, Fabric(0.35, 0.45), Fabric(0.1, 0.8), Fabric(1.0, 0.0))
    glow = solve(shade, Head(1000.0, CosineBeam(1.0)), 0.12, bands=12, rings=4)
    trace = trace_cylinder(shade, 1.0, 0.12, 200_000, 4, glow.grid, mixing=True)
    for wall in ("side", "bottom", "top"):
        seen = trace.out[glow.grid.rows_of(wall)].sum() / trace.photons
        assert abs(share_off(seen, glow.emitted(wall) / 1000.0, trace.photons)) <= LIMIT
    assert abs(glow.balance_error) <= 1e-6


def test_the_lamp_is_seen_past_an_open_end_and_through_fabric() -> None:
    """A bulb has lumens / (4 pi^2 r^2) cd/m2 (Lambert's law), beside what its white body returns. Through
    fabric of tau, straight s, it shows tau s of that, beside (1 - s) tau E / pi scattered."""
    lamp = 3000.0 / (4.0 * math.pi**2 * 0.01**2)
    under = np.array(PLACE.centre) - (0.0, 0.0, 1.5)
    sight = cone(under, (0.0, 0.0, 1.0), 0.1)  # 2.3 mm about the axis
    free = read([drum(lamp=BULB, bottom="none").parts(PLACE)], sight, samples=256)
    assert abs(free.off(lamp, 0, DIRECT, bias=1e-6)) <= LIMIT
    woven = drum(lamp=BULB, fabric=WOVEN)
    rings = glow_of(woven).luminance_of("bottom")[:, 0]  # of all that passes, tau E / pi
    through = read([woven.parts(PLACE)], sight, samples=4096)
    # between the first rings' means the table is read along straight lines
    bias = abs(rings[0] - rings[1]) / lamp / 0.12
    assert abs(through.off(0.12 * lamp + 0.7 * rings[0], 0, DIRECT, bias)) <= LIMIT


def woven(part: Part, count: int = 40_000) -> np.ndarray:
    """Whether random directions pass the front and the back of a part (2, count)."""
    rng = np.random.default_rng(6)
    ways = rng.normal(size=(count, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    shape = pack([[part]]).shapes[0]
    return np.array(
        [[keeps_straight(shape, tuple(w), side) for w in ways.tolist()] for side in (True, False)]
    )


def test_a_weave_passes_its_share_of_all_directions() -> None:
    """Binomial; a sheet passes a ray at both faces or at none, a tube at either side by itself."""
    bottom, _, side, _ = drum(lamp=BULB, fabric=WOVEN).parts(PLACE)
    for part, both in ((bottom, 0.12), (side, 0.12**2)):
        passed = woven(part)
        for share, expected in ((passed[0], 0.12), (passed[1], 0.12), (passed[0] & passed[1], both)):
            error = math.sqrt(expected * (1.0 - expected) / share.size)
            assert abs(share.mean() - expected) <= LIMIT * error


ROWS = {
    "one round": (round_sheet(grade="quarter", straight=0.4),),
    "one oblong": (oblong(transmittance=0.7, reflectance=0.2, straight=0.8),),
    "two": (
        round_sheet(0.4, 0.9, grade="half", straight=0.5),
        round_sheet(0.6, 0.9, grade="quarter", straight=0.3),
    ),
}  # fmt: skip


def on_axis_lux(light: DiffuserLight) -> Any:
    """A flat meter 1 m before the last sheet."""
    return read([light.parts(DOWN)], flat((0.0, 0.0, 0.0), (0.0, 0.0, 1.0)), samples=16384)


@pytest.mark.parametrize("name", ROWS)
def test_light_scattered_and_straight_on_the_axis(name: str) -> None:
    """The head's I0 / d^2 by the inverse square law times what all sheets pass straight, and the last sheet's
    scattered light by closed forms; of two also what the first sends straight through the second, whose
    outline hides nothing of it from there."""
    light = diffuser(*ROWS[name])
    expected = on_axis(light, 1.0)
    sheets = row_of(light).sheets
    if len(sheets) == 2:  # the first's face, 1.2 m off, half its diameter in angle
        first = sheets[0]
        squares = np.square(first.grid.radii)
        through = np.diff(squares / (squares + 1.2**2)) @ first.onward
        expected += float(sheets[1].diffusion.direct * through)
    reading = on_axis_lux(light)
    # cells of the table against those of the balance, straight lines between degrees, and the head's size
    bias = 4e-3
    straight = math.prod(s.diffusion.direct for s in sheets) * bare_on_axis(light, 1.0)
    print(
        f"{name}: {reading.value():.1f} +- {reading.error():.1f} of {expected:.1f}, {straight:.1f} straight"
    )
    assert 0.1 * expected < straight < 0.95 * expected
    assert abs(reading.off(expected, bias=bias)) <= LIMIT


@pytest.mark.parametrize("name", ROWS)
def test_sheets_account_for_all_lumens(name: str) -> None:
    row = row_of(diffuser(*ROWS[name]))
    assert abs(row.balance_error) <= 1e-6
    assert row.straight_out > 0.0


def test_what_stands_before_a_sheet_throws_a_hard_shadow_in_a_soft_one() -> None:
    """A small disc on the way to the head takes the straight part from the meter (inverse square), and of the
    sheet's own light only what it covers of the sheet, by the closed form of a disc."""
    light = diffuser(round_sheet(0.5, 0.9, grade="quarter", straight=0.5))
    meter = flat((0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    disc = Part(Disc((0.0, 0.0, 0.5), (0.0, 0.0, -1.0), 0.04))
    free = read([light.parts(DOWN)], meter, samples=8192).totals()[:, 0]
    shaded = read([light.parts(DOWN)], meter, solids=[disc], samples=8192).totals()[:, 0]
    straight = row_of(light).sheets[0].diffusion.direct * bare_on_axis(light, 1.0)
    # the disc covers a spot of 0.08 m radius on the sheet, lit within 2 per cent as its middle
    covered = float(row_of(light).sheets[0].onward[0]) * 0.08**2 / (0.08**2 + 1.0)
    lost = free - shaded
    assert abs(deviation(lost, straight + covered, bias=0.01)) <= LIMIT


TEXT = """[light.key]
source = "cylinder"
at = [0.25, 0.55, 2.0]
diameter = 0.55
length = 0.35
lamp = { lumens = 3000, beam = 360, at = 0.2 }
fabric = { transmittance = 0.4, reflectance = 0.5 }
"""
FAULTS = {
    "no lamp": (
        (TEXT[TEXT.index("lamp") :], 'lumens = 9\ntop = "none"\n'),
        "s:7: light.key.top: shows what is inside: expected lamp = { lumens, beam, at, points }",
    ),
    "cloth on nothing": (
        ("fabric", 'top = "none"\ntop_fabric = { transmittance = 0.4, reflectance = 0.5 }\nfabric'),
        's:8: light.key.top_fabric: the top has no fabric: expected top = "open"',
    ),
    "a beam no disc has": (
        ("beam = 360, at = 0.2 }", 'beam = 150, at = 0.2 }\nbottom = "none"'),
        "s:6: light.key.lamp.beam: expected degrees from 1 to 120, or 360 for a bare bulb, where the lamp is"
        " seen; got 150",
    ),
    "a lamp too large": (
        ("at = 0.2 }", 'at = 0.2, diameter = 0.4 }\nbottom = "none"'),
        "s:6: light.key.lamp.diameter: does not fit inside: expected less than 0.3 metres; got 0.4",
    ),
    "too straight": (
        ("reflectance = 0.5 }", "reflectance = 0.5, straight = 30 }"),
        "s:7: light.key.fabric.straight: expected a share from 0 to 0.9; got 30; 30 looks like per cent:"
        " did you mean 0.3?",
    ),
    "no such end": (
        ("fabric", 'top = "opne"\nfabric'),
        's:7: light.key.top: expected "open", "closed" or "none"; got "opne"; did you mean "open"?',
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTS)
def test_faults(name: str) -> None:
    change, expected = FAULTS[name]
    with pytest.raises(InputError) as caught:
        loads(TEXT.replace(*change), "s")
    assert caught.value.lines == (expected,)


def test_figures_say_what_leaves_past_an_end() -> None:
    light = drum(lamp=BULB, **BOTH)
    told = dict(figures(light))
    lumens = glow_of(light).emitted("top")
    assert told["top"] == f"nothing there: {lumens:.0f} lumens leave, straight or off the inside"
