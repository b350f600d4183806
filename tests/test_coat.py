"""A smooth clear coat over a Lambertian base: Fresnel's equations, and no light lost or made."""

from __future__ import annotations

import math

import numpy as np
import pytest
from light_lab import LIMIT, Reading, box_of_rectangles, cone, deviation, disc, flat, grey, meshed, read

from renderer.colour import Y_WEIGHTS
from renderer.film.pool import Pool
from renderer.kernels.coat import fresnel, inside_reflectance
from renderer.kernels.entry import PIXEL
from renderer.kernels.layout import MESH
from renderer.scene.camera import Camera
from renderer.world.build import pack_camera
from renderer.world.coat import even_reflectance
from renderer.world.pack import Material, Triangles, pack, pack_materials

# Born & Wolf, Principles of Optics, 1.5; hemispherical means by quadrature. Degrees: reflectance.
FRESNEL = {
    1.4: {0: 0.0277778, 45: 0.036579, 60: 0.071977, 75: 0.231283, 80: 0.367173, 85: 0.598322},
    1.376: {0: 0.025043, 45: 0.033416, 60: 0.067650},
    1.336: {0: 0.020689, 45: 0.028276, 60: 0.060255},
    1.5: {0: 0.040000, 45: 0.050240, 60: 0.089187},
}
HEMISPHERICAL = {1.4: 0.076812, 1.376: 0.073125, 1.336: 0.066880, 1.5: 0.091778}
# Stated bias of the renderer's own mean: a midpoint rule of n steps over a root errs by n^-1.5 at most.
QUADRATURE = 512.0**-1.5
# Rays of the camera meet the mesh on flat faces, so that geometric and shading normals are the same.
CORNERS = 0.5 * np.array([(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)], float)
FACES = [(a, b, c) for a in (0, 1) for b in (2, 3) for c in (4, 5)]


def octahedron(albedo: float, eta: float) -> Triangles:
    """Closed and convex, each face with its own corners and normals, wound outward."""
    vertices, normals = [], []
    for face in FACES:
        a, b, c = CORNERS[list(face)]
        outward = np.cross(b - a, c - a)
        if outward @ (a + b + c) < 0.0:
            b, c, outward = c, b, -outward
        vertices += [a, b, c]
        normals += [outward / np.linalg.norm(outward)] * 3
    return meshed(
        np.array(vertices), np.array(normals), np.arange(len(vertices)).reshape(-1, 3), grey(albedo), eta
    )


def square(albedo: float, eta: float, roughness: float = 0.0) -> Triangles:
    """4 x 4 m at z = 0, seen from above."""
    vertices = 2.0 * np.array([(-1, -1, 0), (1, -1, 0), (1, 1, 0), (-1, 1, 0)], float)
    normals = np.tile((0.0, 0.0, 1.0), (4, 1))
    return meshed(vertices, normals, [[0, 1, 2], [0, 2, 3]], grey(albedo), eta, roughness)


@pytest.mark.parametrize(("eta", "degrees"), [(eta, angle) for eta, row in FRESNEL.items() for angle in row])
def test_fresnel(eta: float, degrees: int) -> None:
    assert fresnel(math.cos(math.radians(degrees)), eta) == pytest.approx(FRESNEL[eta][degrees], abs=6e-7)


def test_brewster_angle_and_grazing() -> None:
    """At atan(eta) only light across the plane of incidence is reflected: half of sin^2(t - t')."""
    eta = 1.4
    brewster = math.atan(eta)
    assert math.degrees(brewster) == pytest.approx(54.462, abs=5e-4)
    refracted = math.asin(math.sin(brewster) / eta)
    assert fresnel(math.cos(brewster), eta) == pytest.approx(
        0.5 * math.sin(brewster - refracted) ** 2, abs=1e-12
    )
    assert fresnel(0.0, eta) == pytest.approx(1.0)


@pytest.mark.parametrize("eta", HEMISPHERICAL)
def test_hemispherical_reflectance(eta: float) -> None:
    """Outside by quadrature; inside 1 - (1 - R) / eta^2 by reciprocity (0.528985 for 1.4)."""
    assert even_reflectance(eta)[0] == pytest.approx(HEMISPHERICAL[eta], abs=5e-7 + QUADRATURE)
    inside = inside_reflectance(pack_materials([Material(eta)])[0], 0.0)
    expected = 1.0 - (1.0 - HEMISPHERICAL[eta]) / eta**2
    assert inside == pytest.approx(expected, abs=5e-7 + QUADRATURE)
    if eta == 1.4:
        assert expected == pytest.approx(0.528985, abs=1e-6)


@pytest.mark.parametrize("eta", [0.0, 1.376, 1.5])
def test_white_coated_object_in_even_light_is_invisible(eta: float) -> None:
    """Furnace test: albedo 1 under a coat that absorbs nothing returns all light."""
    shell = box_of_rectangles(3.0, 1000.0, 0.0)
    sight = cone((0.3, -1.4, 1.5), (-0.2, 1.3, -1.45), 8.0)
    reading = read([shell], sight, mesh=octahedron(1.0, eta), samples=2048)
    off = reading.off(1000.0, bias=QUADRATURE)
    print(f"furnace, eta {eta}: {off:+.2f} standard errors of {reading.error() / 1000.0:.1e}")
    assert abs(off) <= LIMIT


@pytest.mark.parametrize(
    ("albedo", "expected"), [(0.1, 0.07613), (0.3, 0.19107), (0.6, 0.43029), (0.0, 0.0277778)]
)
def test_albedo_at_normal_incidence(albedo: float, expected: float) -> None:
    """F0 + (1 - F0)(1 - Fi) rho / (1 - Fi rho), n = 1.4: what is seen straight on in an even field of
    luminance 1, by reciprocity."""
    shell = box_of_rectangles(30.0, 1000.0, 0.0)
    sight = cone((0.3, 0.2, 1.5), (0, 0, -1), 0.2)  # over 0.2 degrees the reflectance is even to 1e-6
    reading = read([shell], sight, mesh=square(albedo, 1.4), samples=4096)
    off = reading.off(1000.0 * expected, bias=5e-6 / expected + QUADRATURE)
    print(f"coated albedo {albedo}: {off:+.2f} standard errors")
    assert abs(off) <= LIMIT


def test_mirror_image_of_a_light() -> None:
    """A lamp seen by reflection at 60 degrees in a coat over black: F(60) L, n = 1.4. The lamp is larger
    than the mirrored cone of sight."""
    lamp = disc((1.5 * math.sqrt(3.0), 0, 1.5), (-math.sqrt(3.0), 0, -1), 0.3)
    sight = cone((-1.5 * math.sqrt(3.0), 0, 1.5), (math.sqrt(3.0), 0, -1), 0.1)
    reading = read([[lamp]], sight, mesh=square(0.0, 1.4), samples=1024)
    # over 0.1 degrees the reflectance changes by 1 per cent either way, evenly
    assert abs(reading.off(1000.0 * FRESNEL[1.4][60], bias=1e-4)) <= LIMIT


def rough(albedo: float, alpha: float, degrees: float) -> Reading:
    """A rough coat, n = 1.4, seen at an angle in an even field of luminance 1000: by reciprocity, 1000 times
    its albedo for light from there."""
    shell = box_of_rectangles(30.0, 1000.0, 0.0)
    x, z = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
    sight = cone((x, 0, z), (-x, 0, -z), 0.1)
    return read([shell], sight, mesh=square(albedo, 1.4, alpha), samples=2048)


@pytest.mark.parametrize("degrees", [0.0, 45.0, 60.0])
@pytest.mark.parametrize("alpha", [0.2, 0.4])
def test_rough_coat_over_black_by_quadrature(alpha: float, degrees: float) -> None:
    """Its albedo against a sum of the GGX model written here, over the half-vector: D cos, Smith's masking,
    Fresnel. Walter et al., EGSR 2007; Heitz, JCGT 3(2), 2014."""
    reading = rough(0.0, alpha, degrees)
    expected = 1000.0 * ggx_albedo(alpha, 1.4, math.radians(degrees))
    off = reading.off(expected, bias=1e-3)  # of the sum: halving its steps changes it by less
    print(f"rough coat {alpha} at {degrees}: {off:+.2f} standard errors; albedo {expected / 1000.0:.5f}")
    assert abs(off) <= LIMIT


def ggx_albedo(alpha: float, eta: float, angle: float, steps: int = 400, masked: bool = True) -> float:
    """Midpoint rule over half-vectors, tan(theta) = alpha sqrt(x / (1 - x)) spread by D cos(theta).

    masked  False: all that facets seen from the angle reflect, also what other facets then stop
    """
    x, phi = np.meshgrid((np.arange(steps) + 0.5) / steps, 2 * math.pi * (np.arange(steps) + 0.5) / steps)
    tan = alpha * np.sqrt(x / (1.0 - x))
    cos = 1.0 / np.sqrt(1.0 + tan * tan)
    h = np.stack([tan * cos * np.cos(phi), tan * cos * np.sin(phi), cos], axis=-1)
    o = np.array([math.sin(angle), 0.0, math.cos(angle)])
    oh = h @ o
    i = 2.0 * oh[..., None] * h - o
    good = (oh > 0.0) & ((i[..., 2] > 1e-9) | (not masked))
    ci, co = np.where(good & masked, i[..., 2], 1.0), o[2]

    def lam(c: np.ndarray | float) -> np.ndarray:
        return 0.5 * (np.sqrt(1.0 + alpha**2 * (1.0 / np.square(c) - 1.0)) - 1.0)

    inner = np.sqrt(1.0 - (1.0 - oh**2) / eta**2)
    s, p = (oh - eta * inner) / (oh + eta * inner), (eta * oh - inner) / (eta * oh + inner)
    # D cos(theta) dh is even in x and phi; dw_i = 4 (o h) dh; f cos_i = D G F / (4 cos_o)
    weight = 0.5 * (s * s + p * p) * oh / (co * cos * (1.0 + lam(ci) + lam(co)))
    return float(np.where(good, weight, 0.0).mean())


@pytest.mark.parametrize("alpha", [0.2, 0.4])
def test_white_base_under_a_rough_coat_makes_no_light(alpha: float) -> None:
    """A coat absorbs nothing, so the albedo cannot be more than 1; a coat that lets light in as if it were
    smooth, and reflects once off its facets, may lose some."""
    for degrees in (0.0, 30.0, 60.0, 75.0, 85.0):
        reading = rough(1.0, alpha, degrees)
        print(f"white under {alpha} at {degrees}: {reading.value():.1f} +- {reading.error():.1f} of 1000")
        assert reading.value() <= 1000.0 + LIMIT * reading.error()


def test_white_base_under_a_rough_coat_loses_no_light() -> None:
    """Neither base nor coat absorbs. A single reflection loses what facets reflect and other facets stop
    (Heitz et al., Multiple-scattering microfacet BSDFs, SIGGRAPH 2016), and nothing else."""
    angle = math.radians(75.0)
    reading = rough(1.0, 0.2, 75.0)
    # by Smith all that is seen sums to 1; the sum misses a little of its tail
    tail = 1.0 - ggx_albedo(0.2, 1e9, angle, masked=False)
    assert 0.0 <= tail <= 0.01
    stopped = ggx_albedo(0.2, 1.4, angle, masked=False) - ggx_albedo(0.2, 1.4, angle) + tail
    print(f"white base: {reading.value():.1f} of 1000, at least {1000.0 * (1.0 - stopped):.1f} expected")
    assert reading.value() >= 1000.0 * (1.0 - stopped) - LIMIT * reading.error()


def test_light_arriving_at_a_smooth_coat_is_what_a_meter_there_reads() -> None:
    """In an even field E = pi L at the first surface seen, whatever its coat mirrors."""
    packed = pack([box_of_rectangles(3.0, 1000.0, 0.0)], mesh=square(0.5, 1.4))
    x, z = math.sin(math.radians(60)), math.cos(math.radians(60))
    camera = pack_camera(Camera(at=(x, 0, z), aim=(0, 0, 0), lens_mm=200.0, picture=(16, 16)))
    with Pool(1) as pool:
        tally = pool.tally(1, 256, 1, seen=256)
        jobs = [(np.arange(256, dtype=np.int32), PIXEL, range(1), 0, 128)]
        assert pool.run(packed, camera, flat((0, 0, 1), (0, 0, 1)), tally, 1, jobs)
    assert (tally.seen["family"] == MESH).all()
    lux = (tally.irradiance.sum(axis=0)[:, 0] @ Y_WEIGHTS / 128).astype(float)
    assert abs(deviation(lux, math.pi * 1000.0)) <= LIMIT
