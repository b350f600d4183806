"""What the light from a direction sends to the viewer, off the first surface that is seen."""

import math

from renderer.kernels.coat import coat_reflectance, rough_reflection
from renderer.kernels.compiler import kernel
from renderer.kernels.gloss import lobe
from renderer.kernels.vector import dot, scale


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
