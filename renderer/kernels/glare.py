"""Glare: what spectacle lenses show the viewer of what stands before them."""

import math

from renderer.kernels.apart import asked_seldom
from renderer.kernels.coat import mirror
from renderer.kernels.compiler import kernel
from renderer.kernels.lens import MOST_LENSES, at_lens, let_through, next_lens
from renderer.kernels.ray import OFFSET
from renderer.kernels.sampler import pair_of
from renderer.kernels.scene import first_hit
from renderer.kernels.vector import along
from renderer.kernels.viewed import LEAST_MIRROR, add_emitted, add_known_wall

# Share of the looks that follow what a lens mirrors, for each part of the light that it mirrors: the denoiser
# takes glare for texture of what is behind, and leaves its grain.
FOLLOWED = 8.0


@kernel
def in_lenses(scene, work, tally, half, receiver, key, sample, origin, direction):
    """What spectacle lenses on a line of sight show of what stands before them.

    Adds the radiance of lights that they mirror, on every look, so that glare carries no noise, and of walls
    whose light is known; what else they mirror is weak and followed by some looks only.
    returns  (passed, weight, origin, direction): part of the light that lenses let through from behind; and
             a mirrored ray to be followed, with its weight, 0 for none
    """
    asked_seldom()
    kept, toward, total, kept_share, passed, gone = origin, direction, 0.0, 0.0, 1.0, 0.0
    number, t = next_lens(scene, origin, direction, math.inf)
    if number < 0:
        return passed, total, kept, toward
    choice, chance = pair_of(key, 1, sample)
    far = first_hit(scene, work, origin, direction)[0]
    at = origin
    for _ in range(MOST_LENSES):
        if number < 0 or gone + t >= far:
            break
        point = along(at, direction, t)
        normal, reflected = at_lens(scene.lenses[number], point, direction)
        leaving, reflection = along(point, normal, OFFSET), mirror(direction, normal)
        hit = first_hit(scene, work, leaving, reflection)
        through = let_through(scene, leaving, reflection, hit[0])
        reflected *= passed
        passed -= reflected
        shown = reflected * through
        add_emitted(scene, tally, half, receiver, hit, leaving, reflection, shown)
        if not add_known_wall(scene, tally, half, receiver, hit, leaving, reflection, shown):
            total += reflected
            if chance * total < reflected:  # of several lenses, each is kept as often as it mirrors
                kept, toward, kept_share = leaving, reflection, through
                chance *= total / reflected
            else:
                chance = (chance * total - reflected) / (total - reflected)
        at, gone = along(point, direction, OFFSET), gone + t + OFFSET
        number, t = next_lens(scene, at, direction, math.inf)
    share = min(1.0, max(LEAST_MIRROR, FOLLOWED * total))
    return passed, (total * kept_share / share if choice < share else 0.0), kept, toward
