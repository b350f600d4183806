"""Spectacle lenses: thin curved plates before the eyes that mirror a part of the light.

What is not mirrored goes straight on: a lens here has two parallel surfaces, no power and takes nothing. So
it is no obstacle to `first_hit` and `occluded`; light that is followed past lenses asks here what is left.
Of what lenses throw onto the skin, the light straight from lamps is left out (`renderer.kernels.path`).
"""

import math

from renderer.kernels.apart import asked_seldom
from renderer.kernels.coat import mirror
from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.ray import OFFSET
from renderer.kernels.scene import first_hit
from renderer.kernels.vector import along, dot, scale, sub, triple

MOST_LENSES = 8  # that one ray may meet; what a ninth would mirror is nothing


@kernel
def plate_reflectance(eta, cosine):
    """Part of unpolarised light that a clear plate of index eta mirrors, met from either side.

    Either surface mirrors r, and so back and forth without end: 2 r / (1 + r), for each polarisation apart.
    source  Stokes, On the intensity of the light reflected from or transmitted through a pile of plates,
            Proc. R. Soc. 11, 1862 (from memory); r: Fresnel equations, Born & Wolf, section 1.5
    """
    inner = math.sqrt(max(0.0, 1.0 - (1.0 - cosine * cosine) / (eta * eta)))
    parallel = (eta * cosine - inner) / (eta * cosine + inner)
    perpendicular = (cosine - eta * inner) / (cosine + eta * inner)
    p, s = parallel * parallel, perpendicular * perpendicular
    return p / (1.0 + p) + s / (1.0 + s)


@inlined
def passes_by(lens, origin, direction):
    """Whether a ray certainly misses the sphere about a lens."""
    to_middle = sub(triple(lens.middle), origin)
    ahead = dot(to_middle, direction)
    outside2 = dot(to_middle, to_middle) - lens.reach * lens.reach
    return outside2 > 0.0 and (ahead < 0.0 or ahead * ahead < outside2)


@kernel
def within_outline(lens, off):
    """Whether a point of the sphere, at `off` from its centre, lies on the lens."""
    if dot(off, triple(lens.w)) <= 0.0:
        return False
    x, y = dot(off, triple(lens.u)) / lens.half_u, dot(off, triple(lens.v)) / lens.half_v
    if x * lens.cut < 0.0 and y < 0.0:
        x *= 1.0 - abs(lens.cut) * y
    return math.pow(abs(x), lens.corner) + math.pow(abs(y), lens.corner) <= 1.0


@kernel
def lens_distance(lens, origin, direction):
    """How far along a ray it meets the lens first; -1 for nowhere."""
    to_origin = sub(origin, triple(lens.centre))
    b = dot(to_origin, direction)
    discriminant = b * b - (dot(to_origin, to_origin) - lens.radius * lens.radius)
    if discriminant <= 0.0:
        return -1.0
    root = math.sqrt(discriminant)
    t = -b - root
    if t > 0.0 and within_outline(lens, along(to_origin, direction, t)):
        return t
    t = -b + root
    if t > 0.0 and within_outline(lens, along(to_origin, direction, t)):
        return t
    return -1.0


@kernel
def next_lens(scene, origin, direction, distance):
    """The first lens that a ray meets before `distance`: its number, -1 for none, and how far it is."""
    number = -1
    for i in range(scene.lenses.shape[0]):
        if passes_by(scene.lenses[i], origin, direction):
            continue
        t = lens_distance(scene.lenses[i], origin, direction)
        if 0.0 < t < distance:
            distance, number = t, i
    return number, distance


@kernel
def at_lens(lens, point, direction):
    """Unit normal of the lens on the side that a ray comes from, and the part of its light it mirrors."""
    normal = scale(sub(point, triple(lens.centre)), 1.0 / lens.radius)
    cosine = dot(direction, normal)
    if cosine > 0.0:
        normal = scale(normal, -1.0)
    return normal, plate_reflectance(lens.eta, min(1.0, abs(cosine)))


@kernel
def passed_by_lenses(scene, origin, direction, distance):
    """Part of the light that all lenses on the way let through straight."""
    asked_seldom()
    passed = 1.0
    for _ in range(MOST_LENSES):
        number, t = next_lens(scene, origin, direction, distance)
        if number < 0:
            break
        point = along(origin, direction, t)
        _, mirrored = at_lens(scene.lenses[number], point, direction)
        passed *= 1.0 - mirrored
        origin, distance = along(point, direction, OFFSET), distance - t - OFFSET
    return passed


@inlined
def let_through(scene, origin, direction, distance):
    """`passed_by_lenses`, at no cost where nobody wears any."""
    if scene.lenses.shape[0] == 0:
        return 1.0
    return passed_by_lenses(scene, origin, direction, distance)


@kernel
def past_lenses(scene, work, hit, origin, direction, chance):
    """A ray that has found `hit` followed past lenses, each of which mirrors it by chance.

    chance  even in 0..1
    returns  (hit, origin, direction, mirrored): those of the last leg, and whether any lens has mirrored it
    """
    asked_seldom()
    mirrored, gone = False, 0.0
    at = origin
    for _ in range(MOST_LENSES):
        number, t = next_lens(scene, at, direction, hit[0] - gone)
        if number < 0:
            break
        point = along(at, direction, t)
        normal, share = at_lens(scene.lenses[number], point, direction)
        if chance < share:
            chance /= share
            origin, direction = along(point, normal, OFFSET), mirror(direction, normal)
            at, gone, mirrored = origin, 0.0, True
            hit = first_hit(scene, work, origin, direction)
        else:
            chance = (chance - share) / (1.0 - share)
            at, gone = along(point, direction, OFFSET), gone + t + OFFSET
    return hit, origin, direction, mirrored
