"""A person's own mesh: every format that is promised, placed by landmarks, and refused in one clear line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from renderer.errors import InputError
from renderer.scene.load import loads
from renderer.scene.sitter import BUNDLED
from renderer.world.sitter import sitter_mesh

SCENE = """
[light.key]
source = "bulb"
diameter = 0.1
lumens = 500
at = [0.5, 1.0, 1.6]
[sitter]
eye_height = 1.3
"""
LANDMARKS = """
[sitter.landmarks]
sitter_left_pupil = [30, 20, 80]
sitter_right_pupil = [-30, 20, 80]
nose_tip = [0, -15, 115]
chin = [0, -90, 85]
"""


def egg() -> trimesh.Trimesh:
    """An egg in millimetres with +y up, +z out of the face and +x to the sitter's left, as modellers use."""
    mesh = trimesh.creation.icosphere(subdivisions=3, radius=100.0)
    mesh.vertices = mesh.vertices * [0.75, 1.1, 0.95]
    return mesh


def scene_with(mesh: Path, more: str = "") -> str:
    return SCENE + f'mesh = "{mesh}"\n' + more


@pytest.mark.parametrize("ending", ["obj", "ply", "stl", "glb"])
def test_formats_and_landmarks(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"egg.{ending}"
    egg().export(path)
    found = sitter_mesh(loads(scene_with(path, "mesh_scale = 0.001\n" + LANDMARKS), "s.toml"))
    assert found is not None
    mesh = found.triangles
    # the midpoint of the pupils (0, 20, 80) mm comes to (0, 0, 1.3) m; the sitter faces +y, left is +x
    nose = found.landmarks["pronasale"].position
    chin = found.landmarks["menton"].position
    left = found.landmarks["pupil_l"].position
    np.testing.assert_allclose(left, [0.03, 0.0, 1.3], atol=1e-9)
    assert nose[1] > 0.03 and nose[2] < 1.3 and chin[2] < nose[2]
    assert np.ptp(mesh.vertices[:, 0]) == pytest.approx(0.15, rel=0.01)
    # outward in the world: the signed volume is taken with the world's own handedness (it is mirrored)
    a, b, c = (mesh.vertices[mesh.faces[:, k]] for k in range(3))
    assert np.einsum("ij,ij->i", a, np.cross(b, c)).sum() > 0.0
    middle = mesh.vertices.mean(axis=0)
    outward = np.einsum("ij,ij->i", mesh.normals, mesh.vertices - middle)
    assert (outward > 0.0).all()


def test_a_mesh_turned_inside_out_is_turned_back(tmp_path: Path) -> None:
    mesh = egg()
    mesh.invert()
    path = tmp_path / "egg.ply"
    mesh.export(path)
    found = sitter_mesh(loads(scene_with(path, "mesh_scale = 0.001\n"), "s.toml"))
    assert found is not None
    vertices = found.triangles.vertices
    outward = np.einsum("ij,ij->i", found.triangles.normals, vertices - vertices.mean(axis=0))
    assert (outward > 0.0).all()


def broken(tmp_path: Path, content: bytes, name: str = "bad.ply", more: str = "mesh_scale = 0.001\n") -> str:
    """The one line that a mesh file is refused with."""
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        sitter_mesh(loads(scene_with(path, more), "s.toml"))
    assert len(caught.value.lines) == 1
    assert "\n" not in caught.value.lines[0]
    return caught.value.lines[0]


OBJ_NAN = b"v 0 0 0\nv 1 0 0\nv 0 nan 0\nf 1 2 3\n"
OBJ_SMALL = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"
OBJ_HUGE = b"v 0 0 0\nv 1e300 0 0\nv 0 -1e300 0\nf 1 2 3\n"
OBJ_POINT = b"v 1 1 1\nv 1 1 1\nv 1 1 1\nf 1 2 3\n"


def test_refusals(tmp_path: Path) -> None:
    unreadable = (
        "cannot be read as a mesh (unknown or broken format); expected a whole .obj, .ply, .stl, .glb file"
    )
    assert broken(tmp_path, b"ply\nformat ascii 1.0\nelement ver").endswith(f"bad.ply {unreadable}")
    assert broken(tmp_path, b"v a b c\nf x y z\n", "words.obj").endswith(f"words.obj {unreadable}")
    assert broken(tmp_path, b"", "empty.glb").endswith(f"empty.glb {unreadable}")
    assert "1e+300; expected at most 1e+09 units" in broken(tmp_path, OBJ_HUGE, "huge.obj")
    assert "is 0 units of the file large" in broken(tmp_path, OBJ_POINT, "point.obj")
    assert "bad.stl" in broken(tmp_path, b"\x00\x01garbage", "bad.stl")
    assert "bad.glb" in broken(tmp_path, b"glTF no", "bad.glb")
    assert "no triangles" in broken(tmp_path, b"v 0 0 0\nv 1 0 0\n", "bad.obj")
    assert "not a finite point" in broken(tmp_path, OBJ_NAN, "nan.obj")


def test_size_names_the_likely_scale(tmp_path: Path) -> None:
    path = tmp_path / "egg.ply"
    egg().export(path)  # millimetres read as metres
    with pytest.raises(InputError, match=r"220 metres large with a scale of 1; .* did you mean 0\.001\?"):
        sitter_mesh(loads(scene_with(path), "s.toml"))


def test_exchanged_pupils_are_noticed(tmp_path: Path) -> None:
    path = tmp_path / "egg.ply"
    egg().export(path)
    swapped = LANDMARKS.replace("left", "x").replace("right", "left").replace("x_", "right_")
    with pytest.raises(InputError, match="are sitter_left_pupil and sitter_right_pupil exchanged"):
        sitter_mesh(loads(scene_with(path, "mesh_scale = 0.001\n" + swapped), "s.toml"))


@pytest.mark.parametrize("name", BUNDLED)
def test_bundled_sitters_stand_where_the_scene_says(name: str) -> None:
    found = sitter_mesh(loads(SCENE + f'head_yaw = 90\nmesh = "{name}"\n', "s.toml"))
    assert found is not None
    eyes = 0.5 * (found.landmarks["pupil_l"].position + found.landmarks["pupil_r"].position)
    np.testing.assert_allclose(eyes[:1], [0.0], atol=2e-3)
    assert eyes[2] == pytest.approx(1.3, abs=2e-3)
    nose = found.landmarks["pronasale"].position
    assert nose[0] > 0.02 and abs(nose[1]) < 1e-6  # yaw 90 turns the nose to camera right
    assert (found.triangles.materials < len(found.triangles.palette)).all()


SIDE = LANDMARKS.strip().removeprefix("[sitter.landmarks]\n") + "\n"


@pytest.mark.parametrize("start", ["", "\ufeff"])
def test_landmarks_beside_the_mesh(tmp_path: Path, start: str) -> None:
    """The same as in the scene; TOML is UTF-8, and a byte order mark before it is no fault."""
    path = tmp_path / "egg.obj"
    egg().export(path)
    (tmp_path / "egg.landmarks.toml").write_text(start + SIDE, encoding="utf-8")
    found = sitter_mesh(loads(scene_with(path, "mesh_scale = 0.001\n"), "s.toml"))
    assert found is not None
    np.testing.assert_allclose(found.landmarks["pupil_l"].position, [0.03, 0.0, 1.3], atol=1e-9)


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (
            SIDE.replace("nose_tip", "nose_tp"),
            ':3: unknown key "nose_tp"; did you mean "nose_tip"?; expected',
        ),
        (SIDE + "ear = [1, 2, 3]\n", ':5: unknown key "ear"; expected sitter_left_pupil'),
        (SIDE + "chin = [0, -90, 85]\n", ":5: chin is given twice; it is on line 4 already"),
        (SIDE.replace("[0, -15, 115]", "[0 -15]"), ":3: not valid TOML: unclosed array at column 15"),
        (SIDE + "more = [\n", ":5: not valid TOML at the end of the file"),
        (SIDE.replace("[0, -15, 115]", '"x"'), ":3: nose_tip: expected a point [x, y, z]"),
        (SIDE.replace("nose_tip = [0, -15, 115]\n", ""), ": nose_tip is missing; expected"),
        (SIDE.replace("[0, -15, 115]", "[0, -90, 85]"), ": two landmarks are the same point"),
        ("a = " + "[" * 20_000, ": lists are nested too deeply"),
        ("a = " + "1" * 5_000, ": a number in it has thousands of digits"),
        (b"\xff\x00", ": is no UTF-8 text"),
    ],
)
def test_faults_beside_the_mesh(tmp_path: Path, content: str | bytes, line: str) -> None:
    path, side = tmp_path / "egg.obj", tmp_path / "egg.landmarks.toml"
    egg().export(path)
    side.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(InputError) as caught:
        sitter_mesh(loads(scene_with(path, "mesh_scale = 0.001\n"), "s.toml"))
    assert len(caught.value.lines) == 1 and caught.value.lines[0].startswith(f"{side}{line}")
