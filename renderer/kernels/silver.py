"""Light thrown by silvered cards: straight from the lights, over one card, to a receiver.

The place on the card is drawn half of the time evenly and half about where a mirror would show the light, as
widely as the lobe and the light make that patch. From there the light is looked for as from any surface: by
sampling it, and, where the lobe may be narrower than the light looks, by following the lobe too.
Nothing of this light is left to paths that meet the card by chance.
"""

import math

from renderer.kernels.apart import asked_seldom
from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.emission import emitted
from renderer.kernels.gloss import ALPHA, lobe, lobe_pdf, sample_lobe
from renderer.kernels.layout import PART
from renderer.kernels.lens import let_through
from renderer.kernels.light import light_pdf, sample_light
from renderer.kernels.ray import OFFSET
from renderer.kernels.receptor import response_to
from renderer.kernels.sampler import pair_of
from renderer.kernels.scene import first_hit, occluded
from renderer.kernels.shapes import intersect, pdf_solid_angle, sample
from renderer.kernels.tally import BOUNCED, add
from renderer.kernels.vector import along, dot, from_frame, scale, sub, tangents, triple, unit
from renderer.kernels.viewed import gain_towards

PAIRS = 3  # of random numbers for each light: place on the card, light, lobe
MIRRORED = 0.5  # of the places are drawn about the mirror image
NARROWEST, WIDEST = 1e-3, 2.0  # rad


@kernel
def mirror_image(card, alpha, light, point):
    """Where the light is seen in the card from `point`: unit direction, and half the width [rad] of the patch
    that lights the point: of the image of the light itself, and of what the lobe adds to it."""
    normal = triple(card.w)
    height = dot(sub(triple(light.middle), triple(card.centre)), normal)
    to_image = sub(along(triple(light.middle), normal, -2.0 * height), point)
    far = math.sqrt(dot(to_image, to_image))
    before = dot(sub(point, triple(card.centre)), normal)
    height = max(height, 0.5 * light.reach)
    spread = 2.0 * alpha * height / (height + before)
    size = light.reach / far
    return unit(to_image), min(WIDEST, max(NARROWEST, math.sqrt(spread * spread + size * size)))


@kernel
def about_pdf(axis, width, direction):
    """pdf_solid_angle of `sample_about`."""
    cosine = dot(axis, direction)
    if cosine <= 0.0:
        return 0.0
    tan2 = max(0.0, 1.0 / (cosine * cosine) - 1.0)
    k = 1.0 + tan2 / (width * width)
    return 1.0 / (math.pi * width * width * k * k * cosine * cosine * cosine)


@kernel
def sample_about(axis, width, u1, u2):
    """A direction about `axis`, on the plane across it with a density of 1 / (1 + (distance / width)^2)^2."""
    r = width * math.sqrt(u1 / (1.0 - u1))
    phi = 2.0 * math.pi * u2
    s, t = tangents(axis)
    return unit(from_frame(r * math.cos(phi), r * math.sin(phi), 1.0, s, t, axis))


@kernel
def place_on_card(card, alpha, light, point, u1, u2):
    """Direction from `point` to a place on the card's front, its distance and pdf_solid_angle (0: none)."""
    axis, width = mirror_image(card, alpha, light, point)
    shown, _ = intersect(card, point, axis)
    share = MIRRORED if shown > 0.0 else 0.0
    if u1 < share:
        w_i = sample_about(axis, width, min(u1 / share, 1.0 - 1e-12), u2)
        distance, front = intersect(card, point, w_i)
        if distance <= 0.0 or not front:
            return w_i, 0.0, 0.0
        evenly = pdf_solid_angle(card, point, w_i, distance)
    else:
        w_i, distance, evenly = sample(card, point, (u1 - share) / (1.0 - share), u2)
        if evenly <= 0.0:
            return w_i, 0.0, 0.0
    return w_i, distance, share * about_pdf(axis, width, w_i) + (1.0 - share) * evenly


@inlined
def arriving_on_card(scene, work, gloss, light, point, normal, w_o, key, pair, number):
    """Sum of what the light sends to a place of the card, each times pi times the BSDF for albedo 1 [lux]."""
    lux = 0.0
    lamp = scene.lights[light]
    off = sub(triple(lamp.middle), point)
    size2 = lamp.reach * lamp.reach / max(1e-12, dot(off, off))
    alpha = scene.glosses[gloss, ALPHA]
    follow = size2 > alpha * alpha  # the light looks wider than the lobe may be
    u1, u2 = pair_of(key, pair, number)
    shape, w_l, far, pdf_light = sample_light(scene, lamp, point, normal, u1, u2)
    if shape >= 0 and pdf_light > 0.0:
        down = dot(normal, w_l)
        if down > 0.0 and not occluded(scene, work, point, w_l, far, shape):
            pdf = pdf_light + (lobe_pdf(scene.glosses, gloss, w_l, w_o, normal) if follow else 0.0)
            sent = emitted(scene, shape, point, w_l, far) * let_through(scene, point, w_l, far)
            lux += sent * down * lobe(scene.glosses, gloss, w_l, w_o, normal) / pdf
    if not follow:
        return lux
    u1, u2 = pair_of(key, pair + 1, number)
    w_l = sample_lobe(scene.glosses, gloss, w_o, normal, u1, u2)
    down = dot(normal, w_l)
    if down <= 0.0:
        return lux
    far, family, met, _, _, front = first_hit(scene, work, point, w_l)
    if family == PART and front and scene.shapes[met].luminance > 0.0 and scene.shapes[met].light == light:
        pdf = lobe_pdf(scene.glosses, gloss, w_l, w_o, normal)
        pdf += light_pdf(scene, met, point, normal, w_l, far)
        sent = emitted(scene, met, point, w_l, far) * let_through(scene, point, w_l, far)
        lux += sent * down * lobe(scene.glosses, gloss, w_l, w_o, normal) / pdf
    return lux


@inlined
def add_silver(
    scene, work, tally, half, receiver, key, number, pair, place, leaving, geometric, shading, everywhere,
    coat, gain, weight, counted,
):  # fmt: skip
    """Add the light that the card `place` throws from each light to a receiver; arguments as in `gather`."""
    asked_seldom()
    card = scene.shapes[place]
    normal = triple(card.w)
    if dot(sub(leaving, triple(card.centre)), normal) < OFFSET:
        return
    alpha = scene.glosses[card.gloss, ALPHA]
    for light in range(scene.lights.shape[0]):
        if scene.lights[light].count == 0:
            continue
        first = pair + PAIRS * light
        u1, u2 = pair_of(key, first, number)
        w_i, distance, pdf = place_on_card(card, alpha, scene.lights[light], leaving, u1, u2)
        if pdf <= 0.0:
            continue
        response, _ = response_to(w_i, shading, geometric, everywhere)
        if response <= 0.0 or occluded(scene, work, leaving, w_i, distance, place):
            continue
        point = along(along(leaving, w_i, distance), normal, OFFSET)
        w_o = scale(w_i, -1.0)
        lux = arriving_on_card(scene, work, card.gloss, light, point, normal, w_o, key, first + 1, number)
        if lux > 0.0:
            seen = gain_towards(scene, coat, w_i, gain)
            thrown = weight * response * lux / (math.pi * pdf)
            thrown *= let_through(scene, leaving, w_i, distance)
            add(tally, half, receiver, light, BOUNCED, scale(triple(card.front), thrown), seen, counted)
