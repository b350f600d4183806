"""Cards as second lights: a receiver samples the whole card, and the card the lights; silvered ones by
`renderer.kernels.silver`.

A path that only meets a card by chance finds a small or distant one seldom, and then brings much: specks.
The card's own light is therefore sampled as a light's is, and combined with the paths that meet it by chance
by the power heuristic. What has bounced more than once before the card is left to these paths.
"""

import math

from renderer.kernels.compiler import kernel
from renderer.kernels.emission import emitted
from renderer.kernels.heuristic import share_of
from renderer.kernels.layout import PART
from renderer.kernels.lens import let_through
from renderer.kernels.light import sample_light
from renderer.kernels.ray import OFFSET
from renderer.kernels.receptor import response_to
from renderer.kernels.sampler import pair_of
from renderer.kernels.scene import occluded
from renderer.kernels.shapes import pdf_solid_angle, sample
from renderer.kernels.silver import PAIRS, add_silver
from renderer.kernels.tally import BOUNCED, add
from renderer.kernels.vector import along, dot, scale, triple
from renderer.kernels.viewed import gain_towards

INV_PI = 1.0 / math.pi
# Per steradian: a card that looks larger than a third of one is met by chance often enough. (Sampled all the
# same, cards of 0.7 to 0.9 sr cost a tenth more to equal error; one of 0.08 sr saves three quarters.)
LEAST_PDF = 3.0


@kernel
def pairs_for(scene):
    """How many pairs of random numbers `add_cards` takes."""
    lights = scene.lights.shape[0]
    pairs = 0
    for place in range(scene.cards.shape[0]):
        pairs += PAIRS * lights if scene.shapes[scene.cards[place]].gloss >= 0 else 1 + lights
    return pairs


@kernel
def add_cards(
    scene, work, tally, half, receiver, key, number, pair, leaving, geometric, shading, everywhere, coat,
    gain, weight, counted,
):  # fmt: skip
    """Add the light that each card, lit by the lights, sends to a receiver; arguments as in `gather`."""
    lights = scene.lights.shape[0]
    first = pair
    for place in range(scene.cards.shape[0]):
        card = scene.shapes[scene.cards[place]]
        pair = first
        if card.gloss >= 0:
            first += PAIRS * lights
            add_silver(
                scene, work, tally, half, receiver, key, number, pair, scene.cards[place], leaving,
                geometric, shading, everywhere, coat, gain, weight, counted,
            )  # fmt: skip
            continue
        first += 1 + lights
        u1, u2 = pair_of(key, pair, number)
        w_i, distance, pdf_card = sample(card, leaving, u1, u2)
        if pdf_card < LEAST_PDF:
            continue
        response, pdf_surface = response_to(w_i, shading, geometric, everywhere)
        if response <= 0.0 or occluded(scene, work, leaving, w_i, distance, scene.cards[place]):
            continue
        normal = triple(card.w)
        from_card = along(along(leaving, w_i, distance), normal, OFFSET)
        share = weight * response * INV_PI * share_of(pdf_card, pdf_surface) / pdf_card
        share *= let_through(scene, leaving, w_i, distance)
        seen = gain_towards(scene, coat, w_i, gain)
        for light in range(lights):
            u1, u2 = pair_of(key, pair + 1 + light, number)
            shape, w_l, far, pdf_light = sample_light(scene, scene.lights[light], from_card, normal, u1, u2)
            if shape < 0 or pdf_light <= 0.0:
                continue
            lux = emitted(scene, shape, from_card, w_l, far) * dot(normal, w_l) / pdf_light
            if lux <= 0.0 or occluded(scene, work, from_card, w_l, far, shape):
                continue
            lux *= let_through(scene, from_card, w_l, far)
            add(tally, half, receiver, light, BOUNCED, scale(triple(card.front), share * lux), seen, counted)


@kernel
def card_share(scene, family, number, front, origin, direction, distance, pdf_surface):
    """What is left to a path that has met a surface by chance, of its light straight from the lights: 1, but
    for the front of a card that `add_cards` has sampled too: of a silvered one, nothing."""
    if family != PART or not front:
        return 1.0
    for place in range(scene.cards.shape[0]):
        if scene.cards[place] == number:
            if scene.shapes[number].gloss >= 0:
                return 0.0
            pdf_card = pdf_solid_angle(scene.shapes[number], origin, direction, distance)
            if pdf_card >= LEAST_PDF:
                return share_of(pdf_surface, pdf_card)
    return 1.0
