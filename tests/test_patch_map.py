"""The picture of patches on pictures whose answer is known, and the magnified window against projection."""

from __future__ import annotations

import math

import numpy as np
import pytest
from face_lab import head
from PIL import Image

from renderer.picture import patch_map as module
from renderer.picture.labels import Label, place_labels
from renderer.picture.legend import Exposure
from renderer.picture.patch_map import patch_map, patches_seen, rounded
from renderer.world.material import MIDDLE, PATCHES, patch_name, sided
from renderer.world.window import ABOUT_EYES, MAGNIFIED, WIDEST, eye_window, window

GREY = 9.0


def two_discs(size: int = 400) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Patch numbers and luminance: a disc of patch 3 at grey, one of -3 two stops under, a speck of 5."""
    y, x = np.mgrid[0:size, 0:size]
    patches = np.zeros((size, size), np.int32)
    patches[np.hypot(x - 120, y - 150) < 60] = 3
    patches[np.hypot(x - 290, y - 150) < 50] = -3
    patches[300:303, 300:303] = 5
    luminance = np.where(patches == -3, GREY / 4.0, GREY)
    picture = np.full((size, size, 3), 150, np.uint8)
    return patches, luminance, picture


def test_patches_and_their_levels() -> None:
    patches, luminance, _ = two_discs()
    left, right = sorted(patches_seen(patches, luminance), key=lambda patch: -patch.number)
    assert (left.number, right.number) == (3, -3)  # the speck is too small to say anything
    assert left.luminance == pytest.approx(GREY) and right.luminance == pytest.approx(GREY / 4.0)
    assert left.pixels == pytest.approx(math.pi * 60**2, rel=0.01)


def test_numbers_stand_in_their_patches(monkeypatch: pytest.MonkeyPatch) -> None:
    written: list[Label] = []

    def keep(*args: object, **more: object) -> list[Label]:
        written.extend(place_labels(*args, **more))  # type: ignore[arg-type]
        return written

    monkeypatch.setattr(module, "place_labels", keep)
    patches, luminance, picture = two_discs()
    sheet = patch_map(picture, patches, luminance, GREY, str, noise=0.1, legend="none")
    assert sorted(label.text for label in written) == ["0.0", "\u22122.0"]
    for label in written:
        box = patches[label.top : label.bottom + 1, label.left : label.right + 1]
        assert (box == (3 if label.text == "0.0" else -3)).all()
    assert sheet.shape == picture.shape
    changed = (sheet != picture).any(axis=2)
    assert not changed[:80].any() and not changed[310:].any()  # nothing is drawn away from the discs
    for turn in np.arange(0.0, 2.0 * math.pi, 0.02):  # the outline is closed
        away = 60.0 + np.arange(-3.0, 3.1, 0.5)
        x, y = 120.0 + away * math.cos(turn), 150.0 + away * math.sin(turn)
        assert changed[y.round().astype(int), x.round().astype(int)].any()


def test_legend_stands_beside() -> None:
    patches, luminance, picture = two_discs()
    sheet = patch_map(picture, patches, luminance, GREY, str, noise=0.1, exposure=Exposure(4.0, 800, 0.02))
    assert sheet.shape[1] > picture.shape[1] and Image.fromarray(sheet).mode == "RGB"


def test_rounding_keeps_size_and_takes_off_teeth() -> None:
    patches, _, _ = two_discs()
    ragged = patches.copy()
    ragged[::2, 118:122][patches[::2, 118:122] == 0] = 3  # teeth
    smooth = rounded(ragged, 3)
    assert (smooth == 3).sum() == pytest.approx((patches == 3).sum(), rel=0.02)
    teeth = ((ragged == 3) & (patches == 0)).sum()
    assert teeth > 300 and ((smooth == 3) & (patches == 0)).sum() < 0.1 * teeth
    assert not (smooth == 5).any()


def test_sides() -> None:
    malar, tip = PATCHES.index("malar"), PATCHES.index("nose_tip")
    numbers = sided(np.array([malar, malar, tip, tip, 0]), np.array([0.03, -0.03, 0.01, -0.01, -0.1]))
    assert numbers.tolist() == [malar, -malar, tip, tip, 0]
    assert patch_name(malar) == "malar, sitter's left" and patch_name(-malar) == "malar, sitter's right"
    assert patch_name(tip) == "nose tip"
    assert set(MIDDLE) <= set(PATCHES)


def ray(camera: np.ndarray, x: float, y: float) -> np.ndarray:
    """Unit direction through a point of the picture, in pixels from its upper left corner."""
    it = camera[0]
    way = (
        it["forward"]
        + (x - 0.5 * it["width"]) * it["step_right"]
        + (y - 0.5 * it["height"]) * it["step_down"]
    )
    return np.asarray(way / np.linalg.norm(way))


def test_window_sees_what_the_picture_sees() -> None:
    camera = head().camera
    part = window(camera, (100.0, 80.0, 220.0, 140.0), 4.0)
    assert (part[0]["width"], part[0]["height"]) == (480, 240)
    for x, y in ((100.0, 80.0), (220.0, 140.0), (131.5, 97.25)):
        assert ray(part, 4 * (x - 100), 4 * (y - 80)) == pytest.approx(ray(camera, x, y), abs=1e-12)


def test_eye_window_holds_both_eyes_at_four_times_the_size() -> None:
    world = head()
    part = eye_window(world)
    assert part is not None
    step = np.linalg.norm(world.camera[0]["step_right"]) / np.linalg.norm(part[0]["step_right"])
    assert step == pytest.approx(MAGNIFIED) or part[0]["width"] == pytest.approx(WIDEST, abs=1)
    for side, sign in (("l", 1), ("r", -1)):
        way = world.landmarks[f"pupil_{side}"].position - part[0]["at"]
        forward = part[0]["forward"]
        # solve way = t (forward + a step_right + b step_down)
        a, b, t = np.linalg.solve(np.stack([part[0]["step_right"], part[0]["step_down"], -way], 1), -forward)
        assert t > 0.0
        scale = np.linalg.norm(part[0]["step_right"]) * float(way @ forward) / float(forward @ forward)
        edge = sign * 0.5 * part[0]["width"] - a
        assert abs(edge) * scale == pytest.approx(ABOUT_EYES[0], rel=0.02)
        assert abs(b) < 0.1 * part[0]["height"]
