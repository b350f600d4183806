"""A whole scene against Mitsuba 3, a renderer of other authors: the same geometry, materials and light.

Bounds come from the standard errors of both pictures; the mean over the skin has one of its own, 1 %.
"""

from importlib.util import find_spec

import numpy as np
import pytest

from renderer.colour import luminance
from renderer.film import tracing
from renderer.film.mix import Fader, Mix
from renderer.kernels.layout import MESH, PART, PROBE, WALL
from renderer.scene.load import loads
from renderer.world.build import build
from renderer.world.material import EYES, HAIR, SKIN

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(find_spec("mitsuba") is None, reason="mitsuba is not installed (extra: reference)"),
]
WIDTH, HEIGHT = 96, 120
SEEDS = range(1, 17)  # pictures of Mitsuba, whose spread is its standard error
SAMPLES = 36  # of a pixel in each of them


def traced(coated):
    """Our halves (2, h, w), what is seen (h, w), and Mitsuba's pictures (seeds, h, w), luminance [cd/m2]."""
    from benchmarks import reference
    from renderer.assets import default_scene

    text = default_scene().read_text().replace("[camera]", f"[camera]\npicture = [{WIDTH}, {HEIGHT}]")
    world = reference.plain(build(loads(text)), coated)
    mix = Mix(tuple(Fader.of(layer) for layer in world.layers))
    nothing = np.zeros(0, PROBE)
    film = tracing.run(world.packed, world.camera, nothing, mix, within=0.06, seed=5, follow_all=True)
    halves = film.half_luminances()
    mi = reference.mitsuba()
    scene = reference.mitsuba_scene(mi, world, mix)
    others = np.array([luminance(reference.render(mi, scene, SAMPLES, seed)) for seed in SEEDS])
    return halves, film.seen(), others


@pytest.fixture(scope="module")
def bare():
    """The default scene with coats and scattering taken off: both programs then mean the same by it."""
    return traced(coated=False)


@pytest.fixture(scope="module")
def coated():
    """The same with its coats. Mitsuba masks rough ones separably and follows them on every surface."""
    return traced(coated=True)


def region_masks(seen):
    """Skin in six fields of the picture, hair, eyes, the lamp, and wall on either side of the head."""
    skin = (seen["family"] == MESH) & (seen["number"] == SKIN)
    row, column = np.indices(seen.shape)
    masks = {}
    for i, name in enumerate(("upper", "middle", "lower")):
        band = skin & (row * 3 // HEIGHT == i)
        masks[f"skin, {name}, camera left"] = band & (column < WIDTH // 2)
        masks[f"skin, {name}, camera right"] = band & (column >= WIDTH // 2)
    masks["hair"] = (seen["family"] == MESH) & (seen["number"] == HAIR)
    masks["eyes"] = (seen["family"] == MESH) & np.isin(seen["number"], EYES)
    masks["lamp"] = seen["family"] == PART
    masks["wall, camera left"] = (seen["family"] == WALL) & (column < WIDTH // 2)
    masks["wall, camera right"] = (seen["family"] == WALL) & (column >= WIDTH // 2)
    return masks


def compared(halves, others, mask):
    """Means of both over a region, and the standard error of their difference.

    Ours from the two halves of every pixel (independent pixels, so variances add); Mitsuba's from its seeds.
    """
    pixels = mask.sum()
    own_error = np.sqrt(np.sum((0.5 * (halves[0] - halves[1])[mask]) ** 2)) / pixels
    means = others[:, mask].mean(axis=1)
    error = means.std(ddof=1) / np.sqrt(len(means))
    return halves[:, mask].mean(), means.mean(), np.hypot(own_error, error)


def test_mean_over_the_skin_is_within_a_hundredth(coated):
    halves, seen, others = coated
    skin = (seen["family"] == MESH) & (seen["number"] == SKIN)
    own, other, error = compared(halves, others, skin)
    assert error < 0.002 * other  # so that the bound below means something
    assert abs(own / other - 1.0) < 0.01


def test_every_region_agrees_within_the_combined_standard_error(bare):
    halves, seen, others = bare
    far = {}
    for name, mask in region_masks(seen).items():
        assert mask.sum() >= 8, f"the picture shows too little of {name}"
        own, other, error = compared(halves, others, mask)
        # single precision and tubes made of facets there: a thousandth for what they hide
        if abs(own - other) > 4.0 * error + 0.001 * other:
            far[name] = f"{own:.4f} against {other:.4f}, standard error {error:.4f}"
    assert not far


def test_the_comparison_would_notice_a_mirrored_picture(bare):
    halves, seen, others = bare
    masks = region_masks(seen)
    own, other, error = compared(halves, others[:, :, ::-1], masks["skin, middle, camera left"])
    assert abs(own - other) > 20.0 * error
