"""A path's next step: where it goes from a surface, what it counts for where it meets a lamp by chance, and
whether it goes on past a wall."""

import math

from renderer.kernels.compiler import inlined
from renderer.kernels.emission import emitted
from renderer.kernels.gloss import lobe, lobe_pdf, sample_lobe
from renderer.kernels.heuristic import share_of
from renderer.kernels.light import light_pdf
from renderer.kernels.vector import dot, from_frame, max_magnitude, scale, tangents
from renderer.kernels.wall_light import node_near, onward
from renderer.kernels.warp import square_to_cosine, square_to_dome

INV_PI = 1.0 / math.pi


@inlined
def sample_surface(scene, gloss, w_o, shading, first, everywhere, u1, u2):
    """The next direction of a path: (direction, pdf_solid_angle, response / pdf)."""
    s, t = tangents(shading)
    if everywhere:
        x, y, z = square_to_dome(u1, u2)
        return from_frame(x, y, z, s, t, shading), (1.0 + z) / (4.0 * math.pi), 2.0 * math.pi
    if gloss >= 0:
        direction = sample_lobe(scene.glosses, gloss, w_o, shading, u1, u2)
        pdf = lobe_pdf(scene.glosses, gloss, direction, w_o, shading)
        if pdf <= 0.0:
            return direction, 0.0, 0.0
        factor = dot(direction, shading) / pdf
        if not first:
            factor *= lobe(scene.glosses, gloss, direction, w_o, shading)
        return direction, pdf, factor
    x, y, z = square_to_cosine(u1, u2)
    return from_frame(x, y, z, s, t, shading), z * INV_PI, math.pi


@inlined
def past_wall(scene, place, point, beta, weight, fate):
    """Whether a path goes on past a wall whose light is known, and then as a pair: (going, point that it goes
    on from, the other, beta, what is left of `fate`).

    weight  of the path, as in `Receiver`
    """
    more, fate = onward(scene, fate, max_magnitude(beta) / weight)
    if more == 0.0:
        return False, point, point, beta, fate
    node, fate = node_near(scene, place, fate)
    if fate < 0.5:
        return True, point, node, scale(beta, more), 2.0 * fate
    return True, node, point, scale(beta, -more), 2.0 * fate - 1.0


@inlined
def by_chance(scene, shape, point, normal, w_i, distance, pdf_surface):
    """Luminance of a lamp's shape that is met by chance, as much of it as is left to paths that do."""
    pdf_light = light_pdf(scene, shape, point, normal, w_i, distance)
    return emitted(scene, shape, point, w_i, distance) * share_of(pdf_surface, pdf_light)
