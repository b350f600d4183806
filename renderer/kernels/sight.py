"""Lines of sight: followed to the first surface whose light is gathered, through mirror images at coats."""

import math

from renderer.kernels.apart import asked_seldom
from renderer.kernels.coat import base_gain, coat_reflectance, mirror, refract
from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.layout import NOTHING, WALL
from renderer.kernels.lens import let_through
from renderer.kernels.mesh import first_triangle
from renderer.kernels.path import BARE, LONGEST_PATH, NO_WALL
from renderer.kernels.ray import OFFSET
from renderer.kernels.sampler import pair_of
from renderer.kernels.scene import between_corners, first_hit, gloss_of, surface_at, triangle_normal
from renderer.kernels.subsurface import entry_weight, find_entry
from renderer.kernels.vector import along, dot, scale, times, unit
from renderer.kernels.viewed import LEAST_MIRROR, add_emitted, add_known_wall, metal

WHITE = (1.0, 1.0, 1.0)
BLACK = (0.0, 0.0, 0.0)


@kernel
def enter(scene, work, key, sample, number, point, normal):
    """Where the light that leaves skin of material `number` at `point` has entered it.

    returns  (place, geometric normal, shading normal, weight RGB); weight 0 where no place was found
    """
    asked_seldom()
    u1, u2 = pair_of(key, 2, sample)
    choice, which = pair_of(key, 3, sample)
    triangle, u, v, place, met = find_entry(scene, work, number, point, normal, u1, u2, choice, which)
    if triangle < 0:
        return point, normal, normal, BLACK
    geometric = triangle_normal(scene.mesh, triangle)
    shading = unit(between_corners(scene.mesh.normals, triangle, u, v))
    moved = entry_weight(scene.materials[number], point, normal, place, geometric, met)
    return place, geometric, shading, moved


@kernel
def behind_window(scene, work, point, geometric, shading, direction, eta):
    """What is seen through a window: (found, shading normal, albedo) of the surface behind it.

    The light that falls on it is taken to be that on the window, turned to its normal: exact for a flat
    window parallel to it. It counts from the window on, so nothing but the window is before it.
    """
    asked_seldom()
    inward = refract(direction, shading, eta)
    start = along(point, geometric, -OFFSET)
    i, _, u, v = first_triangle(scene.mesh, start, inward, math.inf, work.stack, work.lanes)
    if i < 0:
        return False, shading, BLACK
    normal = unit(between_corners(scene.mesh.normals, i, u, v))
    return dot(normal, inward) < 0.0, normal, between_corners(scene.mesh.albedos, i, u, v)


@inlined
def look(scene, work, tally, half, receiver, key, sample, origin, direction, passed, counted):
    """Follow a line of sight to the first Lambertian surface, through mirror reflections at coats.

    Adds the radiance of lights that are seen on the way: in a mirror on every look, so that catchlights
    carry no noise, and of walls whose light is known; what else the mirror shows is weak and followed by
    some looks only.
    passed   part of what is seen that spectacle lenses on the way let through; the caller brings it to what
             `gather` adds
    counted  as `gather` takes it; 0 for a ray that a lens has mirrored, of which lights are counted already
    returns  (found, start, gain, weight, counted): the last four as `gather` takes them
    """
    start = (origin, direction, direction, BARE, NO_WALL)
    gain, weight, through = WHITE, 1.0, 1.0
    choice, _ = pair_of(key, 1, sample)
    hit = first_hit(scene, work, origin, direction)
    add_emitted(scene, tally, half, receiver, hit, origin, direction, passed * counted)
    for _ in range(LONGEST_PATH):
        _, family, met, _, _, front = hit
        if family == NOTHING:
            return False, start, gain, weight, counted
        point, geometric, shading, albedo, eta, inside, alpha = surface_at(scene, hit, origin, direction)
        if eta == 0.0:
            surface, wall = BARE, met if family == WALL else NO_WALL
            gloss = gloss_of(scene, family, met, front)
            if gloss >= 0:
                surface = (metal(gloss), 0.0, shading, scale(direction, -1.0))
            return True, (point, geometric, shading, surface, wall), albedo, weight, counted
        number = scene.mesh.materials[met]
        reflected = coat_reflectance(scene.materials[number], -dot(shading, direction), alpha)
        coat = (number, alpha, shading, scale(direction, -1.0))
        if alpha > 0.0:
            gain = base_gain(albedo, eta, inside, 1.0 - reflected)
            if scene.materials[number].scatter[0] > 0.0:
                point, geometric, shading, moved = enter(scene, work, key, sample, number, point, shading)
                gain = times(gain, moved)
            return True, (point, geometric, shading, coat, NO_WALL), gain, weight, counted
        reflection = mirror(direction, shading)
        leaving = along(point, geometric, OFFSET)
        share = min(0.9, max(LEAST_MIRROR, reflected))  # of the looks that follow the mirror image
        if dot(reflection, geometric) > 0.0:
            hit = first_hit(scene, work, leaving, reflection)
            through = let_through(scene, leaving, reflection, hit[0])
            shown = passed * weight * reflected * through
            add_emitted(scene, tally, half, receiver, hit, leaving, reflection, shown)
            if add_known_wall(scene, tally, half, receiver, hit, leaving, reflection, shown):
                share = 0.0
        else:
            share = 0.0
        if choice >= share:
            weight /= 1.0 - share
            if scene.materials[number].window:
                seen, shading, albedo = behind_window(scene, work, point, geometric, shading, direction, eta)
                if not seen:
                    return False, start, gain, weight, counted
            gain = base_gain(albedo, eta, inside, 1.0 - reflected)
            return True, (point, geometric, shading, coat, NO_WALL), gain, weight, counted
        choice /= share
        weight *= reflected * through / share
        counted = 0.0
        origin, direction = leaving, reflection
    return False, start, gain, weight, counted
