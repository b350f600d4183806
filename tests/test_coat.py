"""A smooth clear coat over a Lambertian base: Fresnel's equations, and no light lost or made."""

from __future__ import annotations

import math

import numpy as np
import pytest
from light_lab import LIMIT, box_of_rectangles, cone, disc, read

from renderer.kernels.coat import fresnel
from renderer.world.pack import Material, Triangles, hemispherical_reflectance, pack_materials

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


def octahedron(albedo: float, material: Material) -> Triangles:
    """Closed and convex, each face with its own corners and normals, wound outward."""
    vertices, normals = [], []
    for face in FACES:
        a, b, c = CORNERS[list(face)]
        outward = np.cross(b - a, c - a)
        if outward @ (a + b + c) < 0.0:
            b, c, outward = c, b, -outward
        vertices += [a, b, c]
        normals += [outward / np.linalg.norm(outward)] * 3
    faces = np.arange(3 * len(FACES)).reshape(-1, 3)
    albedos = np.full((len(vertices), 3), albedo)
    smooth = np.zeros(len(vertices))
    return Triangles(
        np.array(vertices), np.array(normals), albedos, smooth, faces, np.zeros(len(faces), int), [material]
    )


def square(albedo: float, material: Material) -> Triangles:
    """4 x 4 m at z = 0, seen from above."""
    vertices = 2.0 * np.array([(-1, -1, 0), (1, -1, 0), (1, 1, 0), (-1, 1, 0)], float)
    normals = np.tile((0.0, 0.0, 1.0), (4, 1))
    albedos, smooth = np.full((4, 3), albedo), np.zeros(4)
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    return Triangles(vertices, normals, albedos, smooth, faces, np.zeros(2, int), [material])


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
    assert hemispherical_reflectance(eta) == pytest.approx(HEMISPHERICAL[eta], abs=5e-7 + QUADRATURE)
    inside = float(pack_materials([Material(eta)])["inside_reflectance"][0])
    expected = 1.0 - (1.0 - HEMISPHERICAL[eta]) / eta**2
    assert inside == pytest.approx(expected, abs=5e-7 + QUADRATURE)
    if eta == 1.4:
        assert expected == pytest.approx(0.528985, abs=1e-6)


@pytest.mark.parametrize("eta", [0.0, 1.376, 1.5])
def test_white_coated_object_in_even_light_is_invisible(eta: float) -> None:
    """Furnace test: albedo 1 under a coat that absorbs nothing returns all light."""
    shell = box_of_rectangles(3.0, 1000.0, 0.0)
    sight = cone((0.3, -1.4, 1.5), (-0.2, 1.3, -1.45), 8.0)
    reading = read([shell], sight, mesh=octahedron(1.0, Material(eta)), samples=2048)
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
    reading = read([shell], sight, mesh=square(albedo, Material(1.4)), samples=4096)
    off = reading.off(1000.0 * expected, bias=5e-6 / expected + QUADRATURE)
    print(f"coated albedo {albedo}: {off:+.2f} standard errors")
    assert abs(off) <= LIMIT


def test_mirror_image_of_a_light() -> None:
    """A lamp seen by reflection at 60 degrees in a coat over black: F(60) L, n = 1.4. The lamp is larger
    than the mirrored cone of sight."""
    lamp = disc((1.5 * math.sqrt(3.0), 0, 1.5), (-math.sqrt(3.0), 0, -1), 0.3)
    sight = cone((-1.5 * math.sqrt(3.0), 0, 1.5), (math.sqrt(3.0), 0, -1), 0.1)
    reading = read([[lamp]], sight, mesh=square(0.0, Material(1.4)), samples=1024)
    # over 0.1 degrees the reflectance changes by 1 per cent either way, evenly
    assert abs(reading.off(1000.0 * FRESNEL[1.4][60], bias=1e-4)) <= LIMIT
