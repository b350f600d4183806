"""A person's own mesh, without landmarks and with four: what is measured then, and what is said."""

from __future__ import annotations

from pathlib import Path

from face_lab import THREADS
from test_own_mesh import LANDMARKS, SCENE, egg

from renderer.meter.face import measure
from renderer.scene.load import loads
from renderer.world.build import build


def with_egg(tmp_path: Path, more: str = "") -> str:
    egg().export(tmp_path / "egg.ply")
    mesh = f'mesh = "{tmp_path / "egg.ply"}"\nmesh_scale = 0.001\n'
    return SCENE.replace("1.6]", "1.9]") + mesh + more


def test_says_what_cannot_be_given(tmp_path: Path) -> None:
    found = measure(build(loads(with_egg(tmp_path))), THREADS)
    assert found is not None
    pattern = found.findings["pattern"]
    assert pattern.value == "loop" and "by angle alone" in pattern.why
    assert found.findings["angular_size.key"].number > 1.0
    assert found.findings["key_from_camera"].value == "camera_right"
    (line,) = [line for line in found.missing if "eye_shade" in line]
    assert "the mesh has no landmark" in line and "catchlights" in line
    assert not any(name.startswith(("eye_shade", "nose_shadow", "edge")) for name in found.findings)
    assert found.lines()


def test_four_landmarks_give_the_rest(tmp_path: Path) -> None:
    """All but what needs eyes; an egg has no nose, and its pattern is none."""
    found = measure(build(loads(with_egg(tmp_path, LANDMARKS))), THREADS)
    assert found is not None
    assert found.findings["pattern"].value == "mixed"
    assert {"evenness", "forehead", "under_chin", "highest_ratio"} <= found.findings.keys()
    assert any("no eye_l, eye_r seen from ahead" in line for line in found.missing)
    assert any(line.startswith("catchlights: the mesh has no corneas") for line in found.missing)


def test_nobody_in_the_chair() -> None:
    text = SCENE.replace("[sitter]", '[sitter]\nmesh = "none"')
    assert measure(build(loads(text)), THREADS) is None
