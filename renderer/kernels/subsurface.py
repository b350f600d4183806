"""Light that enters skin at one point and leaves at another: the point of entry is sampled.

The radial profile is normalised diffusion, R(r) = (exp(-r/d) + exp(-r/3d)) / (8 pi d r), which integrates
to 1 over a plane, so scattering moves light about and loses none. A point of entry is found by dropping a
short ray onto the surface near the point of exit, along its normal or a tangent, for a radius drawn from
one colour's profile; all ways of finding the same point are counted together.

source  Burley, Extending the Disney BRDF to a BSDF with Integrated Subsurface Scattering, 2015 (profile);
        King et al., BSSRDF Importance Sampling, SIGGRAPH talks 2013 (axes and colours)
"""

import math

from renderer.kernels.compiler import kernel
from renderer.kernels.mesh import first_triangle
from renderer.kernels.vector import along, dot, scale, sub, tangents

FURTHEST = 16.0  # in units of the largest d: all but 0.4 % of the light leaves nearer than this
MOST_ENTRIES = 4  # surfaces that one short ray may meet
STEP = 1e-6  # m from one surface on the short ray to the next
# Skin is nearly flat over a few millimetres, so nearly every ray goes along the normal.
NORMAL_CHANCE, TANGENT_CHANCE = 0.84, 0.08
RED_CHANCE, GREEN_CHANCE, BLUE_CHANCE = 0.34, 0.54, 0.12  # near the part of each colour in luminance


@kernel
def profile(r, d):
    """R(r) [1/m2] of normalised diffusion with scale d [m]."""
    return (math.exp(-r / d) + math.exp(-r / (3.0 * d))) / (8.0 * math.pi * d * max(r, 1e-7))


@kernel
def sample_radius(u, d):
    """Radius with density 2 pi r R(r): a quarter exponential of scale d, three quarters of scale 3d."""
    if u < 0.25:
        return -d * math.log(1.0 - 4.0 * u)
    return -3.0 * d * math.log(1.0 - (u - 0.25) / 0.75)


@kernel
def furthest(scatter):
    """Distance [m] from the exit beyond which no entry is looked for."""
    return FURTHEST * max(scatter[0], scatter[1], scatter[2])


@kernel
def near_profile(r, d, reach):
    """R(r) [1/m2], made up for the part of the light that enters beyond `reach`."""
    beyond = 0.25 * math.exp(-reach / d) + 0.75 * math.exp(-reach / (3.0 * d))
    return profile(r, d) / (1.0 - beyond)


@kernel
def entry_pdf(offset, s, t, n, normal, scales):
    """Density [1/m2] on the surface with `normal`, at `offset` from the exit, over all axes and colours."""
    x, y, z = dot(offset, s), dot(offset, t), dot(offset, n)
    along_n, along_s, along_t = abs(dot(normal, n)), abs(dot(normal, s)), abs(dot(normal, t))
    across_n, across_s, across_t = math.hypot(x, y), math.hypot(y, z), math.hypot(x, z)
    total = 0.0
    for c in range(3):
        d = scales[c]
        chance = RED_CHANCE if c == 0 else (GREEN_CHANCE if c == 1 else BLUE_CHANCE)
        total += chance * NORMAL_CHANCE * along_n * profile(across_n, d)
        total += chance * TANGENT_CHANCE * along_s * profile(across_s, d)
        total += chance * TANGENT_CHANCE * along_t * profile(across_t, d)
    return total


@kernel
def find_entry(scene, work, number, point, normal, u1, u2, choice, which):
    """A place where light that leaves material `number` at `point` may have entered.

    returns  (triangle, u, v, place, how many surfaces of the material the short ray has met); -1 for none
    """
    scatter = scene.materials[number].scatter
    s, t = tangents(normal)
    axis, a, b = normal, s, t
    if choice >= NORMAL_CHANCE + TANGENT_CHANCE:
        axis, a, b = t, s, normal
        choice = (choice - NORMAL_CHANCE - TANGENT_CHANCE) / TANGENT_CHANCE
    elif choice >= NORMAL_CHANCE:
        axis, a, b = s, t, normal
        choice = (choice - NORMAL_CHANCE) / TANGENT_CHANCE
    else:
        choice /= NORMAL_CHANCE
    d = scatter[0] if choice < RED_CHANCE else scatter[1]
    d = scatter[2] if choice >= RED_CHANCE + GREEN_CHANCE else d
    nothing = (-1, 0.0, 0.0, point, 0)
    radius, reach = sample_radius(u1, d), furthest(scatter)
    if radius >= reach:
        return nothing
    half = math.sqrt(reach * reach - radius * radius)
    phi = 2.0 * math.pi * u2
    start = along(along(point, a, radius * math.cos(phi)), b, radius * math.sin(phi))
    start = along(start, axis, half)
    direction = scale(axis, -1.0)
    # walk through all surfaces on the short ray and keep one of them at random
    chosen, chosen_u, chosen_v, chosen_at, met, far = -1, 0.0, 0.0, 0.0, 0, 0.0
    for _ in range(MOST_ENTRIES):
        left = 2.0 * half - far
        if left <= 0.0:
            break
        i, distance, u, v = first_triangle(
            scene.mesh, along(start, direction, far), direction, left, work.stack, work.lanes
        )
        if i < 0:
            break
        far += distance
        if scene.mesh.materials[i] == number:
            met += 1
            if which * met < 1.0:  # the k-th replaces the one before with a chance of 1 / k
                chosen, chosen_u, chosen_v, chosen_at = i, u, v, far
                which *= met
            else:
                which = (which * met - 1.0) / (met - 1.0)
        far += STEP
    if chosen < 0:
        return nothing
    place = along(start, direction, chosen_at)
    return chosen, chosen_u, chosen_v, place, met


@kernel
def entry_weight(material, exit_point, exit_normal, place, normal, met):
    """R / pdf (RGB) of an entry at `place` with geometric `normal`, one of `met` that were found."""
    scales = (material.scatter[0], material.scatter[1], material.scatter[2])
    s, t = tangents(exit_normal)
    offset = sub(place, exit_point)
    pdf = entry_pdf(offset, s, t, exit_normal, normal, scales)
    if pdf <= 0.0:
        return (0.0, 0.0, 0.0)
    r = math.sqrt(dot(offset, offset))
    k, reach = met / pdf, furthest(scales)
    return (
        k * near_profile(r, scales[0], reach),
        k * near_profile(r, scales[1], reach),
        k * near_profile(r, scales[2], reach),
    )
