"""A scene and its mirror image: every measure must be mirrored too."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from face_lab import THREADS

from renderer.meter.face import FaceMeasures, Finding, measure
from renderer.scene.load import loads
from renderer.world.build import build

SCENE = """
[room]
width = 4.0
depth = 4.0
height = 2.5
back_wall = 1.5
[room.reflectance]
floor = 0.2
ceiling = 0.7
back = 0.5
front = 0.5
camera_left = {left}
camera_right = {right}
[sitter]
head_yaw = {yaw}
[light.key]
source = "disc"
around = {{ azimuth = {azimuth}, distance = 1.2, height = 1.9 }}
diameter = 0.6
lumens = 1000
[light.edge]
source = "panel"
purpose = "edge"
around = {{ azimuth = {back}, distance = 1.2, height = 1.9 }}
width = 0.2
height = 0.4
lumens = 400
"""
SWAP = {"left": "right", "right": "left"}


def scene(sign: int) -> str:
    left, right = (0.3, 0.7) if sign > 0 else (0.7, 0.3)
    return SCENE.format(left=left, right=right, yaw=12 * sign, azimuth=42 * sign, back=-140 * sign)


@cache
def both() -> tuple[FaceMeasures, FaceMeasures]:
    found = [measure(build(loads(scene(sign))), THREADS, seed=4) for sign in (1, -1)]
    assert found[0] is not None and found[1] is not None
    return found[0], found[1]


def mirrored(name: str) -> str:
    return name.replace("left", "#").replace("right", "left").replace("#", "right")


def as_in_a_mirror(finding: Finding) -> Finding:
    if isinstance(finding.value, str):
        return replace(finding, value=mirrored(finding.value))
    if finding.unit == "h":
        return replace(finding, value=(12.0 - finding.value) % 12.0)
    if finding.meaning.endswith("positive to the sitter's left"):
        return replace(finding, value=-finding.value)
    return finding


@pytest.mark.parametrize("name", sorted(both()[0].findings))
def test_mirror(name: str) -> None:
    """Within four errors of either; the mesh itself is even to 0.2 mm (`test_head_mesh.py`)."""
    first, second = both()
    here, there = first.findings[name], as_in_a_mirror(second.findings[mirrored(name)])
    if isinstance(here.value, str) or isinstance(there.value, str):
        assert here.value == there.value
        return
    if here.value == there.value:  # also where both are infinite
        return
    gap = abs(here.value - there.value)
    gap = min(gap, 12.0 - gap) if here.unit == "h" else gap
    assert gap <= 4.0 * (here.error**2 + there.error**2) ** 0.5 + 1e-9


def test_nothing_is_missing_on_one_side_only() -> None:
    first, second = both()
    assert {mirrored(name) for name in first.findings} == set(second.findings)
    assert [line.split(" (")[0] for line in first.missing] == [line.split(" (")[0] for line in second.missing]
