"""Spectacles on the heads: on the nose, at the ears, cutting nothing; what they show; clear faults."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from glare_lab import reflected

from renderer import assets
from renderer.errors import InputError
from renderer.film.pool import Pool
from renderer.meter.face import measure
from renderer.meter.face.surface import Head
from renderer.scene.caution import cautions
from renderer.scene.change import changed
from renderer.scene.load import loads
from renderer.scene.models import Scene
from renderer.scene.sitter import BUNDLED
from renderer.scene.summary import summary
from renderer.solve.exactness.swap import glare_words, others
from renderer.world.build import World, build
from renderer.world.material import FRAME, PATCHES, SKIN
from renderer.world.ply import read_ply
from renderer.world.template import bundled_landmarks

TEXT = """
[sitter]
eye_height = 1.2
[sitter.glasses]
MORE
[camera]
at = [0.0, 2.0, 1.2]
[light.key]
source = "disc"
around = { azimuth = AZIMUTH, elevation = ELEVATION, radius = 1.3 }
diameter = 0.6
lux_at_1m = 300
"""


def scene(more: str = "", azimuth: float = 50.0, elevation: float = 32.0) -> Scene:
    return loads(
        TEXT.replace("MORE", more).replace("AZIMUTH", str(azimuth)).replace("ELEVATION", str(elevation))
    )


@cache
def worn(head: str) -> World:
    return build(changed(scene(), {"sitter.mesh": head}))


@pytest.mark.parametrize("head", BUNDLED)
def test_the_frame_cuts_no_skin(head: str) -> None:
    """No point of the frame lies inside the head: along the nose's axis the rims and the bridge stand before
    all skin about them, and nowhere else is skin within the lens."""
    world = worn(head)
    frame = Head.of(world)
    mesh = world.sitter.triangles
    points = frame.from_world(mesh.vertices)
    skin = points[np.unique(mesh.faces[mesh.materials == SKIN])]
    rims = points[np.unique(mesh.faces[mesh.materials == FRAME])]
    front = rims[(rims[:, 0] > 0.0) & (np.abs(rims[:, 1]) < 0.055)]
    for at in front[::5]:
        near = skin[(np.hypot(skin[:, 1] - at[1], skin[:, 2] - at[2]) < 0.001)]
        assert len(near) == 0 or near[:, 0].max() < at[0] + 0.0015


@pytest.mark.parametrize("head", BUNDLED)
def test_bridge_on_the_nose_and_temples_at_the_ears(head: str) -> None:
    """The bridge or a rim touches the nose (within 3 mm), temples come to the ear's front edge and beyond."""
    world = worn(head)
    frame = Head.of(world)
    mesh = world.sitter.triangles
    points = frame.from_world(mesh.vertices)
    skin = points[np.unique(mesh.faces[mesh.materials == SKIN])]
    rims = points[np.unique(mesh.faces[mesh.materials == FRAME])]
    bridge = rims[(np.abs(rims[:, 1]) < 0.013) & (rims[:, 0] > 0.0)]
    nose = skin[(np.abs(skin[:, 1]) < 0.02) & (skin[:, 2] > -0.03) & (skin[:, 2] < 0.02) & (skin[:, 0] > 0.0)]
    gap = np.sqrt(((bridge[:, None] - nose[None]) ** 2).sum(axis=2).min())
    assert gap < 0.003
    ear = points[: len(world.sitter.patches)][world.sitter.patches == PATCHES.index("ear")]
    for side in (1.0, -1.0):
        own = ear[side * ear[:, 1] > 0.0]
        temple = rims[side * rims[:, 1] > 0.0]
        assert temple[:, 0].min() < own[:, 0].max() - 0.01  # behind the ear's front
        at_ear = temple[np.abs(temple[:, 0] - own[:, 0].max()) < 0.006]
        assert own[:, 2].max() - 0.02 < at_ear[:, 2].mean() < own[:, 2].max() + 0.005  # over it


def test_taken_off_nothing_of_them_is_left() -> None:
    world = worn("head")
    bare = world.bare_faced
    assert len(world.packed.lenses) == 2 and len(bare.packed.lenses) == 0
    assert FRAME in world.sitter.triangles.materials and FRAME not in bare.sitter.triangles.materials
    assert bare.bare_faced is bare


def faulty(more: str) -> str:
    with pytest.raises(InputError) as caught:
        build(scene(more))
    assert len(caught.value.lines) == 1
    return caught.value.lines[0]


def test_faults_are_one_clear_line() -> None:
    assert "did you mean 0.05?" in faulty("lens_width = 50")
    assert 'did you mean "uncoated"?' in faulty('lens_reflectance = "uncoted"')
    assert "do not fit into a bridge" in faulty("rim = 0.011")
    line = faulty("vertex_distance = 0.008")
    assert line.startswith("sitter.glasses.vertex_distance") and "expected at least 0.0" in line
    with pytest.raises(InputError, match="nobody is there to wear them"):
        changed(scene(), {"sitter.mesh": "none"})


def test_a_mesh_without_landmarks_cannot_wear_them(tmp_path) -> None:
    import trimesh

    trimesh.creation.icosphere(3, 0.1).export(tmp_path / "ball.ply")
    with pytest.raises(InputError, match="has no landmarks") as caught:
        build(changed(scene(), {"sitter.mesh": str(tmp_path / "ball.ply")}))
    assert len(caught.value.lines) == 1


def test_a_mesh_with_landmarks_wears_them(tmp_path) -> None:
    """The bundled head as a file of its own, in other units and axes: lenses stand as on that head."""
    import trimesh

    head, faces = read_ply(assets.folder("meshes") / "head.ply")
    points = 1000.0 * np.stack([head[axis] for axis in ("y", "z", "x")], axis=1).astype(float)
    trimesh.Trimesh(points, faces, process=False).export(tmp_path / "own.obj")
    marks = bundled_landmarks()
    names = {"sitter_left_pupil": "pupil_l", "sitter_right_pupil": "pupil_r"}
    names |= {"nose_tip": "pronasale", "chin": "menton"}
    own = {key: [float(1000.0 * marks[name][0][k]) for k in (1, 2, 0)] for key, name in names.items()}
    changes = {"sitter.mesh": str(tmp_path / "own.obj"), "sitter.mesh_scale": 0.001, "sitter.landmarks": own}
    world = build(changed(scene(), changes))
    assert np.abs(world.packed.lenses["centre"] - worn("head").packed.lenses["centre"]).max() < 0.002
    with Pool(2) as pool:
        found = measure(world, pool).findings
    assert found["glare_lens.sitter_left"].number == 0.0 and "glare_eye.sitter_left" not in found


def test_check_names_them_and_warns_of_the_key_in_them() -> None:
    """It warns where reflection at the lens says that the key shows, and only there."""
    assert any("spectacles: lenses 50 x 36 mm" in line for line in _unwrapped(summary(scene())))
    for azimuth, elevation in ((50.0, 32.0), (15.0, 10.0), (0.0, 25.0), (0.0, 0.0)):
        shown = reflected(azimuth, elevation, most=0.0)
        level = len(shown) > 0 and bool((shown == 0.0).all(axis=1).any())
        warned = any("shows in the spectacles" in line for line in cautions(scene("", azimuth, elevation)))
        assert warned == level, (azimuth, elevation)


def _unwrapped(lines) -> list[str]:
    return [" ".join(" ".join(lines).split())]


@cache
def measured(azimuth: float, elevation: float, more: str = "") -> dict:
    with Pool(2) as pool:
        return measure(build(scene(more, azimuth, elevation)), pool).findings


@pytest.mark.parametrize(("azimuth", "elevation"), [(20.0, 10.0), (10.0, 4.0)])
def test_where_the_key_shows_is_by_the_law_of_reflection(azimuth: float, elevation: float) -> None:
    """Poses in which rimless lenses show the key, of 21 x 21, against those by reflection at two spheres; the
    lenses stand some millimetres elsewhere, so a step more or less along the edge."""
    found = measured(azimuth, elevation, 'rim = 0\nshape = "square"')
    told = found["glare_margin"].parts["corners"]["key"]
    shown = reflected(azimuth, elevation, corner=6.0)
    assert told["pitch"] == pytest.approx([shown[:, 0].min(), shown[:, 0].max()], abs=1.0)
    assert told["yaw"] == pytest.approx([shown[:, 1].min(), shown[:, 1].max()], abs=1.5)


def test_glare_is_named_and_as_bright_as_the_plate_makes_it() -> None:
    found = measured(0.0, 0.0)
    assert found["glare_pupil.sitter_left"].number > 0.0
    assert found["glare_pupil.sitter_left"].why.startswith("key")
    assert found["glare_margin"].number < 0.0 and "key shows as the head is" in found["glare_margin"].why
    clear = measured(50.0, 32.0)
    assert clear["glare_pupil.sitter_left"].number == 0.0 and clear["glare_margin"].number > 5.0
    assert "glare_level" not in clear
    coated = measured(0.0, 0.0, 'lens_reflectance = "coated"')
    stops = found["glare_level"].number - coated["glare_level"].number
    plates = [2.0 * r / (1.0 + r) for r in (0.04, 0.005)]
    behind = [(1.0 - it) ** 2 for it in plates]  # the eye is lit and seen through the lens
    assert stops == pytest.approx(np.log2(plates[0] / plates[1] * behind[1] / behind[0]), abs=0.15)


def test_they_are_among_the_sitters_to_come() -> None:
    names = [who for who, _ in others(scene())]
    assert "spectacles off" in names
    bare = changed(scene(), {"sitter.glasses": None})
    made = dict(others(bare))["spectacles on"]()
    assert made.sitter.glasses is not None
    assert glare_words(measured(0.0, 0.0)).startswith("glare on a pupil: key")
    assert "degrees to it" in glare_words(measured(50.0, 32.0))
    assert glare_words({}) == ""
