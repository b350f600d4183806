"""Two rooms that a lighting cameraman worked out beforehand: a potter under a drum, an oboist and a card.

The expected figures are estimates for empty rooms by closed forms (common practice, no source), so bands are
wide where bounced light decides. Where the tool differs, the arithmetic that decides stands beside the check.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from glare_lab import reflected
from light_lab import LIMIT, flat, read_packed

from renderer.meter.numbers import Numbers
from renderer.preview import Preview
from renderer.scene.load import loads
from renderer.solve.places.box import box_of
from renderer.solve.places.place import placed
from renderer.world.build import build

WIDTH, DEPTH, HEIGHT = 3.6, 4.2, 2.4
RADIUS, DROP, LUMINANCE = 0.275, 0.15, 1000.0
FLOOR, CEILING, WALLS = 0.25, 0.80, 0.75
POTTER = f"""
[room]
width = {WIDTH}
depth = {DEPTH}
height = {HEIGHT}
back_wall = 1.4
[room.reflectance]
floor = {FLOOR}
ceiling = {CEILING}
back = {WALLS}
front = {WALLS}
camera_left = {WALLS}
camera_right = {WALLS}
[sitter]
eye_height = 1.20
skin_reflectance = 0.25
head_pitch = PITCH
[camera]
at = [0.0, 2.0, 1.20]
picture = [16, 20]
[light.key]
source = "cylinder"
at = [0.25, 0.55, 2.025]
diameter = {2 * RADIUS}
length = 0.35
luminance = {LUMINANCE}
SKIRT
[mark.hands]
at = [0.0, 0.45, 0.75]
facing = "up"
[mark.lens]
at = [0.0, 0.06, 1.165]
facing = "camera"
[mark.back]
at = [0.0, -1.39, 1.4]
facing = [0.0, 1.0, 0.0]
[mark.over]
at = [0.0, 0.0, 2.39]
facing = "down"
"""
SKIRTS = {
    "bare": "",
    "side": "[[light.key.skirt]]\ncovers = [-180, 180]\n",
    "drop": f"[[light.key.skirt]]\ncovers = [-180, 180]\ndrop = {DROP}\n",
}


@cache
def potter(skirt: str, pitch: float = 0.0, face: bool = False) -> Preview:
    text = POTTER.replace("PITCH", str(pitch)).replace("SKIRT", SKIRTS[skirt])
    return Preview.trace(loads(text), within=0.01, picture=False, face=face, threads=2, seed=4)


def lux(preview: Preview, mark: str, kind: int | None = None) -> float:
    """Mean reading; kind 0 what comes straight, 1 what is bounced."""
    number = [it.name for it in preview.marks].index(mark)
    return float(preview.layers.values(kind)[:, number].sum(axis=1).mean())


def under_key(preview: Preview, mark: str, kind: int | None = None) -> float:
    """Stops re the disc at the key-side cheek."""
    return math.log2(lux(preview, mark, kind) / lux(preview, "key_cheek"))


def number(of: Preview, name: str) -> float:
    return of.numbers().named()[name].number


@pytest.mark.slow
def test_potter_looking_down_has_dark_eyes() -> None:
    """The bottom of the drum stands 47 degrees over the eyes: atan(0.65 / 0.604).

    Expected by adding pitch to elevation: 47 + 25 = 72 with the head down. But the drum stands 24 degrees
    to the side: about the axis through the ears that is asin((0.65 cos 25 + 0.55 sin 25) / 0.888) = 68.
    """
    level, down = potter("drop", 0.0, True), potter("drop", -25.0, True)
    assert number(level, "key_elevation") == pytest.approx(47.0, abs=1.5)
    z, y, away = 0.65, 0.55, math.hypot(0.25, 0.55, 0.65)
    pitch = math.radians(25.0)
    turned = math.degrees(math.asin((z * math.cos(pitch) + y * math.sin(pitch)) / away))
    assert turned == pytest.approx(67.8, abs=0.1)
    assert number(down, "key_elevation") == pytest.approx(turned, abs=1.5)
    for eye in ("sitter_left", "sitter_right"):
        assert number(down, f"eye_shade.{eye}") <= -2.0
        assert number(level, f"eye_shade.{eye}") >= -1.2


def opening(radius: float, depth: float) -> float:
    """View factor from the bottom of a well to its mouth: coaxial discs alike (textbook)."""
    x = 2.0 + (depth / radius) ** 2
    return 0.5 * (x - math.sqrt(x * x - 4.0))


def sphere_ambient(flux: float, first: float) -> float:
    """Lux on any surface of a room by the integrating sphere: first-bounce flux / (A (1 - mean))."""
    level, upright = WIDTH * DEPTH, 2.0 * HEIGHT * (WIDTH + DEPTH)
    area = 2.0 * level + upright
    mean = (level * (FLOOR + CEILING) + upright * WALLS) / area
    return flux * (first or mean) / (area * (1.0 - mean))


def on_floor(height: float) -> float:
    """Part of the light of a small Lambertian face that looks down which falls on the floor rather than the
    walls: sin^2 of the cone to a disc as large as the floor (textbook)."""
    return WIDTH * DEPTH / math.pi / (WIDTH * DEPTH / math.pi + height**2)


@pytest.mark.parametrize(
    ("skirt", "low", "high"), [("bare", 4.5, 5.5), ("side", 10.0, 12.0), ("drop", 14.0, 17.0)]
)
def test_potter_ratio_with_the_key_shaded_at_the_far_cheek(skirt: str, low: float, high: float) -> None:
    """Expected are 4.5-5.5, 10-12, 14-17 to 1. They are of a far disc with the key shaded off it: turned 45
    degrees away, that disc still sees a key from 24 degrees and 47 up, at a cosine of
    (0.55 - 0.25) / sqrt 2 / 0.888 = 0.24, so that no skirt can bring the reading of both over about 5:1.

    Bare, the band holds; a sitter takes up to 15 per cent of the bounce (0.2 stop). With skirts the
    expectation is the sphere's, flux x mean reflectance / (A (1 - mean)), as the first check repeats. But a
    skirted drum lights the floor before all, and the floor is a third as light as that mean. With the
    reflectance of what is lit first the same formula gives what is traced.
    """
    preview = potter(skirt)
    key = lux(preview, "key_cheek")
    shaded = key / lux(preview, "shadow_cheek", 1)
    print(f"{skirt}: {shaded:.1f}:1 shaded, {number(preview, 'lighting_ratio'):.2f}:1 as defined")
    if skirt == "bare":
        assert low * 2.0**-0.2 <= shaded <= high * 2.0**0.2
        return
    flux = math.pi * LUMINANCE * math.pi * RADIUS**2
    if skirt == "drop":
        flux *= opening(RADIUS, DROP)
    assert low <= key / sphere_ambient(flux, 0.0) <= high
    direct = on_floor(1.85) if skirt == "side" else 1.0 - (1.0 - on_floor(1.85)) * opening(RADIUS, DROP)
    first = direct * FLOOR + (1.0 - direct) * WALLS
    assert abs(math.log2(shaded / (key / sphere_ambient(flux, first)))) < 0.5
    assert number(preview, "lighting_ratio") < 5.2


@pytest.mark.parametrize(
    ("skirt", "whole", "straight"), [("bare", -1.7, -3.1), ("side", -3.2, -4.4), ("drop", -4.7, -math.inf)]
)
def test_potter_back_shelf(skirt: str, whole: float, straight: float) -> None:
    """Within the half stop that practice allows a wall."""
    preview = potter(skirt)
    assert under_key(preview, "back") == pytest.approx(whole, abs=0.5)
    if math.isinf(straight):
        assert lux(preview, "back", 0) < 1e-3 * lux(preview, "back")
    else:
        assert under_key(preview, "back", 0) == pytest.approx(straight, abs=0.5)


@pytest.mark.parametrize(("skirt", "stops"), [("side", -3.8), ("drop", -4.4)])
def test_potter_ceiling(skirt: str, stops: float) -> None:
    """Over the sitter, within half a stop. Bare, it depends on the place: in the drum's own shadow 3.6 stops
    down, over the sitter, who sees the drum's side, half a stop; no single figure (-2.7) can be held."""
    assert under_key(potter(skirt), "over") == pytest.approx(stops, abs=0.5)


@pytest.mark.parametrize(("skirt", "stops"), [("bare", 0.1), ("side", 0.35), ("drop", 0.7)])
def test_potter_hands(skirt: str, stops: float) -> None:
    """A disc up where the hands are, re the face to the lens, the key's own light: skirts favour hands."""
    preview = potter(skirt)
    found = math.log2(lux(preview, "hands", 0) / lux(preview, "lens", 0))
    assert found == pytest.approx(stops, abs=0.15)


def test_potter_half_the_dimmer_is_a_stop_and_no_ratio() -> None:
    full = potter("side")
    half = full.mixed(dim={"key": 0.5})
    before, after = full.numbers(), half.numbers()
    assert levels(before) == pytest.approx([x + 1.0 for x in levels(after)], abs=1e-6)
    assert number(full, "lighting_ratio") == pytest.approx(number(half, "lighting_ratio"), rel=1e-6)


def levels(numbers: Numbers) -> list[float]:
    return [mark.over_exposure.value for mark in numbers.marks.values()]


def test_potter_a_white_card_for_wet_clay_is_1_28_stops_of_that_path() -> None:
    """log2(0.85 / 0.35): what comes off the card alone, in open black space, before any second bounce."""
    scene = """
    [sitter]
    mesh = "none"
    [light.key]
    source = "disc"
    at = [0.25, 0.55, 1.85]
    aim = [0.25, 0.55, 0.0]
    diameter = 0.55
    luminance = 1000
    face_reflectance = 0
    housing_reflectance = 0
    [card.pan]
    at = [0.0, 0.40, 0.60]
    aim = [0.0, 0.0, 1.2]
    width = 0.6
    height = 0.6
    reflectance = RHO
    back_reflectance = 0
    [mark.chin]
    at = [0.0, 0.1, 1.1]
    facing = [0.0, 0.5, -1.0]
    """
    read = []
    for reflectance in (0.35, 0.85):
        text = scene.replace("RHO", str(reflectance))
        it = Preview.trace(loads(text), within=0.01, picture=False, face=False, threads=2)
        read.append(it.layers.values(1)[:, 0].sum(axis=1))
    stops = np.log2(read[1].mean() / read[0].mean())
    error = math.hypot(*(x.std(ddof=1) / 4.0 / x.mean() for x in read)) / math.log(2.0)
    assert abs(stops - math.log2(0.85 / 0.35)) <= LIMIT * error + 1e-6
    assert math.log2(0.85 / 0.35) == pytest.approx(1.28, abs=0.005)


PAN = """
[card.pan]
at = [0.0, 0.40, 0.70]
aim = [0.0, 0.0, 1.2]
width = 0.6
height = 0.6
reflectance = RHO
back_reflectance = 0
"""


@pytest.mark.slow
def test_potter_eyes_looking_down_gain_half_a_stop_from_the_card() -> None:
    """At least 0.5 stop re the cheeks, head down under the drop skirt, a white pan (.85) for wet clay (.35).

    Mean of both eyes, which are 0.2 stop apart since the drum hangs to one side; over three seeds, by its
    error. Half a stop is what a pan makes that gave 0.29 of the eyes' light when it was dark:
    log2(1 + 0.29 (0.85 / 0.35 - 1)).
    """
    assert math.log2(1.0 + 0.29 * (0.85 / 0.35 - 1.0)) == pytest.approx(0.5, abs=0.005)
    gains = []
    for seed in (4, 5, 6):
        shades = []
        for reflectance in ("0.35", "0.85"):
            text = POTTER.replace("PITCH", "-25").replace("SKIRT", SKIRTS["drop"])
            text += PAN.replace("RHO", reflectance)
            it = Preview.trace(loads(text), within=0.02, picture=False, threads=2, seed=seed)
            shades.append([number(it, f"eye_shade.{eye}") for eye in ("sitter_left", "sitter_right")])
        gains.append(np.array(shades[1]) - shades[0])
    error = float(np.std(gains, ddof=1) / math.sqrt(np.size(gains)))
    print(f"{np.mean(gains):.2f} +- {error:.2f}: {np.round(gains, 2).tolist()}")
    assert error < 0.06 and np.mean(gains) >= 0.5 - 2.0 * error


OBOIST = """
[room]
width = 4.5
depth = 6.0
height = 3.2
back_wall = 2.6
[room.reflectance]
floor = 0.08
ceiling = 0.35
back = 0.12
front = 0.15
camera_left = 0.12
camera_right = 0.15
[sitter]
eye_height = 1.22
skin_reflectance = 0.36
[camera]
at = [0.0, 2.0, 1.22]
picture = [16, 20]
[light.key]
source = "disc"
around = { azimuth = 50, elevation = 32, radius = KEY }
diameter = 0.6
CRATE
lumens = 800
"""
CRATE = "crate = { cell = 0.05, depth = 0.0596 }"  # 40 degrees
CARD = """
[card.fill]
around = { azimuth = -55, distance = AWAY, height = 1.15 }
aim = [0.21, 0.25, 1.37] # halfway between the cheek and the key
width = 0.5
height = 0.5
reflectance = 0.85
[target]
lighting_ratio = "5:1"
"""


def oboist(key: float = 1.3, crate: str = CRATE, card: float | None = None) -> str:
    text = OBOIST.replace("KEY", str(key)).replace("CRATE", crate)
    return text if card is None else text + CARD.replace("AWAY", str(card))


@cache
def traced(text: str, face: bool = False) -> Preview:
    return Preview.trace(loads(text), within=0.02, picture=False, face=face, threads=2, seed=4)


def test_oboist_without_a_card() -> None:
    """15:1 or more in the dark room; 10 cm nearer is 0.2 stop: the discs' closed form over 1.3 and 1.2 m."""
    far, near = traced(oboist()), traced(oboist(key=1.2))
    assert number(far, "lighting_ratio") >= 15.0
    gain = math.log2(lux(near, "key_cheek") / lux(far, "key_cheek"))
    disc = math.log2((0.3**2 + 1.3**2) / (0.3**2 + 1.2**2))
    assert gain == pytest.approx(0.2, abs=0.05) and gain == pytest.approx(disc, abs=0.05)


def test_oboist_eyes_and_nose() -> None:
    """Pattern, catchlight at about 1:40, 13 to 16 per cent of the iris, an edge of the nose of 8 to 10 mm."""
    found = traced(oboist(), True).numbers().named()
    assert found["pattern"].value == "triangle"
    assert found["catchlights"].number == 1.0
    assert found["catchlight_clock.sitter_left"].number == pytest.approx(1.0 + 40.0 / 60.0, abs=0.25)
    assert 13.0 <= found["catchlight_size.sitter_left"].number <= 16.0
    edge = found["edge.nose"]
    assert 8.0 - edge.error <= edge.number <= 10.0 + edge.error


def off_axis(away: float) -> float:
    """Angle [deg] at the key between its axis to the nose and the card."""
    turn, lift = math.radians(50.0), math.radians(32.0)
    key = 1.3 * np.array([math.cos(lift) * math.sin(turn), math.cos(lift) * math.cos(turn), math.sin(lift)])
    side = math.radians(-55.0)
    card = np.array([away * math.sin(side), away * math.cos(side), 1.15 - 1.22])
    one, other = np.array([0.0, 0.1, -0.035]) - key, card - key
    return math.degrees(math.acos(one @ other / np.linalg.norm(one) / np.linalg.norm(other)))


@pytest.mark.parametrize(("away", "low", "high"), [(0.6, 9.0, 11.0), (0.4, 4.0, 5.0)])
def test_oboist_card(away: float, low: float, high: float) -> None:
    """9-11:1 from 0.6 m and 4-5:1 from 0.4 m, the card turned halfway between cheek and key, without the
    crate, within the third of a stop that a ratio may be missed by.

    With the crate the card gets less, which the expectation leaves out: off the key's axis by an angle a,
    cells that shut at 40 degrees pass 1 - tan a / tan 40 of the light, along one of their sides and for a
    small card: so within a third of a stop.
    """
    slack = 2.0 ** (1.0 / 3.0)
    bare, crated = (number(traced(oboist(crate=it, card=away)), "lighting_ratio") for it in ("", CRATE))
    angle = off_axis(away)
    passed = 1.0 - math.tan(math.radians(angle)) / math.tan(math.radians(40.0))
    print(f"{away} m: {bare:.1f}:1, with the crate {crated:.1f}:1; {angle:.0f} deg, passes {passed:.2f}")
    assert low / slack <= bare <= high * slack
    assert math.log2(crated / bare) == pytest.approx(-math.log2(passed), abs=1.0 / 3.0)


def test_oboist_the_card_is_found() -> None:
    """For 5:1 the card has to stand near 0.42 m; the solver finds where the traced ratio is 5:1."""
    scene = loads(oboist(crate="", card=0.8))
    found = placed(
        scene, box_of(scene, "card.fill in distance 0.3..0.9"), hold=["key"], within=0.05, threads=2
    )
    spot, balance = found.best[0]
    print(f"{spot.distance:.3f} m, {len(found.tries)} places")
    assert balance.met
    assert spot.distance == pytest.approx(0.42, abs=0.04)
    ratio = balance.preview.numbers().named()["lighting_ratio"]
    assert abs(math.log2(ratio.number / 5.0)) < 0.1


@pytest.mark.parametrize(("away", "edge", "magnified"), [(1.0, 0.120, 3.0), (2.0, 0.030, 1.5)])
def test_oboist_breakup_on_the_wall(away: float, edge: float, magnified: float) -> None:
    """A lamp of 60 mm, 3.0 m from the panels: slats at 1.0 m throw edges of 120 mm and themselves three times
    as wide, at 2.0 m edges of 30 mm and 1.5 times: w = D b / a and m = (a + b) / a (similar triangles).

    Across the edge of a disc's shadow a quarter and three quarters of its light lie 0.404 of the whole edge
    apart: the part of a disc beside a chord is 1/2 + (t sqrt(1 - t^2) + asin t) / pi.
    """
    far, high, slat = 3.0, 1.5, 0.1
    text = OBOIST.partition("[light.key]")[0].replace("skin_reflectance = 0.36", 'mesh = "none"')
    text += f"""
    [light.slash]
    source = "disc"
    at = [0.0, {far - 2.6}, {high}]
    aim = [0.0, -2.6, {high}]
    diameter = 0.06
    luminance = 100000
    [breakup.board]
    at = [0.0, {far - 2.6 - away}, {high}]
    aim = [0.0, 1.9, {high}]
    width = 0.8
    height = 0.8
    pattern = "slats"
    piece = {slat}
    """
    heights = high + np.arange(-0.3, 0.3, 0.002) * magnified / 1.5
    meters = np.concatenate([flat((0.0, -2.6 + 1e-4, z), (0.0, 1.0, 0.0)) for z in heights])
    light = read_packed(build(loads(text)).packed, meters, samples=512, replicas=2).totals(0).mean(axis=0)
    light = light / light.max()
    rise = _rise(heights, light)
    low, high_ = (float(np.interp(share, *rise)) for share in (0.25, 0.75))
    found = (high_ - low) / 0.40397
    print(f"edge {1000.0 * found:.0f} mm")
    assert found == pytest.approx(edge, rel=0.06)
    dark = np.flatnonzero(light < 0.5)
    runs = np.split(dark, np.flatnonzero(np.diff(dark) > 1) + 1)
    whole = [len(run) for run in runs if run[0] > 0 and run[-1] < len(light) - 1]
    wide = float(np.mean(whole) * (heights[1] - heights[0]))
    print(f"slat {wide / slat:.2f} times as wide")
    assert wide / slat == pytest.approx(magnified, rel=0.03)


def _rise(heights: np.ndarray, light: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Light and height along the first edge from dark to light, as `interp` wants them."""
    dark = int(np.flatnonzero(light < 0.05)[0])
    high = dark + int(np.flatnonzero(light[dark:] > 0.95)[0])
    low = high - int(np.flatnonzero(light[high::-1] < 0.05)[0])
    return np.maximum.accumulate(light[low : high + 1]), heights[low : high + 1]


def test_oboist_glare() -> None:
    """Clear with the head square and level; it comes only with the chin up AND the head toward the key,
    expected from about 7 degrees up and 5 round (give or take 3).

    The expectation takes lens and key for rectangles of angle: 2 x 7.5 over the 4 degrees that the lens sees
    brings the key's lower edge, 2 x 5 over 27 its inner edge. But the lowest point of a round key lies under
    its middle, not under its inner edge: by the law of reflection a rectangular lens first shows it at 9 up
    and 4.5 round, which the band holds. Real outlines are rounder, and a rim stands before the edge that
    would show it first: the usual spectacles begin later yet. The tool must agree with the reflection.
    """
    first = reflected(corner=60.0).min(axis=0)
    assert first == pytest.approx([7.0, 5.0], abs=3.0)
    worn = oboist().replace("[camera]", "[sitter.glasses]\nMORE\n[camera]")
    for more, corner, band in (('shape = "square"\nrim = 0', 6.0, 1.5), ("", 3.0, 3.0)):
        found = traced(worn.replace("MORE", more), True).numbers().named()
        for eye in ("sitter_left", "sitter_right"):
            assert found[f"glare_lens.{eye}"].number == found[f"glare_pupil.{eye}"].number == 0.0
        margin = found["glare_margin"]
        print(margin.why)
        assert "the chin is up by less than" in margin.why
        assert "or the head is turned to camera right by less than" in margin.why
        assert margin.parts is not None
        told = margin.parts["corners"]["key"]
        up, round_ = reflected(corner=corner).min(axis=0)
        assert told["pitch"][0] == pytest.approx(up, abs=1.0)
        assert told["yaw"][0] == pytest.approx(round_, abs=band)


@pytest.mark.parametrize(
    ("diameter", "distance", "stops"),
    [(0.6, 0.6, -0.37), (1.2, 0.6, -0.24), (0.3, 1.2, -0.23), (0.9, 1.2, -0.20), (0.6, 1.8, -0.15)],
)
def test_ten_centimetres_further(diameter: float, distance: float, stops: float) -> None:
    """-0.37 at 0.6 m of a disc of 0.6 m, -0.24 of one of 1.2 m; -0.20 to -0.23 at 1.2 m; -0.15 at 1.8 m.

    By E = pi L sin^2(alpha) on the axis of a disc (textbook), which the trace is held to as well.
    """
    squares = [(diameter / 2.0) ** 2 + away**2 for away in (distance, distance + 0.1)]
    by_hand = math.log2(squares[0] / squares[1])
    assert by_hand == pytest.approx(stops, abs=0.006)
    read = []
    for away in (distance, distance + 0.1):
        text = f"""
        [sitter]
        mesh = "none"
        [light.key]
        source = "disc"
        at = [0.0, {away}, 1.2]
        aim = [0.0, 0.0, 1.2]
        diameter = {diameter}
        luminance = 1000
        [mark.there]
        at = [0.0, 0.0, 1.2]
        facing = "key"
        [camera]
        at = [0.0, 3.0, 1.2]
        picture = [16, 20]
        """
        read.append(traced(text).numbers().marks["there"].over_exposure)
    error = math.hypot(read[0].error, read[1].error)
    assert abs(read[1].value - read[0].value - by_hand) <= LIMIT * error + 1e-4
