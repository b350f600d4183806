"""Sampling the lights: which shape of a light, which direction, with what density."""

import math

from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.shapes import pdf_solid_angle, sample
from renderer.kernels.vector import dot, sub, triple


@kernel
def importance(shape, point, normal):
    """Rough illuminance of `shape` at `point` with unit `normal`, never 0 where there may be light.

    Only the odds of choosing among the shapes of one light depend on it. A normal of zero length
    stands for a receptor that looks everywhere.
    """
    to_middle = sub(triple(shape.middle), point)
    distance2 = dot(to_middle, to_middle) + 1e-12
    distance = math.sqrt(distance2)
    above = dot(to_middle, normal) + shape.reach
    looks_everywhere = dot(normal, normal) == 0.0
    if above <= 0.0 and not looks_everywhere:
        return 0.0
    cosine = 1.0 if looks_everywhere else min(1.0, max(0.05, above / (distance + shape.reach)))
    facing = 1.0
    if shape.kind <= 1:  # flat: its front has its own horizon
        depth = -dot(to_middle, triple(shape.w))
        if depth <= 0.0:
            return 0.0
        facing = max(0.05, depth / distance)
    return shape.luminance * shape.area * cosine * facing / (distance2 + shape.area)


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
        if importance(scene.shapes[number], point, normal) == 0.0:  # wholly under a horizon
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
