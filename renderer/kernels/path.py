"""Light arriving at a point, by path tracing: the one place where light is added up.

`gather` starts at a receiver (a point of the skin seen by the camera, or a meter's receptor) and adds,
for every light apart, the light that reaches it straight (`add_lights`) and the light that has bounced
(`follow`). At every vertex each light is sampled once, and the next direction is sampled from the surface;
the two are combined by the balance heuristic.

source  Veach, Robust Monte Carlo Methods for Light Transport Simulation, 1997, chapters 8 to 10
"""

import math

from renderer.kernels.card import add_cards, card_share, pairs_for
from renderer.kernels.coat import evened_albedo
from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.emission import emitted
from renderer.kernels.gloss import lobe, lobe_pdf, sample_lobe
from renderer.kernels.layout import DOME, NOTHING, PART, WALL
from renderer.kernels.lens import let_through, past_lenses
from renderer.kernels.light import light_pdf, sample_light
from renderer.kernels.ray import OFFSET
from renderer.kernels.receptor import response_to
from renderer.kernels.sampler import pair_of
from renderer.kernels.scene import first_hit, gloss_of, occluded, surface_at
from renderer.kernels.tally import BOUNCED, DIRECT, add
from renderer.kernels.vector import along, dot, from_frame, max_component, scale, tangents, times
from renderer.kernels.viewed import gain_towards, metal
from renderer.kernels.wall_light import (
    ALL,
    BOUNCED_ONCE,
    arriving_on_wall,
    ends_paths,
    is_known,
    onward,
    place_on_wall,
)
from renderer.kernels.warp import square_to_cosine, square_to_dome

INV_PI = 1.0 / math.pi
WHITE = (1.0, 1.0, 1.0)
BARE = (-1, 0.0, WHITE, WHITE)  # no coat: see `gain_towards`
ALL_ROUND = (0.0, 0.0, 0.0)
NO_WALL = -1  # in place of a face of the room
PRIMARY_PAIRS = 4  # pixel position or cone; choice of lobe; place of entry and how it is found
VERTEX_PAIRS = 2  # next direction; survival
LONGEST_PATH = 128  # vertices; what would follow carries less than 0.95^128 of the light
SURVIVAL_FROM = 2  # vertices before a path may be ended at random


@inlined
def add_lights(
    scene, work, tally, half, receiver, key, number, pair, leaving, geometric, shading, everywhere, gloss,
    w_o, coat, gain, beta, counted, first,
):  # fmt: skip
    """Add the light that reaches a vertex straight from each light, sampled once; arguments as in `gather`.

    beta   RGB carried from the vertex back to the receiver
    first  whether the vertex is the receiver, where a metal's lobe is in `gain_towards`
    """
    kind = DIRECT if first else BOUNCED
    horizon = ALL_ROUND if everywhere else shading
    for light in range(scene.lights.shape[0]):
        u1, u2 = pair_of(key, pair + light, number)
        shape, w_i, distance, pdf_light = sample_light(scene, scene.lights[light], leaving, horizon, u1, u2)
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
            if not first:
                response *= lobe(scene.glosses, gloss, w_i, w_o, shading)
        strength = sent * response / (pdf_light + pdf_surface)
        strength *= let_through(scene, leaving, w_i, distance)
        seen = gain_towards(scene, coat, w_i, gain) if first else gain
        add(tally, half, receiver, light, kind, scale(beta, strength), seen, counted)


@inlined
def add_known(scene, tally, half, receiver, wall, point, part, more, beta, gain, counted):
    """Add what is known of the light on a wall, less what a path that goes on past it will find.

    part  of it, as in `arriving_on_wall`; more: as `onward` has it
    """
    place = place_on_wall(scene, wall, point)
    for light in range(scene.lights.shape[0]):
        arriving = scale(arriving_on_wall(scene, place, light, part), 1.0 - more)
        add(tally, half, receiver, light, BOUNCED, times(beta, arriving), gain, counted)


@inlined
def gather(scene, work, tally, half, receiver, key, number, start, receptor, gain, weight, counted):
    """Add to `tally` the light arriving at one receiver, along random paths.

    start     (point, geometric normal, shading normal, coat as in `gain_towards`, face of the room or -1)
    receptor  FLAT weighs light by the cosine, DOME by (1 + cosine) / 2
    gain      RGB; what leaves towards the viewer is gain / pi times the illuminance; pi for a meter
    weight    of the whole path (inverse of the chance with which it was chosen)
    counted   1 where the receiver is the first surface seen, 0 where it is seen in a mirror: only then
              does light arriving count as the illuminance of the pixel
    """
    point, geometric, shading, coat, wall = start
    everywhere = receptor == DOME
    gloss = metal(coat[0]) if coat[0] < -1 else -1  # table of the metal that the path is on, -1 for none
    leaving = along(point, geometric, 0.0 if everywhere else OFFSET)
    beta = (weight, weight, weight)
    lights = scene.lights.shape[0]
    add_lights(
        scene, work, tally, half, receiver, key, number, PRIMARY_PAIRS, leaving, geometric, shading,
        everywhere, gloss, coat[3], coat, gain, beta, counted, True,
    )  # fmt: skip
    pair = PRIMARY_PAIRS + lights
    sampled = scene.cards.shape[0] > 0
    paths = scene.paths[0] if ends_paths(scene) else 1
    if wall >= 0 and is_known(scene):  # what has bounced is known there
        sampled, paths = False, 1
        fate, _ = pair_of(key, pair, number)
        more, _ = onward(scene, fate, 1.0)
        add_known(scene, tally, half, receiver, wall, point, BOUNCED_ONCE, more, beta, gain, counted)
        if more == 0.0:
            return
        beta = scale(beta, more)
        pair += 1
    elif sampled:
        add_cards(
            scene, work, tally, half, receiver, key, number, pair, leaving, geometric, shading,
            everywhere, coat, gain, weight, counted,
        )  # fmt: skip
        pair += pairs_for(scene)
    beta = scale(beta, 1.0 / paths)
    for path in range(paths):
        follow(
            scene, work, tally, half, receiver, key, number * paths + path, pair, leaving, geometric, shading,
            everywhere, gloss, coat, gain, beta, weight / paths, counted, sampled,
        )  # fmt: skip


@kernel
def follow(
    scene, work, tally, half, receiver, key, number, pair, leaving, geometric, shading, everywhere, gloss,
    coat, gain, beta, weight, counted, sampled,
):  # fmt: skip
    """Add the light that reaches a receiver along one path of bounces; arguments as in `gather`.

    beta     RGB carried from the receiver's surface, without gain
    weight   of the path, against which it is measured when it is to be ended
    sampled  whether the light of cards was sampled at the receiver

    A silvered board is a rough metal wherever a path meets it. From the second surface on a coat counts as a
    Lambertian surface of the same albedo: followed as a mirror there, it would throw rare bright specks and
    change nothing that is measured.
    """
    w_o = coat[3]
    lights = scene.lights.shape[0]
    share = 1.0  # of the light straight from the lights that is left to this path
    for vertex in range(LONGEST_PATH):
        kind = DIRECT if vertex == 0 else BOUNCED
        horizon = ALL_ROUND if everywhere else shading
        direction1, direction2 = pair_of(key, pair, number)
        fate, chance = pair_of(key, pair + 1, number)
        pair += VERTEX_PAIRS
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
        if vertex == 0 and sampled and not mirrored:
            share = card_share(scene, family, met, front, leaving, direction, distance, pdf_surface)
        point, geometric, shading, albedo, eta, inside, _ = surface_at(scene, hit, leaving, direction)
        gloss, w_o = gloss_of(scene, family, met, front), scale(direction, -1.0)
        if eta > 0.0:
            albedo = evened_albedo(albedo, eta, inside)
        beta = scale(times(beta, albedo), INV_PI)
        if family == WALL and is_known(scene):
            more, fate = onward(scene, fate, max_component(beta) / weight)
            add_known(scene, tally, half, receiver, met, point, ALL, more, beta, gain, counted)
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
        leaving = along(point, geometric, OFFSET)
        add_lights(
            scene, work, tally, half, receiver, key, number, pair, leaving, geometric, shading, False,
            gloss, w_o, coat, gain, scale(beta, share), counted, False,
        )  # fmt: skip
        pair += lights
