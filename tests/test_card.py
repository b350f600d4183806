"""A real graphics card: the film, the readings and the measures are those of the processor.

Skipped where there is none; `tests/test_plain_kernels.py` has the same kernels on a simulated one.
"""

from __future__ import annotations

import numpy as np
import pytest
from small_scene import small

from renderer import assets
from renderer.film.device import card_lacks
from renderer.live import Live
from renderer.preview import Preview
from renderer.scene.change import changed
from renderer.scene.load import load

pytestmark = [pytest.mark.slow, pytest.mark.skipif(bool(card_lacks()), reason="no graphics card with CUDA")]
EXACT = 1e-4  # what single-precision sums in another order leave


def test_the_same_film_and_the_same_readings(monkeypatch: pytest.MonkeyPatch) -> None:
    """Same seed, same samples; those of a meter are shared out among threads of the card."""
    from renderer.film.card import CardPool

    monkeypatch.setattr(CardPool, "first_samples", 1)
    scene = small((48, 48))
    card, own = (scene.film(within=100.0, seed=3, on=on) for on in ("gpu", "cpu"))
    assert (card.probe_counts == own.probe_counts).all()
    assert (card.pixels.samples == own.pixels.samples).all()
    assert (card.pixels.seen["family"] == own.pixels.seen["family"]).all()
    for a, b in ((card.probe_sums, own.probe_sums), (card.pixels.radiance, own.pixels.radiance)):
        np.testing.assert_allclose(a, b, rtol=EXACT, atol=EXACT * float(b.max()))


def test_the_same_numbers_of_a_scene() -> None:
    """Every reading and measure of the default scene agrees, to less than its own error."""
    scene = load(assets.default_scene())
    card, own = (
        Preview.trace(scene, within=0.05, picture=False, seed=4, on=on).numbers().named()
        for on in ("gpu", "cpu")
    )
    assert card.keys() == own.keys()
    for name, found in own.items():
        other = card[name]
        if isinstance(found.value, str) or isinstance(other.value, str):
            assert found.value == other.value, name
        else:
            np.testing.assert_allclose(
                other.value, found.value, rtol=1e-3, atol=found.error + 1e-6, err_msg=name
            )


def test_the_same_pictures_while_a_light_moves() -> None:
    """But for pixels whose light lies at the edge of a code."""
    scene = changed(load(assets.default_scene()), {"camera.picture": [240, 300]})
    scenes = [changed(scene, {"light.key.around.azimuth": azimuth}) for azimuth in (40.0, 50.0, 70.0)]
    shown = []
    for on in ("gpu", "cpu"):
        with Live(on) as live:
            shown.append([live.show(it).picture.astype(int) for it in scenes])
    for card, own in zip(*shown, strict=True):
        assert np.abs(card - own).max() <= 2
        assert (card != own).mean() < 1e-3
