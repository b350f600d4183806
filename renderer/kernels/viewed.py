"""What the first surface that is seen sends to the viewer of the light from a direction; lights looked at."""

import math

from renderer.kernels.coat import coat_reflectance, rough_reflection
from renderer.kernels.compiler import inlined, kernel
from renderer.kernels.emission import emitted
from renderer.kernels.gloss import lobe
from renderer.kernels.layout import PART, WALL
from renderer.kernels.tally import BOUNCED, DIRECT, add_radiance
from renderer.kernels.vector import along, dot, scale, times, triple
from renderer.kernels.wall_light import ALL, arriving_on_wall, ends_paths, place_on_wall

LEAST_MIRROR = 0.125  # of the looks at a smooth mirror that follow what it shows beside lights
WHITE = (1.0, 1.0, 1.0)


@kernel
def metal(number):
    """The number that stands for a table of gloss in place of a material, and back."""
    return -2 - number


@kernel
def gain_towards(scene, coat, w_i, gain):
    """RGB that, times illuminance from w_i / pi, is the radiance sent to the viewer.

    coat  (material, alpha, normal, w_o): alpha 0 for a smooth coat, whose mirror image is traced apart;
          in place of the material -1 for a bare surface, `metal` of its table for a silvered one
    """
    number, alpha, normal, w_o = coat
    if number == -1:
        return gain
    if number < -1:
        return scale(gain, lobe(scene.glosses, metal(number), w_i, w_o, normal))
    materials = scene.materials
    passed = 1.0 - coat_reflectance(materials[number], min(1.0, max(0.0, dot(w_i, normal))), alpha)
    sheen = 0.0
    if alpha > 0.0:
        sheen = math.pi * rough_reflection(w_i, w_o, normal, materials[number].eta, alpha)
    return (passed * gain[0] + sheen, passed * gain[1] + sheen, passed * gain[2] + sheen)


@inlined
def add_emitted(scene, tally, half, receiver, hit, origin, direction, weight):
    """Count the radiance of a light that is looked at; `weight` is what of it reaches the viewer."""
    distance, family, met, _, _, front = hit
    if family == PART and front and scene.shapes[met].luminance > 0.0:
        value = weight * emitted(scene, met, origin, direction, distance)
        add_radiance(tally, half, receiver, scene.shapes[met].light, DIRECT, scale(WHITE, value))


@inlined
def add_known_wall(scene, tally, half, receiver, hit, origin, direction, weight):
    """Count the radiance of a wall that is seen in a mirror; whether it is a wall where paths end.

    weight  what of it reaches the viewer
    """
    distance, family, face, _, _, _ = hit
    if family != WALL or not ends_paths(scene):
        return False
    place = place_on_wall(scene, half, face, along(origin, direction, distance))
    gain = scale(triple(scene.room[0].albedo[face]), weight / math.pi)
    for light in range(scene.lights.shape[0]):
        arriving = arriving_on_wall(scene, place, light, ALL)
        add_radiance(tally, half, receiver, light, BOUNCED, times(arriving, gain))
    return True
