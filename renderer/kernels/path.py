"""Light arriving at a point, by path tracing: the one place where light is added up.

`gather` starts at a receiver (a point of the skin seen by the camera, or a meter's receptor) and adds,
for every light apart, the light that reaches it straight and the light that has bounced. At every
vertex each light is sampled once, and the next direction is sampled from the surface; the two are
combined by the balance heuristic.

source  Veach, Robust Monte Carlo Methods for Light Transport Simulation, 1997, chapters 8 to 10
"""

import math

from renderer.kernels.card import add_cards, card_share, pairs_for
from renderer.kernels.coat import base_gain, coat_reflectance, evened_albedo, mirror, refract
from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.emission import emitted
from renderer.kernels.gloss import lobe, lobe_pdf, sample_lobe
from renderer.kernels.layout import DOME, NOTHING, PART, WALL
from renderer.kernels.lens import let_through, past_lenses
from renderer.kernels.light import light_pdf, sample_light
from renderer.kernels.mesh import first_triangle
from renderer.kernels.ray import OFFSET
from renderer.kernels.receptor import response_to
from renderer.kernels.sampler import pair_of
from renderer.kernels.scene import (
    between_corners,
    first_hit,
    occluded,
    surface_at,
    triangle_normal,
)
from renderer.kernels.subsurface import entry_weight, find_entry
from renderer.kernels.tally import BOUNCED, DIRECT, add
from renderer.kernels.vector import along, dot, from_frame, max_component, scale, tangents, times, unit
from renderer.kernels.viewed import LEAST_MIRROR, add_emitted, add_known_wall, gain_towards, metal
from renderer.kernels.wall_light import ALL, BOUNCED_ONCE, arriving_on_wall, is_known, onward, place_on_wall
from renderer.kernels.warp import square_to_cosine, square_to_dome

INV_PI = 1.0 / math.pi
WHITE = (1.0, 1.0, 1.0)
BLACK = (0.0, 0.0, 0.0)
BARE = (-1, 0.0, WHITE, WHITE)  # no coat: see `gain_towards`
ALL_ROUND = (0.0, 0.0, 0.0)
NO_WALL = -1  # in place of a face of the room
PRIMARY_PAIRS = 4  # pixel position or cone; choice of lobe; place of entry and how it is found
VERTEX_PAIRS = 2  # next direction; survival
LONGEST_PATH = 128  # vertices; what would follow carries less than 0.95^128 of the light
SURVIVAL_FROM = 2  # vertices before a path may be ended at random


@inlined
def gather(scene, work, tally, half, receiver, key, number, start, receptor, gain, weight, counted):
    """Add to `tally` the light arriving at one receiver, along one random path.

    start     (point, geometric normal, shading normal, coat as in `gain_towards`, face of the room or -1)
    receptor  FLAT weighs light by the cosine, DOME by (1 + cosine) / 2
    gain      RGB; what leaves towards the viewer is gain / pi times the illuminance; pi for a meter
    weight    of the whole path (inverse of the chance with which it was chosen)
    counted   1 where the receiver is the first surface seen, 0 where it is seen in a mirror: only then
              does light arriving count as the illuminance of the pixel

    A silvered board is a rough metal wherever a path meets it. From the second surface on a coat counts as a
    Lambertian surface of the same albedo: followed as a mirror there, it would throw rare bright specks and
    change nothing that is measured.
    """
    point, geometric, shading, coat, wall = start
    beta = (weight, weight, weight)  # carried from the current vertex back to the receiver, without gain
    pair = PRIMARY_PAIRS
    lights = scene.lights.shape[0]
    everywhere = receptor == DOME
    share = 1.0  # of the light straight from the lights that is left to this path
    gloss = metal(coat[0]) if coat[0] < -1 else -1  # table of the metal that the path is on, -1 for none
    w_o = coat[3]
    for vertex in range(LONGEST_PATH):
        kind = DIRECT if vertex == 0 else BOUNCED
        horizon = ALL_ROUND if everywhere else shading
        leaving = along(point, geometric, 0.0 if everywhere else OFFSET)
        direction1, direction2 = pair_of(key, pair, number)
        fate, chance = pair_of(key, pair + 1, number)
        pair += VERTEX_PAIRS
        for light in range(lights):
            u1, u2 = pair_of(key, pair + light, number)
            shape, w_i, distance, pdf_light = sample_light(
                scene, scene.lights[light], leaving, horizon, u1, u2
            )
            if shape < 0 or pdf_light <= 0.0:
                continue
            response, pdf_surface = response_to(w_i, shading, geometric, everywhere)
            if response <= 0.0:
                continue
            sent = emitted(scene, shape, leaving, w_i, distance)
            if sent <= 0.0 or occluded(scene, work, leaving, w_i, distance, shape):
                continue
            if gloss >= 0:
                pdf_surface = lobe_pdf(scene.glosses, gloss, w_i, w_o, shading)
                if vertex > 0:  # at the first it is in `gain_towards`
                    response *= lobe(scene.glosses, gloss, w_i, w_o, shading)
            strength = sent * response / (pdf_light + pdf_surface)
            strength *= let_through(scene, leaving, w_i, distance)
            seen = gain_towards(scene, coat, w_i, gain) if vertex == 0 else gain
            add(tally, half, receiver, light, kind, scale(beta, share * strength), seen, counted)
        pair += lights
        settled = vertex == 0 and wall >= 0 and is_known(scene)  # what has bounced is known there
        if vertex == 0 and scene.cards.shape[0] > 0 and not settled:
            add_cards(
                scene, work, tally, half, receiver, key, number, pair, leaving, geometric, shading,
                everywhere, coat, gain, weight, counted,
            )  # fmt: skip
            pair += pairs_for(scene)

        if settled:
            place = place_on_wall(scene, wall, point)
            more, fate = onward(scene, fate, 1.0)
            for light in range(lights):
                arriving = scale(arriving_on_wall(scene, place, light, BOUNCED_ONCE), weight * (1.0 - more))
                add(tally, half, receiver, light, BOUNCED, arriving, gain, counted)
            if more == 0.0:
                return
            beta = scale(beta, more)

        s, t = tangents(shading)
        if everywhere:
            x, y, z = square_to_dome(direction1, direction2)
            pdf_surface = (1.0 + z) / (4.0 * math.pi)
            factor = 2.0 * math.pi  # response / pdf
            direction = from_frame(x, y, z, s, t, shading)
        elif gloss >= 0:
            direction = sample_lobe(scene.glosses, gloss, w_o, shading, direction1, direction2)
            pdf_surface = lobe_pdf(scene.glosses, gloss, direction, w_o, shading)
            if pdf_surface <= 0.0:
                return
            factor = dot(direction, shading) / pdf_surface
            if vertex > 0:
                factor *= lobe(scene.glosses, gloss, direction, w_o, shading)
        else:
            x, y, z = square_to_cosine(direction1, direction2)
            pdf_surface = z * INV_PI
            factor = math.pi
            direction = from_frame(x, y, z, s, t, shading)
        if vertex == 0:
            gain = gain_towards(scene, coat, direction, gain)
        if pdf_surface <= 0.0 or (not everywhere and dot(direction, geometric) <= 0.0):
            return
        beta = scale(beta, factor)
        everywhere = False

        hit, mirrored = first_hit(scene, work, leaving, direction), False
        if scene.lenses.shape[0] > 0:
            hit, leaving, direction, mirrored = past_lenses(scene, work, hit, leaving, direction, chance)
        distance, family, met, _, _, front = hit
        if family == NOTHING:
            return
        # A lamp whose light a lens throws onto the skin would be met by chance alone: rare bright specks.
        if family == PART and front and scene.shapes[met].luminance > 0.0 and not mirrored:
            pdf_light = light_pdf(scene, met, leaving, horizon, direction, distance)
            found = share * pdf_surface / (pdf_surface + pdf_light)
            arriving = scale(beta, emitted(scene, met, leaving, direction, distance) * found)
            add(tally, half, receiver, scene.shapes[met].light, kind, arriving, gain, counted)
        share = 1.0
        if vertex == 0 and scene.cards.shape[0] > 0 and not mirrored and not settled:
            share = card_share(scene, family, met, front, leaving, direction, distance, pdf_surface)
        point, geometric, shading, albedo, eta, inside, _ = surface_at(scene, hit, leaving, direction)
        gloss, w_o = gloss_of(scene, family, met, front), scale(direction, -1.0)
        if eta > 0.0:
            albedo = evened_albedo(albedo, eta, inside)
        beta = scale(times(beta, albedo), INV_PI)
        if family == WALL and is_known(scene):
            place = place_on_wall(scene, met, point)
            more, fate = onward(scene, fate, max_component(beta) / weight)
            for light in range(lights):
                arriving = scale(arriving_on_wall(scene, place, light, ALL), 1.0 - more)
                add(tally, half, receiver, light, BOUNCED, times(beta, arriving), gain, counted)
            if more == 0.0:
                return
            beta = scale(beta, more)
        strongest = max_component(beta)
        if strongest <= 0.0:
            return
        if vertex + 1 >= SURVIVAL_FROM:
            survival = min(0.95, strongest / weight)
            if fate >= survival:
                return
            beta = scale(beta, 1.0 / survival)


@kernel
def gloss_of(scene, family, number, front):
    """Table of gloss of what was met, -1 where it scatters as a Lambertian surface."""
    return scene.shapes[number].gloss if family == PART and front else -1


@kernel
def enter(scene, work, key, sample, number, point, normal):
    """Where the light that leaves skin of material `number` at `point` has entered it.

    returns  (place, geometric normal, shading normal, weight RGB); weight 0 where no place was found
    """
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
