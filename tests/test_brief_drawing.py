"""Drawings without a trace: where direct light ends, which scale fits, labels that keep off each other."""

from __future__ import annotations

import math

import pytest

from renderer.brief.cut import reach
from renderer.brief.drawing import Drawing, Words
from renderer.brief.frame import SCALES, framed
from renderer.brief.geometry import clipped, distance, hull, meet
from renderer.brief.label import CROWDED, Note, place
from renderer.brief.mast import masts
from renderer.brief.plan import plan
from renderer.brief.section import reaches, walls
from renderer.brief.unit import Unit, units
from renderer.brief.view import PLAN
from renderer.film.mix import Fader, Mix
from renderer.scene.layer import layers
from renderer.scene.load import loads
from renderer.scene.models import Scene
from renderer.scene.parts import Disc, Part

DRUM = """
[room]
width = 6
depth = 6
height = 3
back_wall = 3
[light.key]
source = "cylinder"
at = [0.0, 1.0, 2.0]
diameter = 0.6
length = 0.3
lumens = 1000
[[light.key.skirt]]
covers = [0, 360]
drop = {drop}
"""


def units_of(scene: Scene) -> list[Unit]:
    mix = Mix(tuple(Fader.of(layer) for layer in layers(scene)))
    return units(scene, mix)


@pytest.mark.parametrize("drop", [0.1, 0.2, 0.3])
def test_skirts_cut_where_similar_triangles_say(drop: float) -> None:
    """The last ray goes from the far rim of the bottom past the near lower edge of the drop: it meets a wall
    L from the axis at z = h - (L - D / 2) s / D, h the edge, s the drop, D the diameter (plane geometry)."""
    scene = loads(DRUM.format(drop=drop))
    several = units_of(scene)
    edge, diameter = 2.0 - 0.15 - drop, 0.6
    # through the sitter and the key, so along y: the wall behind is 3 + 1 m from the axis, that ahead 3 - 1
    for found, away in zip(reaches(scene, several, several[0]), (4.0, 2.0), strict=True):
        expected = edge - (away - diameter / 2) * drop / diameter
        if expected < 0.0:
            assert not found.lit and not found.cuts
        else:
            assert [cut.lit for cut in found.cuts] == ["below"]
            assert found.cuts[0].height == pytest.approx(expected, abs=0.003)


def test_a_bare_disc_lights_a_wall_up_to_its_plane() -> None:
    """Nothing of a flat face is seen from behind its plane (plane geometry)."""
    disc = Part(Disc((0.0, 0.0, 1.5), (0.0, 0.0, -1.0), 0.3), 100.0)
    found = reach([disc], [], (2.0, 0.0, 0.0), (-1.0, 0.0, 0.0), 2.5, (0.0, 1.0, 0.0))
    assert found.lit and [cut.lit for cut in found.cuts] == ["below"]
    assert found.cuts[0].height == pytest.approx(1.5, abs=0.002)


@pytest.mark.parametrize("under", [0.3, 0.5])
def test_a_board_shades_by_similar_triangles(under: float) -> None:
    """A level disc of radius 0.1 m, so far under a small light: past its rim the light meets a wall 0.25 m
    from the axis at z = 1.5 - under 0.25 / 0.1 and lights it over that up to its own plane
    (plane geometry)."""
    light = Part(Disc((0.0, 0.0, 1.5), (0.0, 0.0, -1.0), 0.001), 100.0)
    flag = Part(Disc((0.0, 0.0, 1.5 - under), (0.0, 0.0, 1.0), 0.1))
    found = reach([light], [flag], (0.25, 0.0, 0.0), (-1.0, 0.0, 0.0), 2.5, (0.0, 1.0, 0.0))
    assert [cut.lit for cut in found.cuts] == ["above", "below"]
    assert found.cuts[0].height == pytest.approx(1.5 - under * 0.25 / 0.1, abs=0.01)
    assert found.cuts[1].height == pytest.approx(1.5, abs=0.002)


def test_walls_of_a_slanting_section() -> None:
    scene = loads(DRUM.format(drop=0.1))
    half = math.sqrt(0.5)
    (left, _), (right, inward) = walls(scene, (half, half, 0.0))
    assert left[:2] == pytest.approx((-3.0, -3.0)) and right[:2] == pytest.approx((3.0, 3.0))
    assert math.hypot(*inward) == 1.0


@pytest.mark.parametrize(
    ("room", "scale"),
    [((3.4, 4.2), 20), ((3.6, 4.2), 20), ((4.3, 4.2), 25), ((6.0, 4.5), 40), ((30.0, 12.0), 200)],
)
def test_the_largest_scale_that_fits(room: tuple[float, float], scale: int) -> None:
    drawing = framed("x", ((0.0, 0.0), room), (200.0, 250.0))
    assert drawing.scale == scale
    assert drawing.size[0] <= 200.0 and drawing.size[1] <= 250.0
    larger = SCALES[SCALES.index(scale) - 1]
    if scale != SCALES[0]:
        assert room[0] * 1e3 / larger + 18 > 200.0 or room[1] * 1e3 / larger + 27 > 250.0


def test_labels_keep_off_each_other() -> None:
    drawing = Drawing("x", 25, ((0.0, 0.0), (3.6, 4.2)))
    # twelve within half a metre: as many lights as anyone hangs over one sitter
    notes = [
        Note((1.8 + 0.25 * math.cos(k), 2.1 + 0.25 * math.sin(k)), (f"unit {k}", "x +0.00, y +0.00"), str(k))
        for k in range(12)
    ]
    placed = place(drawing, notes, [], drawing.box)
    for i, a in enumerate(placed):
        assert all(not meet(a.box, b.box) for b in placed[:i])
        assert distance(*a.leader) < 1.5


def test_hulls_and_cuts() -> None:
    square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
    assert hull([*square, (0.5, 0.5), (0.5, 0.0)]) == square
    part = clipped((-1.0, 0.5), (3.0, 0.5), ((0.0, 0.0), (1.0, 1.0)))
    assert part == ((0.0, 0.5), (1.0, 0.5))
    assert clipped((-1.0, 2.0), (3.0, 2.0), ((0.0, 0.0), (1.0, 1.0))) is None


def test_a_light_is_drawn_at_its_size() -> None:
    """From above an upright cylinder is a circle: its outline is as wide as it is, wherever it is aimed."""
    scene = loads(DRUM.format(drop=0.1))
    outline = PLAN.outline_of(part.shape for part in units_of(scene)[0].parts)
    assert max(x for x, _ in outline) - min(x for x, _ in outline) == pytest.approx(0.6, rel=1e-3)
    assert all(distance(point, (0.0, -1.0)) == pytest.approx(0.3, rel=1e-6) for point in outline)


def test_a_boom_is_as_long_as_it_is_written() -> None:
    import brief_lab

    scene = loads(brief_lab.SCENE)
    key, edge = masts(scene, units_of(scene))
    x, y, _ = key.unit.centre or (0.0, 0.0, 0.0)
    assert math.hypot(key.x - x, key.y - y) == pytest.approx(1.0)
    heavy = key.counterweight_at or (0.0, 0.0)
    assert math.hypot(heavy[0] - key.x, heavy[1] - key.y) == pytest.approx(0.5)
    assert math.hypot(heavy[0] - x, heavy[1] - y) == pytest.approx(1.5)  # one line
    assert key.proposed and key.fits and not edge.proposed
    low, high = scene.room.lower, scene.room.upper  # type: ignore[union-attr]
    assert low[0] + 0.45 <= key.x <= high[0] - 0.45 and low[1] + 0.45 <= key.y <= high[1] - 0.45


def test_a_crowded_plan_has_numbers_alone() -> None:
    """Labels of thirty lamps would hide sitter and camera: what they say is in the schedule."""
    lamp = '[light.l{0}]\nsource = "bulb"\nat = [{1}, 2.0, 2.2]\ndiameter = 0.1\nlumens = 100\n'
    for count, named in ((CROWDED, True), (CROWDED + 1, False)):
        text = "".join(lamp.format(k, round(0.2 * k - 1.6, 2)) for k in range(count))
        scene = loads(text)
        drawn = plan(scene, units_of(scene), (), (), (180.0, 250.0))
        words = [item.text for item in drawn.items if isinstance(item, Words)]
        assert str(count) in words and ("l0" in words) is named
