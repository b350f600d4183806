"""Maps from the unit square to discs and directions, with their densities."""

import math

from renderer.kernels.compiler import kernel


@kernel
def square_to_disc(u1, u2):
    """Point uniform in the unit disc.  source  Shirley & Chiu, JGT 2(3), 1997"""
    a, b = 2.0 * u1 - 1.0, 2.0 * u2 - 1.0
    if a == 0.0 and b == 0.0:
        return 0.0, 0.0
    if abs(a) > abs(b):
        r, phi = a, 0.25 * math.pi * b / a
    else:
        r, phi = b, 0.5 * math.pi - 0.25 * math.pi * a / b
    return r * math.cos(phi), r * math.sin(phi)


@kernel
def square_to_cosine(u1, u2):
    """Local direction with pdf_solid_angle = cos / pi about z."""
    x, y = square_to_disc(u1, u2)
    return x, y, math.sqrt(max(0.0, 1.0 - x * x - y * y))


@kernel
def square_to_dome(u1, u2):
    """Local direction over the whole sphere with pdf_solid_angle = (1 + cos) / (4 pi) about z."""
    z = 2.0 * math.sqrt(u1) - 1.0
    r = math.sqrt(max(0.0, 1.0 - z * z))
    phi = 2.0 * math.pi * u2
    return r * math.cos(phi), r * math.sin(phi), z


@kernel
def square_to_cone(u1, u2, one_minus_cos):
    """Local direction uniform in the cone about z: pdf_solid_angle = 1 / (2 pi one_minus_cos)."""
    gap = u1 * one_minus_cos
    r = math.sqrt(max(0.0, gap * (2.0 - gap)))
    phi = 2.0 * math.pi * u2
    return r * math.cos(phi), r * math.sin(phi), 1.0 - gap
