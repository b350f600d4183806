"""The stops map and the incident map on pictures whose answer is known."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from PIL import Image, ImageDraw

from renderer.colour import bt709_signal
from renderer.picture import stops_map as module
from renderer.picture.bands import CLIPPED, EMPTY, FLOOR, PALETTE, classify, colour_of
from renderer.picture.incident_map import incident_map
from renderer.picture.labels import Label, place_labels
from renderer.picture.legend import PAPER, Exposure, three_figures
from renderer.picture.map import bands_of, name_of, scale_of
from renderer.picture.stops_map import CLIP_STOPS, stops_map
from renderer.picture.type import draw_text, figure_height, text_width
from renderer.units import MINUS, grey_luminance

EXPOSURE = Exposure(2.8, 800.0, 1 / 50)
GREY = grey_luminance(*EXPOSURE)
BLACK_AND_WHITE = {(0, 0, 0), (255, 255, 255)}


def wedge(first: int = -7, last: int = 4, width: int = 60, height: int = 80) -> np.ndarray:
    """Whole stops from left to right, each `width` wide."""
    return np.repeat(2.0 ** np.arange(first, last + 1), width)[None].repeat(height, axis=0)


def ball(noise: float, size: tuple[int, int] = (800, 640)) -> np.ndarray:
    """Luminance [cd/m2] of a lit ball before a wall that falls off, with Monte Carlo-like noise."""
    h, w = size
    y, x = np.mgrid[0:h, 0:w]
    u, v = (x - w / 2) / (w * 0.3), (y - h / 2) / (w * 0.3)
    z = np.sqrt(np.maximum(1 - u * u - v * v, 0.0))
    lit = 40.0 * np.clip(0.6 * u - 0.5 * v + 0.6 * z, 0.02, None)
    picture: np.ndarray = np.where(z > 0.0, lit, 12.0 * np.exp(-3.0 * np.hypot((x - w) / w, y / h)))
    grain: np.ndarray = np.random.default_rng(5).gamma(noise**-2, noise**2, size)
    result: np.ndarray = picture * grain
    return result


def test_step_wedge_has_its_colours_textures_and_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    written: list[Label] = []

    def keep(*args: object) -> list[Label]:
        written.extend(place_labels(*args))  # type: ignore[arg-type]
        return written

    monkeypatch.setattr("renderer.picture.map.place_labels", keep)
    pixels = stops_map(GREY * wedge(), GREY, exposure=EXPOSURE, legend="none")
    assert pixels.shape == (80, 720, 3)
    for i, stop in enumerate(range(-7, 5)):
        field = pixels[4:-4, 60 * i + 4 : 60 * i + 56].reshape(-1, 3)
        colours = {tuple(int(c) for c in colour) for colour in np.unique(field, axis=0)}
        if stop in (-7, 3, 4):  # under the floor of -6; over the clip at +2.47
            assert colours == BLACK_AND_WHITE
            assert (field.mean() > 127) == (stop > 0)
        else:
            values, counts = np.unique(field, axis=0, return_counts=True)
            assert tuple(values[counts.argmax()]) == colour_of(stop)
            assert counts.max() > 0.8 * len(field)
    numbers = [(label.left // 60 - 7, label.text) for label in sorted(written, key=lambda label: label.left)]
    assert numbers == [(n, MINUS + str(-n)) for n in range(-6, 0)] + [(0, "0"), (1, "+1"), (2, "+2")]


@pytest.mark.parametrize("noise", [0.02, 0.15, 0.4])
def test_labels_stay_in_their_regions_and_off_each_other(noise: float) -> None:
    stops = np.log2(ball(noise) / GREY)
    codes = bands_of(stops, CLIP_STOPS, -6.0)
    labels = place_labels(codes, stops)
    assert len(labels) >= 6 or noise > 0.3
    for label in labels:
        box = codes[label.top - 3 : label.bottom + 4, label.left - 3 : label.right + 4]
        assert box.shape == (label.bottom - label.top + 7, label.right - label.left + 7)
        assert len(np.unique(box)) == 1
        assert box[0, 0] in PALETTE
        assert label.text == (f"{box[0, 0]:+d}".replace("-", MINUS) if box[0, 0] else "0")
    assert not any(a.meets(b) for a, b in combinations(labels, 2))


def test_label_sits_at_the_most_interior_point_and_ink_stays_in_its_box() -> None:
    stops = np.full((200, 300), -2.0)
    y, x = np.mgrid[0:200, 0:300]
    stops[np.hypot(y - 90, x - 210) < 60] = 1.0
    labels = place_labels(classify(stops, math.inf, -math.inf), stops)
    (one,) = [label for label in labels if label.text == "+1"]
    assert abs((one.left + one.right) / 2 - 210) <= 2
    assert abs((one.top + one.bottom) / 2 - 90) <= 2
    for text in ("+1", MINUS + "5", "0"):
        image = Image.new("L", (100, 60))
        draw = ImageDraw.Draw(image)
        draw_text(draw, (50, 40), text, 21.0, 255, "middle", bold=True)  # type: ignore[arg-type]
        rows, columns = np.nonzero(np.asarray(image) > 60)
        assert 40 - figure_height(21.0) - 2 <= rows.min() <= rows.max() <= 41
        assert abs(columns.min() + columns.max() - 99) <= 4
        assert columns.max() - columns.min() <= text_width(text, 21.0) + 1


def test_number_is_the_median_of_unsmoothed_data() -> None:
    codes = np.zeros((60, 60), dtype=np.int8)
    stops = np.full((60, 60), -0.1)
    stops.ravel()[:1900] = -3.2  # more than half of 3600
    assert [label.text for label in place_labels(codes, stops)] == [MINUS + "3"]
    assert place_labels(np.full((60, 60), CLIPPED, np.int8), stops) == []
    assert place_labels(np.full((60, 60), FLOOR, np.int8), stops) == []
    assert place_labels(np.full((60, 60), EMPTY, np.int8), stops) == []


def test_second_zero_moves_bands_but_not_the_cameras_limits() -> None:
    picture = GREY * wedge()
    shifted = stops_map(picture, GREY, zero=2.0 * GREY, legend="none")
    plain = stops_map(picture, GREY, legend="none")
    for i, stop in enumerate(range(-7, 5)):
        at = (10, 60 * i + 10)
        if -6 <= stop <= 2:
            assert tuple(plain[at]) == colour_of(stop)
            assert tuple(shifted[at]) == colour_of(max(stop - 1, -6))
    np.testing.assert_array_equal(shifted[:, :50], plain[:, :50])
    np.testing.assert_array_equal(shifted[:, -110:], plain[:, -110:])


def test_skin_on_target_is_outlined(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("renderer.picture.map.place_labels", lambda *_: [])
    stops = np.linspace(-2.0, 2.0, 401)
    picture = GREY * 2.0 ** stops[None].repeat(100, axis=0)
    face = np.zeros(picture.shape, dtype=bool)
    face[20:80] = True
    plain = stops_map(picture, GREY, legend="none")
    drawn = stops_map(picture, GREY, face_mask=face, face_target=GREY * 2.0**0.9, legend="none")
    changed = (drawn != plain).any(axis=2)
    inside = np.flatnonzero(~changed[50, 200:400] & (np.abs(stops[200:400] - 0.9) < 1 / 3 - 0.005)) + 200
    # From 0.9 - 1/3 to 0.9 + 1/3 nothing is drawn over; four pixels of black-white-white-black on each side.
    assert stops[inside[0]] == pytest.approx(0.9 - 1 / 3, abs=0.02)
    assert stops[inside[-1]] == pytest.approx(0.9 + 1 / 3, abs=0.02)
    edge = int(inside[-1])
    beyond = [int(v) for v in drawn[50, edge + 1 : edge + 8, 0]]
    assert beyond[beyond.index(0) :][:4] == [0, 255, 255, 0]
    assert not changed[:15].any()
    assert not changed[85:].any()


def test_legend_figures(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: dict[str, object] = {}

    def keep(title: str, above: object, heads: object, rows: object, below: object, scale: int) -> np.ndarray:
        seen.update(title=title, above=above, heads=heads, rows=rows, below=below)
        return np.zeros((10, 10, 3), dtype=np.uint8)

    monkeypatch.setattr(module, "draw_legend", keep)
    face = np.ones((80, 720), dtype=bool)
    stops_map(GREY * wedge(), GREY, exposure=EXPOSURE, face_mask=face, face_target=2 * GREY)
    assert seen["heads"] == ("stops", "signal %", "cd/m\u00b2", "lux on 18 %")
    cells = {row.cells[0]: row.cells[1:] for row in seen["rows"]}  # type: ignore[attr-defined]
    # ITU-R BT.709 curve of .18 * 2^n; L = .18 E / pi with E = 250 * 2.8^2 / (800 / 50) = 122.5 lux.
    assert cells["0"] == ("41", "7.02", "122")
    assert cells["+2"] == ("85", "28.1", "490")
    assert cells[MINUS + "4"] == ("5", "0.44", "7.66")
    assert cells[MINUS + "6"] == ("1", "0.11", "1.91")
    assert cells["clip"] == ("100", "39.0", "681")
    assert cells["floor"][1:] == ("0.11", "1.91")
    assert cells["+1.0"] == ("59", "14.0", "245")
    assert seen["above"] == ["0 = 18 % grey, 7.02 cd/m\u00b2", "ISO 800   T2.8   1/50 s   C 250"]


@pytest.mark.parametrize(
    ("stop", "percent"), [(-4, 5), (-3, 10), (-2, 17), (-1, 27), (0, 41), (0.5, 49.5), (1, 59.5), (2, 85)]
)
def test_signal_of_a_stop(stop: float, percent: float) -> None:
    # ITU-R BT.709-6 item 1.2, to the half per cent: one stop is 10 % low down and 25 % high up.
    assert 100 * bt709_signal(0.18 * 2.0**stop) == pytest.approx(percent, abs=0.5)
    assert 100 * bt709_signal(0.18 * 2.0**CLIP_STOPS) == pytest.approx(100.0)


def test_picture_keeps_its_size_beside_the_legend() -> None:
    picture = ball(0.1, (400, 320))
    alone = stops_map(picture, GREY, legend="none")
    assert alone.shape == (400, 320, 3)
    side = stops_map(picture, GREY, exposure=EXPOSURE, legend="side")
    below = stops_map(picture, GREY, exposure=EXPOSURE, legend="below")
    np.testing.assert_array_equal(side[:400, :320], alone)
    np.testing.assert_array_equal(below[:400, :320], alone)
    high, wide = below.shape[0] - 400, side.shape[1] - 320
    assert side.shape == (max(400, high), 320 + wide, 3)
    assert below.shape == (400 + high, max(320, wide), 3)
    np.testing.assert_array_equal(side[:high, 320:], below[400:, :wide])
    assert (scale_of(200), scale_of(800), scale_of(1600)) == (1, 1, 2)


def test_incident_map_is_the_twin_without_the_cameras_limits() -> None:
    lux = 100.0 * wedge(-8, 6)
    lux[:, :60] = np.nan
    lux[:, 60:120] = 0.0
    pixels = incident_map(lux, 100.0, exposure=EXPOSURE, legend="none")
    expected = [None, -6, -6, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 4, 4]
    for i, band in enumerate(expected):
        if band is not None:
            assert tuple(pixels[10, 60 * i + 10]) == colour_of(band)
    assert len(np.unique(pixels[:, 5:50].reshape(-1, 3), axis=0)) == 1
    assert incident_map(lux, 100.0).shape[1] > pixels.shape[1]


def test_silhouettes_show_within_a_band_and_keep_numbers_off_them() -> None:
    picture = np.full((100, 200), GREY)
    ids = np.zeros((100, 200), dtype=np.int32)
    ids[:, 100:] = 7
    pixels = stops_map(picture, GREY, ids=ids, legend="none")
    line = pixels[5, 98:103].astype(int)
    np.testing.assert_array_equal(np.flatnonzero((line != 0x91).any(axis=1)), [2])
    assert 0x91 - 50 < line[2, 0] < 0x91 - 10  # fainter than a boundary of bands
    inked = (pixels == 0).all(axis=2).any(axis=0)
    assert inked[:97].any()  # each of the two has its number,
    assert inked[104:].any()
    assert not inked[97:104].any()  # and neither stands on the line between


def test_ends_of_the_palette_say_when_they_are_open() -> None:
    assert (name_of(-6), name_of(4), name_of(-6, 2.47, -6.0)) == (
        MINUS + "6 or less",
        "+4 or more",
        MINUS + "6",
    )


def test_faults_are_refused() -> None:
    for arguments in (
        {"luminance": np.ones((4, 4, 3))},
        {"ids": np.ones((3, 4), dtype=int)},
        {"grey": 0.0},
        {"face_mask": np.ones((4, 5), dtype=bool), "face_target": 3.0},
    ):
        with pytest.raises(ValueError, match="expected"):
            stops_map(**{"luminance": np.ones((4, 4)), "grey": 1.0, **arguments})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.01234, "0.012"), (0.444, "0.44"), (7.02, "7.02"), (28.08, "28.1"), (122.4, "122"), (1342.0, "1340")]
    + [(12345.0, "12 300"), (999.7, "1000"), (0.0, "0.000")],
)
def test_three_figures(value: float, text: str) -> None:
    assert three_figures(value) == text


@pytest.mark.parametrize("height", [300, 1600])
def test_legend_shows_every_swatch_and_writes_nothing_over_its_edge(height: int) -> None:
    sheet = stops_map(GREY * wedge(height=height), GREY, exposure=EXPOSURE, legend="side")
    panel = sheet[:, 720:]
    edge = 12 * scale_of(height)
    for rim in (panel[:edge], panel[:, :edge], panel[:, -edge:]):
        assert (rim == PAPER).all()
    colours = {tuple(int(c) for c in colour) for colour in np.unique(panel.reshape(-1, 3), axis=0)}
    assert {colour_of(band) for band in range(-6, 3)} | BLACK_AND_WHITE <= colours
    assert colour_of(3) not in colours  # over the clip: in the picture nothing has it
