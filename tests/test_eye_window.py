"""The iris behind the cornea: the pupil's size as seen by Snell's law, and no light made on the way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from face_lab import eyes_alone, head
from light_lab import LIMIT, box_of_rectangles, cone, read, read_packed

from meshes.surface.eyeball import PUPIL_RADIUS
from renderer.film.pool import Pool
from renderer.kernels.entry import PIXEL
from renderer.scene.camera import Camera
from renderer.world.build import pack_camera
from renderer.world.material import CORNEA, IRIS, TEAR_FILM
from renderer.world.pack import pack

APEX_RADIUS = 7.8  # mm
EYE_HEIGHT = 1.2
PIXELS, WIDE = 160, 8.0  # across the picture, pixels and mm
SAMPLES = 64


def edge_depth() -> float:
    """Depth [mm] of the pupil's edge behind the corneal apex, read off the mesh."""
    world = head()
    assert world.sitter is not None
    mesh = world.sitter.triangles
    used = np.unique(mesh.faces[mesh.materials == IRIS])
    p = 1000.0 * (mesh.vertices[used] - world.landmarks["pupil_l"].position)
    radius = np.hypot(p[:, 0], p[:, 2])
    return -float(p[np.abs(radius - PUPIL_RADIUS) < 0.02, 1].mean())


def apparent_radius(depth: float) -> float:
    """Height [mm] at which a ray parallel to the axis must meet a sphere so that, refracted by Snell's law,
    it meets the edge of the pupil at `depth` behind the apex."""
    low, high = 0.0, 4.0
    for _ in range(60):
        h = 0.5 * (low + high)
        outer = math.asin(h / APEX_RADIUS)
        inner = math.asin(math.sin(outer) / TEAR_FILM)
        sag = APEX_RADIUS - math.sqrt(APEX_RADIUS**2 - h * h)
        at = h - math.tan(outer - inner) * (depth - sag)
        low, high = (h, high) if at < PUPIL_RADIUS else (low, h)
    return 0.5 * (low + high)


def test_pupil_looks_as_large_as_refraction_makes_it() -> None:
    """The paraxial formula n / s' - n / s = (1 - n) / R gives 1.14 for the magnification; here exactly."""
    expected = apparent_radius(edge_depth())
    depth, k = edge_depth(), TEAR_FILM
    paraxial = k / depth / (k / depth - (k - 1.0) / APEX_RADIUS)
    assert expected / PUPIL_RADIUS == pytest.approx(paraxial, rel=0.02)  # 1.7 mm is nearly paraxial
    world = eyes_alone(head())
    eye = world.landmarks["pupil_l"].position
    far = 10.0
    lens_mm = 36.0 * far * 1000.0 / WIDE
    at = (float(eye[0]), far, EYE_HEIGHT)
    camera = Camera.model_construct(
        at=at, aim=(at[0], 0.0, EYE_HEIGHT), lens_mm=lens_mm, sensor_width_mm=36.0, picture=(PIXELS, PIXELS)
    )
    # even light from all around, so that iris and pupil differ by their albedo alone
    shell = box_of_rectangles(30.0, 1000.0, 0.0)
    packed = pack([shell])._replace(mesh=world.packed.mesh, materials=world.packed.materials)
    n = PIXELS * PIXELS
    with Pool(2) as pool:
        tally = pool.tally(1, n, 1, seen=n)
        jobs = [(np.arange(n, dtype=np.int32), PIXEL, range(1), 0, SAMPLES)]
        assert pool.run(packed, pack_camera(camera), cone((0, 0, 9), (0, 0, 1), 1.0), tally, 1, jobs)
    assert (tally.seen["number"] == CORNEA).mean() > 0.99
    bare = tally.radiance[0, :, 0].sum(axis=(1, 2)).reshape(PIXELS, PIXELS)
    dark = bare < bare.min() + 0.25 * (np.median(bare) - bare.min())
    seen = math.sqrt(dark.sum() / math.pi) * WIDE / PIXELS
    assert seen == pytest.approx(expected, abs=WIDE / PIXELS)  # one pixel
    assert abs(seen - PUPIL_RADIUS) > 3 * WIDE / PIXELS  # and clearly not as large as it is


def test_white_iris_under_the_window_makes_no_light() -> None:
    """In an even field neither window nor iris can send more than comes; a white one sends nearly all back.
    An iris that is not parallel to the window may lose some to the approximation, never gain."""
    world = eyes_alone(head())
    mesh = world.packed.mesh
    white = mesh._replace(albedos=np.ones_like(mesh.albedos))
    shell = box_of_rectangles(30.0, 1000.0, 0.0)
    packed = pack([shell])._replace(mesh=white, materials=world.packed.materials)
    eye = world.landmarks["pupil_l"].position
    sight = cone((eye[0] + 0.004, 2.0, EYE_HEIGHT), (0.0, -1.0, 0.0), 0.02)
    reading = read_packed(packed, sight, samples=2048)
    print(f"white iris: {reading.value():.1f} +- {reading.error():.1f} of 1000")
    assert 900.0 <= reading.value() <= 1000.0 + LIMIT * reading.error()
    assert read([shell], sight, samples=64).value() == pytest.approx(1000.0, rel=1e-3)
