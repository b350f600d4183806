"""Light arriving at a point, by path tracing: the one place where light is added up.

A sample starts at a receiver (a point of the skin seen by the camera, or a meter's receptor). For every light
apart, the light that reaches it straight is added (`add_lights`). From there paths of bounces `go_on`, vertex
by vertex. At every vertex each light is sampled once, and the next direction is sampled from the surface; the
two are combined by the power heuristic.

source  Veach, Robust Monte Carlo Methods for Light Transport Simulation, 1997, chapters 8 to 10
"""

import math
from typing import NamedTuple

from renderer.kernels.card import add_cards, card_share, pairs_for
from renderer.kernels.coat import evened_albedo
from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.emission import emitted
from renderer.kernels.gloss import lobe, lobe_pdf
from renderer.kernels.heuristic import share_of
from renderer.kernels.layout import DOME, NOTHING, PART, WALL
from renderer.kernels.lens import let_through, past_lenses
from renderer.kernels.light import sample_light
from renderer.kernels.pair import shares_of_pair
from renderer.kernels.ray import OFFSET
from renderer.kernels.receptor import response_to
from renderer.kernels.sampler import pair_of
from renderer.kernels.scene import first_hit, gloss_of, occluded, surface_at
from renderer.kernels.step import by_chance, past_wall, sample_surface
from renderer.kernels.tally import BOUNCED, DIRECT, add
from renderer.kernels.vector import along, dot, max_magnitude, scale, times
from renderer.kernels.viewed import gain_towards, metal
from renderer.kernels.wall_light import (
    ALL,
    BOUNCED_ONCE,
    arriving_on_wall,
    ends_paths,
    is_known,
    place_on_wall,
)

INV_PI = 1.0 / math.pi
WHITE = (1.0, 1.0, 1.0)
BARE = (-1, 0.0, WHITE, WHITE)  # no coat: see `gain_towards`
ALL_ROUND = (0.0, 0.0, 0.0)
NO_WALL = -1  # in place of a face of the room
PRIMARY_PAIRS = 4  # pixel position or cone; choice of lobe; place of entry and how it is found
VERTEX_PAIRS = 2  # next direction; survival
LONGEST_PATH = 128  # vertices; what would follow carries less than 0.95^128 of the light

Triple = tuple[float, float, float]


class Vertex(NamedTuple):
    """Where a path stands, and what it carries."""

    leaving: Triple  # m: just off the surface
    geometric: Triple  # unit normals of the surface
    shading: Triple
    w_o: Triple  # where the light that is followed goes: to the vertex before
    beta: Triple  # RGB carried from here back to the receiver, without gain
    gain: Triple  # RGB; what leaves the receiver towards the viewer is gain / pi times the illuminance
    share: float  # of the light straight from the lights that is left to this path
    paired: bool  # whether the path stands for two, and light at the other place is taken off
    other: Triple  # m: the other place, on the same wall; see `renderer.kernels.pair`
    gloss: int  # table of the metal that the path is on, -1 for none
    pair: int  # the next pair of random numbers


class Receiver(NamedTuple):
    """What all paths of a receiver have in common.

    At a receiver gain is that of what lies under its coat.
    """

    coat: tuple[int, float, Triple, Triple]  # as in `gain_towards`
    weight: float  # of a path (inverse of the chance with which it was chosen), by which it may be ended
    # 1 where the receiver is the first surface seen, 0 where it is seen in a mirror: only then does light
    # arriving count as the illuminance of the pixel
    counted: float
    everywhere: bool  # whether it weighs light by (1 + cosine) / 2, and not by the cosine
    sampled: bool  # whether the light of cards was sampled


@inlined
def add_light(scene, work, tally, half, at, key, number, vertex, receiver, first, light):
    """Add the light that reaches a vertex straight from one light.

    at     number of the receiver in the tally; key, number: of the sample
    first  whether the vertex is the receiver, where a metal's lobe is in `gain_towards`
    """
    add_light_at(
        scene, work, tally, half, at, key, number, vertex, vertex.leaving, vertex.share, receiver, first,
        light,
    )  # fmt: skip
    if vertex.paired:
        add_light_at(
            scene, work, tally, half, at, key, number, vertex, vertex.other, -vertex.share, receiver, first,
            light,
        )  # fmt: skip


@kernel
def add_light_at(scene, work, tally, half, at, key, number, vertex, leaving, share, receiver, first, light):
    """Add the light that reaches a vertex, or the other place of a pair, at `leaving`; for `share` of it."""
    everywhere = first and receiver.everywhere
    shading, gloss, w_o = vertex.shading, vertex.gloss, vertex.w_o
    horizon = ALL_ROUND if everywhere else shading
    u1, u2 = pair_of(key, vertex.pair + light, number)
    shape, w_i, distance, pdf_light = sample_light(scene, scene.lights[light], leaving, horizon, u1, u2)
    if shape < 0 or pdf_light <= 0.0:
        return
    response, pdf_surface = response_to(w_i, shading, vertex.geometric, everywhere)
    if response <= 0.0:
        return
    sent = emitted(scene, shape, leaving, w_i, distance)
    if sent <= 0.0 or occluded(scene, work, leaving, w_i, distance, shape):
        return
    if gloss >= 0:
        pdf_surface = lobe_pdf(scene.glosses, gloss, w_i, w_o, shading)
        if not first:
            response *= lobe(scene.glosses, gloss, w_i, w_o, shading)
    strength = sent * response * share_of(pdf_light, pdf_surface) / pdf_light
    strength *= let_through(scene, leaving, w_i, distance)
    seen = gain_towards(scene, receiver.coat, w_i, vertex.gain) if first else vertex.gain
    kind, beta = (DIRECT if first else BOUNCED), scale(vertex.beta, share)
    add(tally, half, at, light, kind, scale(beta, strength), seen, receiver.counted)


@inlined
def add_lights(scene, work, tally, half, at, key, number, vertex, receiver, first):
    """Add the light that reaches a vertex straight from each light, sampled once; see `add_light`."""
    for light in range(scene.lights.shape[0]):
        add_light(scene, work, tally, half, at, key, number, vertex, receiver, first, light)


@inlined
def add_known(scene, tally, half, at, place, part, beta, gain, counted):
    """Add what is known of the light at a place of a wall; `part` of it, as in `arriving_on_wall`."""
    for light in range(scene.lights.shape[0]):
        arriving = arriving_on_wall(scene, place, light, part)
        add(tally, half, at, light, BOUNCED, times(beta, arriving), gain, counted)


@kernel
def paths_of(scene):
    """How many paths of bounces go out from a receiver in one sample."""
    return scene.paths[0] if is_known(scene) else 1


@inlined
def at_start(start, receptor, gain, weight, counted):
    """The first vertex of a sample, with all its weight, and its receiver.

    start     (point, geometric normal, shading normal, coat as in `gain_towards`, face of the room or
              NO_WALL)
    receptor  FLAT weighs light by the cosine, DOME by (1 + cosine) / 2
    gain      RGB, as in `Vertex`; pi for a meter
    weight    of the whole sample; counted: as in `Receiver`
    """
    point, geometric, shading, coat, _ = start
    everywhere = receptor == DOME
    gloss = metal(coat[0]) if coat[0] < -1 else -1
    leaving = along(point, geometric, 0.0 if everywhere else OFFSET)
    beta = (weight, weight, weight)
    vertex = Vertex(
        leaving, geometric, shading, coat[3], beta, gain, 1.0, False, leaving, gloss, PRIMARY_PAIRS
    )
    return vertex, Receiver(coat, weight, counted, everywhere, False)


@inlined
def begin(scene, work, tally, half, at, key, number, vertex, receiver, wall):
    """Add what is known of the light at a sample's first vertex, and what cards send there.

    wall     face of the room, NO_WALL for what is none
    returns  (whether there is more to come, vertex, receiver) from which `paths_of` paths go on
    """
    coat, weight, counted, everywhere, _ = receiver
    leaving, beta, gain = vertex.leaving, vertex.beta, vertex.gain
    pair = vertex.pair + scene.lights.shape[0]
    if wall >= 0 and ends_paths(scene):  # what has bounced is known there
        place = place_on_wall(scene, half, wall, leaving)
        add_known(scene, tally, half, at, place, BOUNCED_ONCE, beta, gain, counted)
        return False, vertex, receiver
    sampled, paths = scene.cards.shape[0] > 0, paths_of(scene)
    if sampled:
        add_cards(
            scene, work, tally, half, at, key, number, pair, leaving, vertex.geometric, vertex.shading,
            everywhere, coat, gain, weight, counted,
        )  # fmt: skip
        pair += pairs_for(scene)
    vertex = Vertex(
        leaving, vertex.geometric, vertex.shading, vertex.w_o, scale(beta, 1.0 / paths), gain, vertex.share,
        vertex.paired, vertex.other, vertex.gloss, pair,
    )  # fmt: skip
    return True, vertex, Receiver(coat, weight / paths, counted, everywhere, sampled)


@kernel
def follow(scene, work, tally, half, at, key, number, vertex, receiver):
    """Add the light that reaches a receiver along one path of bounces from its first `vertex`."""
    first = True
    for _ in range(LONGEST_PATH):
        if not first:
            add_lights(scene, work, tally, half, at, key, number, vertex, receiver, False)
        going, vertex = go_on(scene, work, tally, half, at, key, number, vertex, receiver, first)
        if not going:
            return
        first = False


@kernel
def go_on(scene, work, tally, half, at, key, number, vertex, receiver, first):
    """Follow a path to its next vertex: (whether it goes on from there, the vertex).

    Adds the light of a lamp that is met by chance, and what is known of a wall. What reaches a vertex
    straight is added by `add_lights`.
    first  whether the path leaves its receiver

    A silvered board is a rough metal wherever a path meets it. From the second surface on a coat counts as a
    Lambertian surface of the same albedo: followed as a mirror there, it would throw rare bright specks and
    change nothing that is measured.
    """
    everywhere = first and receiver.everywhere
    leaving, geometric, shading, w_o, beta, gain, share, paired, other, gloss, pair = vertex
    if not first:
        pair += scene.lights.shape[0]  # those of `add_lights`
    horizon = ALL_ROUND if everywhere else shading
    direction1, direction2 = pair_of(key, pair, number)
    fate, chance = pair_of(key, pair + 1, number)
    pair += VERTEX_PAIRS
    direction, pdf_surface, factor = sample_surface(
        scene, gloss, w_o, shading, first, everywhere, direction1, direction2
    )
    if first:
        gain = gain_towards(scene, receiver.coat, direction, gain)
    if pdf_surface <= 0.0 or (not everywhere and dot(direction, geometric) <= 0.0):
        return False, vertex
    beta = scale(beta, factor)

    hit, mirrored = first_hit(scene, work, leaving, direction), False
    if scene.lenses.shape[0] > 0:
        hit, leaving, direction, mirrored = past_lenses(scene, work, hit, leaving, direction, chance)
    distance, family, met, _, _, front = hit
    if family == NOTHING:
        return False, vertex
    point, facing, smooth, albedo, eta, inside, _ = surface_at(scene, hit, leaving, direction)
    here, there, w_other, far = 1.0, 0.0, direction, distance
    if paired:
        here, there, w_other, far = shares_of_pair(
            scene, work, leaving, other, shading, point, facing, direction, distance, mirrored
        )
    # A lamp whose light a lens throws onto the skin would be met by chance alone: rare bright specks.
    if family == PART and front and scene.shapes[met].luminance > 0.0 and not mirrored:
        found = here * by_chance(scene, met, leaving, horizon, direction, distance, pdf_surface)
        if there > 0.0:
            pdf_other = dot(w_other, shading) * INV_PI
            found -= there * by_chance(scene, met, other, horizon, w_other, far, pdf_other)
        kind = DIRECT if first else BOUNCED
        add(
            tally, half, at, scene.shapes[met].light, kind, scale(beta, share * found), gain,
            receiver.counted,
        )  # fmt: skip
    gloss, w_o = gloss_of(scene, family, met, front), scale(direction, -1.0)
    if paired:
        beta = scale(beta, here - there if gloss < 0 else 2.0)  # a metal shows the other place something else
        paired = False
    share = 1.0
    if first and receiver.sampled and not mirrored:
        share = card_share(scene, family, met, front, leaving, direction, distance, pdf_surface)
    if eta > 0.0:
        albedo = evened_albedo(albedo, eta, inside)
    beta = scale(times(beta, albedo), INV_PI)
    if family == WALL and is_known(scene):
        place = place_on_wall(scene, half, met, point)
        add_known(scene, tally, half, at, place, ALL, beta, gain, receiver.counted)
        paired, point, other, beta, fate = past_wall(scene, place, point, beta, receiver.weight, fate)
        if not paired:
            return False, vertex
    strongest = max_magnitude(beta)
    if strongest <= 0.0:
        return False, vertex
    if not first:  # may be ended at random
        survival = min(0.95, strongest / receiver.weight)
        if fate >= survival:
            return False, vertex
        beta = scale(beta, 1.0 / survival)
    leaving, other = along(point, facing, OFFSET), along(other, facing, OFFSET)
    return True, Vertex(leaving, facing, smooth, w_o, beta, gain, share, paired, other, gloss, pair)
