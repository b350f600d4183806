"""Keys of a scene set anew: the same scene as if it had been written so, or one clear line."""

from __future__ import annotations

import pytest

from renderer import assets
from renderer.errors import InputError
from renderer.scene.change import changed, keys_of, value_at
from renderer.scene.load import load, loads
from renderer.scene.models import Scene

PLAIN = """
[camera]
[light.key]
source = "disc"
purpose = "key"
at = [1.0, 1.0, 1.8]
diameter = 0.6
lumens = 1000
"""


def default() -> Scene:
    return load(assets.default_scene())


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("light.key.around.height", 2.0),
        ("light.key.dim", 0.5),
        ("light.key.skirt[1].covers", [80, 280]),
        ("sitter.eye_height", 1.25),
        ("room.reflectance.ceiling", 0.3),
        ("target.lighting_ratio", 4),
    ],
)
def test_a_key_is_set_and_nothing_else(path: str, value: object) -> None:
    before = default()
    after = changed(before, {path: value})
    assert after != before
    here = value_at(before, path)
    if here is not None:
        back = changed(after, {path: here})
        assert back.model_dump(mode="json") == before.model_dump(mode="json")


def test_a_coordinate_is_named_by_its_axis() -> None:
    after = changed(default(), {"light.lamp.at.z": 1.4, "light.lamp.at[1]": -0.3})
    assert after.light["lamp"].at == (-0.3, -1.25, 1.4)


def test_what_was_left_to_be_worked_out_follows() -> None:
    low, high = (changed(loads(PLAIN), {"sitter.eye_height": h}) for h in (1.1, 1.5))
    assert high.camera.at[2] - low.camera.at[2] == pytest.approx(0.4)
    # A camera that was written stays where it was put.
    assert changed(default(), {"sitter.eye_height": 1.3}).camera.at == default().camera.at


@pytest.mark.parametrize(
    ("path", "value", "line"),
    [
        ("light.kye.dim", 0.5, 'light.kye.dim: light has no "kye"; did you mean "key"?'),
        ("lihgt.key.dim", 0.5, 'lihgt.key.dim: the scene has no "lihgt"; did you mean "light"?'),
        ("light.key.around.hieght", 2.0, "did you mean"),
        ("light.key.around.height", 9.0, "light.key.around.height = 9.0"),
        ("light.lamp.at.w", 1.0, 'light.lamp.at.w: light.lamp.at has no "w"; expected x, y, z'),
        ("light.key.skirt[2].covers", 1.0, "light.key.skirt has no [2]; expected [1] to [1]"),
        ("light.key.dim.more", 1.0, 'light.key.dim is a value and holds no "more"'),
        ("light..dim", 1.0, "expected keys of the scene with points between"),
        ("light.key.dim", "much", "light.key.dim"),
    ],
)
def test_a_fault_is_one_line(path: str, value: object, line: str) -> None:
    with pytest.raises(InputError) as caught:
        changed(default(), {path: value})
    assert len(caught.value.lines) == 1
    assert line in caught.value.lines[0]


def test_keys_are_read_as_they_are_shown() -> None:
    assert keys_of("light.key.skirt[1].covers[2]") == ("light", "key", "skirt", 0, "covers", 1)


def test_a_head_is_packed_once_for_many_places_of_a_light() -> None:
    from renderer.world.build import build

    first = build(default())
    second = build(changed(default(), {"light.key.around.height": 1.9}))
    assert second.packed.mesh is first.packed.mesh
    third = build(changed(default(), {"sitter.head_yaw": 9}))
    assert third.packed.mesh is not first.packed.mesh
