"""Sampling the lights: which shape of a light, which direction, with what density."""

import math

from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.shapes import KIND, pdf_solid_angle, sample, solid_angle
from renderer.kernels.vector import dot, sub, triple

FLAT_KINDS = max(KIND["Disc"], KIND["Rectangle"])  # up to this kind a shape has a horizon of its own
LEAST_COSINE = 0.02  # so that the odds of a sliver above the horizon are not too long


@inlined
def is_below(shape, to_middle, normal):
    """Whether all of a shape lies under the horizon of a receptor, or the receptor under that of its front.

    A normal of zero length stands for a receptor that looks everywhere.
    """
    if dot(to_middle, normal) + shape.reach <= 0.0 and dot(normal, normal) > 0.0:
        return True
    return shape.kind <= FLAT_KINDS and dot(to_middle, triple(shape.w)) >= 0.0


@inlined
def mean_cosine(to_middle, reach, normal):
    """Roughly, at a receptor, of what lies in a sphere; what is below its horizon counts as 0."""
    distance = math.sqrt(dot(to_middle, to_middle) + 1e-12)
    cosine, half_width = dot(to_middle, normal) / distance, min(1.0, reach / distance)
    if cosine >= half_width:
        return cosine
    above = max(0.0, cosine + half_width)
    return above * above / (4.0 * half_width)


@kernel
def importance(shape, point, normal):
    """Rough illuminance of `shape` at `point` with unit `normal`, never 0 where there may be light.

    Only the odds of choosing among the shapes of one light depend on it; the normal as in `is_below`.
    """
    to_middle = sub(triple(shape.middle), point)
    if is_below(shape, to_middle, normal):
        return 0.0
    cosine = 1.0
    if dot(normal, normal) > 0.0:
        cosine = max(LEAST_COSINE, mean_cosine(to_middle, shape.reach, normal))
    return shape.luminance * solid_angle(shape, point) * cosine


@inlined
def total_importance(scene, light, point, normal):
    total = 0.0
    for i in range(light.first, light.first + light.count):
        total += importance(scene.shapes[i], point, normal)
    return total


@inlined
def sample_light(scene, light, point, normal, u1, u2):
    """A direction to one shape of the light: (shape or -1, w_i, distance, pdf_solid_angle).

    u1 chooses the shape and is then stretched again, so that the points stay evenly spread over the
    whole light.
    """
    number, chance = light.first, 1.0
    if light.count == 1:
        if is_below(scene.shapes[number], sub(triple(scene.shapes[number].middle), point), normal):
            return -1, (0.0, 0.0, 1.0), 0.0, 0.0
    elif light.count > 1:
        total = total_importance(scene, light, point, normal)
        left = u1 * total
        number = -1
        for i in range(light.first, light.first + light.count):
            value = importance(scene.shapes[i], point, normal)
            if value > 0.0:
                number, chance = i, value / total
                u1 = min(left / value, 1.0 - 1e-12)
                left -= value
                if left < 0.0:
                    break
    if number < 0 or light.count == 0:
        return -1, (0.0, 0.0, 1.0), 0.0, 0.0
    w_i, distance, pdf = sample(scene.shapes[number], point, u1, u2)
    return number, w_i, distance, pdf * chance


@inlined
def light_pdf(scene, number, point, normal, w_i, distance):
    """pdf_solid_angle with which `sample_light` would have met shape `number` along w_i."""
    shape = scene.shapes[number]
    pdf = pdf_solid_angle(shape, point, w_i, distance)
    light = scene.lights[shape.light]
    if light.count > 1:
        total = total_importance(scene, light, point, normal)
        if total <= 0.0:
            return 0.0
        pdf *= importance(shape, point, normal) / total
    return pdf
