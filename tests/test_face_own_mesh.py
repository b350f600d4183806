"""A person's own mesh has no patches and few landmarks or none: what is measured then, and what is said."""

from __future__ import annotations

from pathlib import Path

import pytest
from face_lab import THREADS
from test_own_mesh import LANDMARKS, SCENE, egg

from renderer.meter.face import measure
from renderer.scene.load import loads
from renderer.world.build import build


@pytest.mark.parametrize("landmarks", ["", LANDMARKS], ids=["no landmarks", "four landmarks"])
def test_says_what_cannot_be_given(tmp_path: Path, landmarks: str) -> None:
    egg().export(tmp_path / "egg.ply")
    text = (
        SCENE.replace("1.6]", "1.9]") + f'mesh = "{tmp_path / "egg.ply"}"\nmesh_scale = 0.001\n' + landmarks
    )
    found = measure(build(loads(text)), THREADS)
    assert found is not None
    pattern = found.findings["pattern"]
    assert pattern.value == "loop" and "by angle alone" in pattern.why
    assert found.findings["angular_size.key"].number > 1.0
    assert found.findings["key_from_camera"].value == "camera_right"
    (line,) = [line for line in found.missing if "eye_shade" in line]
    assert "the mesh has no landmark" in line and "catchlights" in line
    assert not any(name.startswith(("eye_shade", "nose_shadow", "edge")) for name in found.findings)
    assert found.lines()


def test_nobody_in_the_chair() -> None:
    text = SCENE.replace("[sitter]", '[sitter]\nmesh = "none"')
    assert measure(build(loads(text)), THREADS) is None
